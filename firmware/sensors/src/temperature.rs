//! The temperature that a barometer's pressure is compensated with: the latest one, as it was
//! measured.
//!
//! One degree is about 200 Pa of what a barometer's counts say, so 0.003 degrees of noise are 0.6
//! Pa. Measured in every frame and used once, that is white noise, which the core's filter knows
//! how to weigh. Kept for several frames or smoothed, it is noise that lasts, which the filter
//! takes for motion; and what is smoothed lags behind a die that warms. Beeps in 18 runs of ten
//! minutes of still air (MS5611 and BMP390; pressure noise 0.2, 0.6 and 1.2 Pa; warming and cooling
//! by 3 degrees a minute, and sun), and the largest vertical speed that was read:
//!
//! | temperature | beeps | m/s |
//! |---|---|---|
//! | once in 25 frames (MS5611), in 10 (BMP390) | 568 | 3.2 |
//! | every frame, first-order lag of 2, 4, 32, 128 frames | 17, 13, 189, 247 | 0.6 to 4.1 |
//! | every frame, level and slope over 8, 16, 32, 64 frames | 24, 58, 108, 174 | 0.7 to 2.5 |
//! | every frame, as measured | 0 | 0.11 |

/// So many pressures are compensated with one temperature: a second. In that time a die that warms
/// by 3 degrees a minute makes an error of 10 Pa.
const MOST_USES: u8 = 50;

/// The latest temperature of a barometer, in counts.
#[derive(Clone, Copy, Debug, Default)]
pub struct LatestTemperature {
    counts: Option<u32>,
    uses: u8,
}

impl LatestTemperature {
    /// Takes what was measured.
    pub fn take(&mut self, counts: u32) {
        *self = Self { counts: Some(counts), uses: 0 };
    }

    /// For the next pressure; `None` before the first, and after too many pressures with one.
    pub fn for_a_pressure(&mut self) -> Option<u32> {
        self.uses = self.uses.saturating_add(1);
        self.counts.filter(|_| self.uses <= MOST_USES)
    }

    /// Whether one was measured, however long ago.
    pub fn is_known(&self) -> bool {
        self.counts.is_some()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_temperature_serves_for_a_second_and_no_longer() {
        let mut latest = LatestTemperature::default();
        assert_eq!(latest.for_a_pressure(), None);
        latest.take(7);
        assert!((0..50).all(|_| latest.for_a_pressure() == Some(7)));
        assert_eq!(latest.for_a_pressure(), None);
        assert!((0..1_000).all(|_| latest.for_a_pressure().is_none()) && latest.is_known());
        latest.take(8);
        assert_eq!(latest.for_a_pressure(), Some(8));
    }
}
