//! Pressures that repeat bit for bit: a sensor that is polled faster than it measures, a coarse
//! sensor, or a dead one.
//!
//! ```text
//! a new value                                              FRESH: used
//! the same, for less than 0.15 s                           AGAIN: not used; no new measurement
//! the same, for longer                                     FRESH: a coarse sensor in still air
//! the same, for too long for a working sensor              FROZEN: not used
//! ```
//!
//! The times are guesses: 0.15 s is longer than any conversion, and short enough for the filter to
//! see that a coarse sensor's value is not moving.
//!
//! **How long is too long**, at more than 5 samples a second (a flight log with one sample a second
//! in steps of a metre stays the same for two minutes on the ground):
//!
//! | the sensor until then | frozen after |
//! |---|---|
//! | changed at every third sample or more often, by over a step | 1 s and 10 samples |
//! | else coarse; climbed | 20 s |
//! | else coarse; did not climb | never |
//! | never changed; its value is a fine one | 10 s |
//! | never changed; its value is round, as a coarse sensor's | 150 s |
//!
//! In the real flights of the tests no height in metres stays the same for more than 8 s in the air
//! and 112 s on the ground; the limits are well above. What stands still after a descent may have
//! landed, and is never called frozen.

use crate::units::{Metre, Micros, Pascal};

const AGAIN_FOR: Micros = Micros(150_000);
const FROZEN_FOR: Micros = Micros(1_000_000);
const FROZEN_SAMPLES: u16 = 10;
const COARSE_FROZEN_FOR: Micros = Micros(20_000_000);
const FINE_DEAD_FOR: Micros = Micros(10_000_000);
const ROUND_DEAD_FOR: Micros = Micros(150_000_000);
/// A flight log with one sample a second in steps of a metre, taken on the ground, is not a dead
/// sensor.
const OFTEN: Micros = Micros(200_000);
/// A sensor whose values last at most this many samples on average can be distinguished from a dead
/// one.
const LIVELY_SAMPLES: f32 = 3.0;
/// Here, whatever the size of its changes.
const ALWAYS_CHANGES_SAMPLES: f32 = 1.5;
/// This many changes must have been seen before that average is used.
const CHANGES_TO_KNOW: u16 = 32;
/// Where changes are on average no larger than the smallest times this, the noise is no larger than
/// half a step, and a value between two steps may stay for seconds. With noise of 0.7 steps changes
/// are 1.2 steps large, and no value stays for 50 samples.
const LIVELY_STEPS: f32 = 1.1;
/// Changes over which that is averaged.
const CHANGES_AVERAGED: u16 = 64;
/// A coarse sensor's climb is seen from this many changes on, and is one where its pressure is this
/// many of its steps below the mean of (about) the last seconds.
const CHANGES_TO_CLIMB: u16 = 8;
const CLIMBED_STEPS: f32 = 2.0;
const CLIMBED_WITHIN: Micros = Micros(8_000_000);
/// A pressure altitude this near to a whole metre is taken for one: the errors of `f32`.
const ROUND_M: f32 = 0.004;

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
    /// The smallest change so far, and the mean of the last ones.
    smallest: Pascal,
    usual_change: Pascal,
    /// The mean of the last seconds until the last change.
    mean: Pascal,
    frozen: bool,
}

impl RepeatState {
    /// Classifies the next pressure, `elapsed` after the one before; `round` is what [`is_round`]
    /// says of it, and is rarely asked.
    pub(crate) fn step(
        &mut self,
        elapsed: Micros,
        pressure: Pascal,
        round: impl FnOnce() -> bool,
    ) -> Freshness {
        if self.last != Some(pressure) {
            self.change(elapsed, pressure);
            return Freshness::Fresh;
        }
        self.same_samples = self.same_samples.saturating_add(1);
        self.same_for = Micros(self.same_for.0.saturating_add(elapsed.0));
        let often = self.same_for.0 < i64::from(self.same_samples).saturating_mul(OFTEN.0);
        self.frozen = often && self.same_samples >= FROZEN_SAMPLES && self.is_too_long(round);
        if self.frozen {
            Freshness::Frozen
        } else if self.same_for < AGAIN_FOR {
            Freshness::Again
        } else {
            Freshness::Fresh
        }
    }

    /// Whether no working sensor repeats a value for so long.
    fn is_too_long(&self, round: impl FnOnce() -> bool) -> bool {
        let longest = match self.changes {
            CHANGES_TO_KNOW.. if self.is_lively() => FROZEN_FOR,
            CHANGES_TO_CLIMB.. if self.has_climbed() => COARSE_FROZEN_FOR,
            // The first value counts as one change.
            1 if round() => ROUND_DEAD_FOR,
            1 => FINE_DEAD_FOR,
            _ => return false,
        };
        self.same_for >= longest
    }

    fn is_lively(&self) -> bool {
        let by_more_than_a_step = self.usual_change.0 > LIVELY_STEPS * self.smallest.0;
        self.usual_samples < ALWAYS_CHANGES_SAMPLES
            || (self.usual_samples < LIVELY_SAMPLES && by_more_than_a_step)
    }

    fn has_climbed(&self) -> bool {
        let below = self.last.map_or(0.0, |last| self.mean.0 - last.0);
        below >= CLIMBED_STEPS * self.smallest.0
    }

    fn change(&mut self, elapsed: Micros, pressure: Pascal) {
        if let Some(last) = self.last {
            self.learn_steps(elapsed, last, pressure);
        } else {
            self.mean = pressure;
        }
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

    /// Takes a change from `last` to `pressure`.
    fn learn_steps(&mut self, elapsed: Micros, last: Pascal, pressure: Pascal) {
        let change = libm::fabsf(pressure.0 - last.0);
        let is_first = self.changes < 2;
        self.smallest = Pascal(if is_first { change } else { self.smallest.0.min(change) });
        let averaged = f32::from(self.changes.clamp(1, CHANGES_AVERAGED));
        self.usual_change.0 += (change - self.usual_change.0) / averaged;
        let lasted = self.same_for.as_seconds() + elapsed.as_seconds();
        let weight = (lasted / CLIMBED_WITHIN.as_seconds()).min(1.0);
        self.mean.0 += weight * (last.0 - self.mean.0);
    }
}

/// Whether a pressure is a whole number of pascals, or its altitude one of metres: the steps of
/// coarse sensors.
pub(crate) fn is_round(pressure: Pascal, altitude: Metre) -> bool {
    let off = |value: f32| libm::fabsf(value - libm::roundf(value));
    off(pressure.0) == 0.0 || off(altitude.0) < ROUND_M
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    const STEP: Micros = Micros(20_000);

    fn judged(pressures: impl IntoIterator<Item = f32>) -> Vec<Freshness> {
        let mut state = RepeatState::default();
        let of = |pressure: f32| {
            state.step(STEP, Pascal(pressure), || is_round(Pascal(pressure), Metre(0.5)))
        };
        pressures.into_iter().map(of).collect()
    }

    /// When the sensor is first called frozen, in seconds.
    fn frozen_after(pressures: impl IntoIterator<Item = f32>) -> Option<f32> {
        let found = judged(pressures);
        let place = found.iter().position(|&freshness| freshness == Freshness::Frozen)?;
        Some(place as f32 * 0.02)
    }

    /// A sensor with steps of `step_pa` and noise of `noise_pa` rms under a pressure that falls
    /// by `falls_pa` in a sample.
    fn coarse(count: u32, step_pa: f32, noise_pa: f32, falls_pa: f32) -> impl Iterator<Item = f32> {
        (0..count).map(move |sample| {
            // Twelve numbers of a multiplicative generator, less six: nearly normal.
            let mut number = sample.wrapping_mul(2_654_435_761) ^ 0x9E37;
            let mut next = || {
                number = number.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                (number >> 8) as f32 / 16_777_216.0
            };
            let noise = (0..12).map(|_| next()).sum::<f32>() - 6.0;
            let pressure = 90_000.3 - falls_pa * sample as f32 + noise_pa * noise;
            step_pa * libm::roundf(pressure / step_pa)
        })
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

    #[test]
    fn a_value_repeated_from_the_first_sample_on_is_frozen() {
        assert_eq!(frozen_after([90_000.37; 1000]), Some(10.0));
        assert_eq!(frozen_after([90_000.0; 10_000]), Some(150.0));
        let mut again = judged([90_000.37; 1000].into_iter().chain(lively(10)));
        assert!(again.drain(1000..).all(|freshness| freshness == Freshness::Fresh));
    }

    #[test]
    fn a_coarse_sensor_that_dies_in_a_climb_is_frozen() {
        // 1 m/s is 0.2 Pa in a sample; steps of a metre, of 4 Pa and of 1 Pa, smooth and rough.
        for (step_pa, noise_pa) in [(10.6, 0.0), (10.6, 3.0), (4.0, 0.0), (4.0, 2.0), (1.0, 0.0)] {
            for falls_pa in [0.1, 0.2, 0.6] {
                let climb: Vec<_> = coarse(3000, step_pa, noise_pa, falls_pa).collect();
                let last = climb[2999];
                let died = climb.into_iter().chain([last; 1500]);
                let after = frozen_after(died).map(|seconds| seconds - 60.0);
                assert!(
                    after.is_some_and(|after| (-10.0..20.1).contains(&after)),
                    "steps of {step_pa} Pa, noise {noise_pa} Pa, {falls_pa} Pa: {after:?} s"
                );
            }
        }
    }

    #[test]
    fn a_coarse_sensor_that_lives_is_never_frozen() {
        for step_pa in [1.0, 4.0, 10.6] {
            for noise_pa in [0.0, 0.3, 1.2, 3.0] {
                // From a slow climb of 0.1 m/s to a winch, and a descent after which it stands for
                // ten minutes.
                for falls_pa in [0.02, 0.05, 0.2, 2.0, -0.05, -0.2] {
                    let flown = coarse(3000, step_pa, noise_pa, falls_pa);
                    let stands = if falls_pa < 0.0 { 30_000 } else { 0 };
                    let last = flown.last().unwrap_or(0.0);
                    let all = coarse(3000, step_pa, noise_pa, falls_pa).chain((0..stands).map(
                        |sample: i32| {
                            // Until it changes, a quiet sensor that stands says one value.
                            if noise_pa < 1.0 { last } else { last + (sample / 2 % 2) as f32 }
                        },
                    ));
                    let frozen = frozen_after(all);
                    assert_eq!(frozen, None, "{step_pa} Pa, noise {noise_pa}, {falls_pa} Pa");
                }
            }
        }
    }
}
