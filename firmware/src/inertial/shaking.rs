//! How much the inertial sensor is shaken, for the console.
//!
//! ```text
//! vibration  root of the mean variance of the readings in a sample, over about a second
//! largest    the largest force of one axis, of this window of a second and the one before
//! ```

use super::average::{Averaged, FORCE_STEPS, SpreadSteps};

/// Samples in a second.
const WINDOW: u8 = 50;
const STEPS_IN_MM_PER_S2: u32 = FORCE_STEPS as u32 / 1_000;

/// The shaking so far.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Shaking {
    /// In squared steps.
    variance: i64,
    /// The largest force of this window and of the one before, in steps.
    largest: i32,
    before: i32,
    samples: u8,
}

impl Shaking {
    /// Takes a sample of the sensor, if it says how its readings spread.
    pub fn take(&mut self, averaged: &Averaged) {
        let Some(SpreadSteps { largest_force, force_deviation, .. }) = averaged.spread else {
            return;
        };
        let deviation = i64::from(force_deviation);
        self.variance += (deviation * deviation - self.variance) / i64::from(WINDOW);
        if self.samples == WINDOW {
            self.before = core::mem::take(&mut self.largest);
            self.samples = 0;
        }
        self.samples += 1;
        self.largest = self.largest.max(largest_force);
    }

    /// Vibration of all axes together, rms.
    pub fn vibration_mm_per_s2(&self) -> u32 {
        self.variance.unsigned_abs().isqrt() as u32 / STEPS_IN_MM_PER_S2
    }

    /// The largest force along one axis in the last second or two.
    pub fn largest_mm_per_s2(&self) -> u32 {
        self.largest.max(self.before).unsigned_abs() / STEPS_IN_MM_PER_S2
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn averaged(deviation: i32, largest: i32) -> Averaged {
        let spread = SpreadSteps {
            largest_force: largest,
            force_deviation: deviation,
            largest_turn: 0,
            turn_deviation: 0,
        };
        Averaged { force: [0; 3], turn: [0; 3], spread: Some(spread) }
    }

    #[test]
    fn steady_vibration_is_reported_as_it_is_and_a_blow_is_forgotten_after_two_seconds() {
        let mut shaking = Shaking::default();
        shaking.take(&averaged(20_000, 400_000));
        for sample in 0..500 {
            // The blow is in the first window.
            let expected = if sample < 100 { 40_000 } else { 12_000 };
            assert_eq!(shaking.largest_mm_per_s2(), expected, "{sample}");
            shaking.take(&averaged(20_000, 120_000));
        }
        assert!((1_998..=2_000).contains(&shaking.vibration_mm_per_s2()));
        let before = shaking;
        shaking.take(&Averaged { spread: None, ..averaged(0, 0) });
        assert_eq!(shaking, before, "what has no spread says nothing");
    }
}
