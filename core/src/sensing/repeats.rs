//! Pressures that repeat bit for bit: a sensor that is polled faster than it measures, a coarse
//! sensor, or a dead one.
//!
//! ```text
//! a new value                                              FRESH: used
//! the same, for less than 0.15 s                           AGAIN: not used; no new measurement
//! the same, for longer                                     FRESH: a coarse sensor in still air
//! the same for 1 s and 10 samples, at 5 samples a second
//! or more, where values used to change at every third
//! sample or more often                                     FROZEN: no working sensor does that
//! ```
//!
//! The times are guesses: 0.15 s is longer than any conversion, and short enough for the filter to
//! see that a coarse sensor's value is not moving.

use crate::units::{Micros, Pascal};

const AGAIN_FOR: Micros = Micros(150_000);
const FROZEN_FOR: Micros = Micros(1_000_000);
const FROZEN_SAMPLES: u16 = 10;
/// A flight log with one sample a second in steps of a metre, taken on the ground, is not a dead
/// sensor.
const OFTEN: Micros = Micros(200_000);
/// A sensor whose values last at most this many samples on average can be distinguished from a dead
/// one.
const LIVELY_SAMPLES: f32 = 3.0;
/// This many changes must have been seen before that average is used.
const CHANGES_TO_KNOW: u16 = 32;

/// How a pressure compares with the ones before.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Freshness {
    /// A measurement.
    #[default]
    Fresh,
    /// The previous measurement, read again.
    Again,
    /// A sensor that has died.
    Frozen,
}

/// State of the check for repeats.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct RepeatState {
    last: Option<Pascal>,
    same_samples: u16,
    same_for: Micros,
    usual_samples: f32,
    changes: u16,
    frozen: bool,
}

impl RepeatState {
    /// Classifies the next pressure, `elapsed` after the one before.
    pub(crate) fn step(&mut self, elapsed: Micros, pressure: Pascal) -> Freshness {
        if self.last != Some(pressure) {
            self.change(pressure);
            return Freshness::Fresh;
        }
        self.same_samples = self.same_samples.saturating_add(1);
        self.same_for = Micros(self.same_for.0.saturating_add(elapsed.0));
        let lively = self.changes >= CHANGES_TO_KNOW && self.usual_samples < LIVELY_SAMPLES;
        let often = self.same_for.0 < i64::from(self.same_samples).saturating_mul(OFTEN.0);
        self.frozen =
            lively && often && self.same_for >= FROZEN_FOR && self.same_samples >= FROZEN_SAMPLES;
        if self.frozen {
            Freshness::Frozen
        } else if self.same_for < AGAIN_FOR {
            Freshness::Again
        } else {
            Freshness::Fresh
        }
    }

    fn change(&mut self, pressure: Pascal) {
        // A frozen value does not show how often values usually change.
        if !self.frozen {
            self.usual_samples += (f32::from(self.same_samples) - self.usual_samples) / 16.0;
        }
        self.frozen = false;
        self.last = Some(pressure);
        self.same_samples = 1;
        self.same_for = Micros(0);
        self.changes = self.changes.saturating_add(1);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    const STEP: Micros = Micros(20_000);

    fn judged(pressures: impl IntoIterator<Item = f32>) -> Vec<Freshness> {
        let mut state = RepeatState::default();
        pressures.into_iter().map(|pressure| state.step(STEP, Pascal(pressure))).collect()
    }

    /// Values that all differ.
    fn lively(count: u16) -> impl Iterator<Item = f32> {
        (0..count).map(|sample| 90_000.0 + f32::from(sample % 97) * 0.25)
    }

    #[test]
    fn a_sensor_polled_twice_as_fast_as_it_measures_is_used_every_second_time() {
        let polled = judged(lively(200).flat_map(|pressure| [pressure, pressure]));
        assert!(polled.chunks(2).all(|pair| pair == [Freshness::Fresh, Freshness::Again]));
    }

    #[test]
    fn a_dead_sensor_is_detected_after_a_second_and_its_recovery_at_once() {
        let found = judged(lively(200).chain([90_000.5; 100]).chain([90_001.0]));
        let frozen = found
            .iter()
            .position(|&freshness| freshness == Freshness::Frozen)
            .expect("it is detected");
        assert_eq!(frozen, 250); // 200 changing values, then 50 steps of 20 ms
        assert!(found[frozen..300].iter().all(|&freshness| freshness == Freshness::Frozen));
        assert_eq!(found[300], Freshness::Fresh);
    }

    #[test]
    fn a_coarse_sensor_in_still_air_is_not_dead() {
        // Steps of 10 Pa, each for 5 s.
        let coarse =
            judged((0..50_u16).flat_map(|step| [90_000.0 + 10.0 * f32::from(step % 7); 250]));
        assert!(coarse.iter().all(|&freshness| freshness != Freshness::Frozen));
        let used = coarse.iter().filter(|&&freshness| freshness == Freshness::Fresh).count();
        assert!(used > coarse.len() * 9 / 10);
    }
}
