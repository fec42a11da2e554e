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
    /// How many readings.
    pub readings: u32,
    /// The sum along each axis.
    pub sum: [i64; 3],
    /// The sum of the squares of all axes.
    pub squares: u64,
    /// The largest magnitude of a single axis.
    pub largest: u16,
}

/// Mean counts and deviations are in this part of a count.
pub const PART: i64 = 256;

impl Sums {
    /// Adds a reading.
    pub fn add(&mut self, axes: [i16; 3]) {
        self.readings = self.readings.saturating_add(1);
        for (sum, value) in self.sum.iter_mut().zip(axes) {
            *sum += i64::from(value);
            self.squares += u64::from(value.unsigned_abs()).pow(2);
            self.largest = self.largest.max(value.unsigned_abs());
        }
    }

    /// Adds the readings of another.
    pub fn merge(&mut self, other: &Sums) {
        self.readings = self.readings.saturating_add(other.readings);
        for (sum, value) in self.sum.iter_mut().zip(other.sum) {
            *sum += value;
        }
        self.squares += other.squares;
        self.largest = self.largest.max(other.largest);
    }

    /// The means in 1/256 of a count, rounded; `None` without a reading.
    pub fn means(&self) -> Option<[i64; 3]> {
        (self.readings > 0).then(|| self.sum.map(|sum| rounded(sum * PART, self.readings.into())))
    }

    /// Root of the summed variances of the axes in 1/256 of a count, rounded down; `None` for fewer
    /// than two readings.
    pub fn deviation(&self) -> Option<i64> {
        let readings = u64::from(self.readings);
        if readings < 2 {
            return None;
        }
        let of_means: u64 = self.sum.iter().map(|sum| sum.unsigned_abs().pow(2)).sum();
        let spread = (readings * self.squares).saturating_sub(of_means);
        // The square of 1/256, as far as there is room for it: a large spread needs no fractions.
        let root = match spread.checked_mul((PART * PART) as u64) {
            Some(fine) => fine.isqrt(),
            None => spread.isqrt() * PART as u64,
        };
        Some((root / readings) as i64)
    }
}

/// `numerator / divisor`, rounded to the nearest, halves up.
pub(super) fn rounded(numerator: i64, divisor: i64) -> i64 {
    (numerator + divisor / 2).div_euclid(divisor)
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
        assert_eq!(one.means(), Some([7 * 256, -8 * 256, -32_768 * 256]));
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
                let found = sums.means().unwrap()[axis] as f64 / 256.0;
                prop_assert!((found - mean).abs() <= 0.5 / 256.0 + 1e-9, "{} {}", found, mean);
            }
            let found = sums.deviation().unwrap() as f64 / 256.0;
            prop_assert!((found - variance.sqrt()).abs() < 0.005 + 1e-6 * found, "{}", found);
        }
    }
}
