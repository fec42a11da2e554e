//! Sums over readings of three axes, from which mean, largest and deviation follow exactly.
//!
//! ```text
//! mean = S / n      variance, of all three axes together = (n Q - Sx^2 - Sy^2 - Sz^2) / n^2
//! ```
//!
//! S the sums, Q the sum of all squares, n the readings; all in integers, so that every processor
//! has the same.

/// Sums over readings of three axes, in counts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sums {
    /// How many readings; 65535 at most, which are five minutes.
    pub readings: u16,
    /// The sum along each axis.
    pub sum: [i32; 3],
    /// The sum of the squares of all axes.
    pub squares: u64,
    /// The largest magnitude of a single axis.
    pub largest: u16,
}

/// Deviations are in this part of a count.
pub const PART: u64 = 256;

impl Sums {
    /// Adds a reading.
    pub fn add(&mut self, axes: [i16; 3]) {
        let magnitudes = axes.map(i16::unsigned_abs);
        // Three squares of 15 bits fit 32.
        let squares: u32 = magnitudes.iter().map(|axis| u32::from(*axis).pow(2)).sum();
        self.merge(&Sums {
            readings: 1,
            sum: axes.map(i32::from),
            squares: squares.into(),
            largest: magnitudes.into_iter().max().unwrap_or(0),
        });
    }

    /// Adds the readings of another; too many are not taken.
    pub fn merge(&mut self, other: &Sums) {
        let Some(readings) = self.readings.checked_add(other.readings) else { return };
        self.readings = readings;
        for (sum, value) in self.sum.iter_mut().zip(other.sum) {
            // 65535 readings of 16 bits fit.
            *sum = sum.saturating_add(value);
        }
        self.squares = self.squares.saturating_add(other.squares);
        self.largest = self.largest.max(other.largest);
    }

    /// The mean counts, rounded; `None` without a reading.
    pub fn means(&self) -> Option<[i32; 3]> {
        let readings = i32::from(self.readings);
        let mean =
            |sum: i32| sum.saturating_add(readings / 2).checked_div_euclid(readings).unwrap_or(0);
        (readings > 0).then(|| self.sum.map(mean))
    }

    /// Root of the summed variances of the axes in counts, times the readings and [`PART`], rounded
    /// down; `None` for fewer than two readings.
    pub fn deviation(&self) -> Option<u64> {
        if self.readings < 2 {
            return None;
        }
        let of_means: u64 = self.sum.iter().map(|sum| u64::from(sum.unsigned_abs()).pow(2)).sum();
        let spread = (u64::from(self.readings) * self.squares).saturating_sub(of_means);
        // A large spread needs no fractions, and a small one is quicker as a small number.
        let Some(fine) = spread.checked_mul(PART * PART) else {
            return Some(spread.isqrt() * PART);
        };
        Some(u32::try_from(fine).map_or_else(|_| fine.isqrt(), |small| small.isqrt().into()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn of(readings: &[[i16; 3]]) -> Sums {
        let mut sums = Sums::default();
        readings.iter().for_each(|axes| sums.add(*axes));
        sums
    }

    #[test]
    fn nothing_has_no_mean_and_one_reading_no_deviation() {
        assert_eq!(Sums::default().means(), None);
        let one = of(&[[7, -8, i16::MIN]]);
        assert_eq!(one.means(), Some([7, -8, -32_768]));
        assert_eq!((one.deviation(), one.largest), (None, 32_768));
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            failure_persistence: None,
            ..ProptestConfig::default()
        })]

        #[test]
        fn they_are_the_textbooks_mean_and_deviation(
            readings in prop::collection::vec(prop::array::uniform3(any::<i16>()), 2..40),
            cut in any::<prop::sample::Index>(),
        ) {
            let count = readings.len() as f64;
            let mut variance = 0.0;
            let (front, back) = readings.split_at(cut.index(readings.len()));
            let mut sums = of(front);
            sums.merge(&of(back));
            prop_assert_eq!(sums, of(&readings));
            for axis in 0..3 {
                let values = readings.iter().map(|axes| f64::from(axes[axis]));
                let mean = values.clone().sum::<f64>() / count;
                variance += values.map(|value| (value - mean).powi(2)).sum::<f64>() / count;
                let found = f64::from(sums.means().unwrap()[axis]);
                prop_assert!((found - mean).abs() <= 0.5 + 1e-9, "{} {}", found, mean);
            }
            let found = sums.deviation().unwrap() as f64 / 256.0 / count;
            prop_assert!((found - variance.sqrt()).abs() < 0.005 + 1e-6 * found, "{}", found);
        }
    }
}
