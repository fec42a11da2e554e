//! Measures the noise of the heights while they arrive.
//!
//! Three heights in a row show it: the distance of the middle one from the straight line through
//! its neighbours. With time steps d1 and d2 and height differences e1 and e2,
//!
//! ```text
//! r = (e1 d2 - e2 d1) / (d1 + d2)          var r = sigma^2 (1 + w1^2 + w2^2)
//! w1 = d2 / (d1 + d2),  w2 = d1 / (d1 + d2)
//! ```
//!
//! A steady climb cancels; an acceleration a leaves a d1 d2 / 2, which is negligible at 50 Hz and
//! dominates at 1 Hz, where three heights cannot separate noise from motion. The median of
//! |r| is followed, not its mean square, so that the edge of a thermal or a pull-up has little
//! effect: the estimate moves up where |r| is above 0.6745 sigma, down where it is below, by the
//! same factor. A coarse sensor shows no noise between two of its steps; rounding noise,
//! step / sqrt(12), is assumed. As r comes in steps too, its median may give up to two and a half
//! times that.
//!
//! Source: the median of a normal distribution's magnitude is 0.6745 sigma (any table); following a
//! median by equal steps is the stochastic approximation of Robbins and Monro, 1951.

use crate::units::larger;

/// The median of |r| in units of sigma.
const MEDIAN: f32 = 0.6745;
/// The estimate before anything is known: that of an ordinary barometer (a guess, on the safe
/// side).
const FIRST_M: f32 = 0.2;
/// The estimate's step at each sample, once it has settled.
const STEP: f32 = 0.01;
/// At first the steps are larger, and larger upward than downward: until more is known, it is safer
/// to assume too much noise. With these two it settles where 1 in 3 lies above, 1.4 times too high.
const FIRST_SAMPLES: u16 = 40;
const FIRST_STEP_UP: f32 = 0.08;
const FIRST_STEP_DOWN: f32 = 0.04;
/// No barometer is quieter (2 mm is a fortieth of a pascal), and no usable one is noisier.
const LEAST_M: f32 = 0.002;
const MOST_M: f32 = 5.0;
/// How fast the smallest step seen is forgotten, per sample.
const FORGET: f32 = 1.000_5;

/// State of the noise measurement.
#[derive(Clone, Copy, Debug)]
pub(crate) struct NoiseState {
    difference: Option<(f32, f32)>,
    sigma_m: f32,
    samples: u16,
    quantum_m: f32,
}

impl Default for NoiseState {
    fn default() -> Self {
        Self { difference: None, sigma_m: FIRST_M, samples: 0, quantum_m: MOST_M }
    }
}

impl NoiseState {
    /// Takes the next height, given as its difference `rise_m` from the one before, `dt_s` earlier.
    pub(crate) fn step(&mut self, dt_s: f32, rise_m: f32) {
        if let Some((dt_before_s, rise_before_m)) = self.difference {
            let whole_s = dt_before_s + dt_s;
            let (w1, w2) = (dt_s / whole_s, dt_before_s / whole_s);
            let bend_m = rise_before_m * w1 - rise_m * w2;
            self.follow(bend_m * bend_m / (1.0 + w1 * w1 + w2 * w2));
        }
        self.difference = Some((dt_s, rise_m));
    }

    /// Clears the last height, so that the next is not compared with it; keeps the measured noise.
    pub(crate) fn interrupt(&mut self) {
        self.difference = None;
    }

    /// Standard deviation of the measured height, 2 mm to 5 m.
    ///
    /// Within 20 % of the truth half a minute after the start at 50 Hz, for noise of 0.02 to 0.3 m.
    pub(crate) fn sigma_m(&self) -> f32 {
        self.at_least_rounding(self.sigma_m)
    }

    /// `sigma_m`, but no less than the rounding of a coarse sensor.
    pub(crate) fn at_least_rounding(&self, sigma_m: f32) -> f32 {
        let rounding_m = if self.quantum_m < MOST_M { self.quantum_m * 0.288_675 } else { 0.0 };
        larger(sigma_m, rounding_m).clamp(LEAST_M, MOST_M)
    }

    fn follow(&mut self, squared_m2: f32) {
        if squared_m2 == 0.0 {
            return; // Heights that do not move at all carry no information.
        }
        let (up, down) = if self.samples < FIRST_SAMPLES {
            self.samples += 1;
            (FIRST_STEP_UP, FIRST_STEP_DOWN)
        } else {
            (STEP, STEP)
        };
        let limit_m = MEDIAN * self.sigma_m;
        let above = squared_m2 > limit_m * limit_m;
        self.sigma_m = if above { self.sigma_m * (1.0 + up) } else { self.sigma_m / (1.0 + down) };
        self.sigma_m = self.sigma_m.clamp(LEAST_M, MOST_M);
    }

    /// Tracks the smallest step between heights, which is the resolution of a coarse sensor. Must
    /// be called before the height is used: the first step of a coarse sensor is not a climb.
    pub(crate) fn see_step(&mut self, rise_m: f32) {
        self.quantum_m = (self.quantum_m * FORGET).clamp(0.0, MOST_M);
        let step_m = rise_m.abs();
        if step_m > 0.0 && step_m < self.quantum_m {
            self.quantum_m = step_m;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::motion::random::Noise;
    use approx::assert_relative_eq;

    /// The noise measured after `seconds` at `rate_hz` from heights `truth(t)` with noise of
    /// `sigma_m`, rounded to `step_m`.
    fn measured(
        rate_hz: f64,
        seconds: f64,
        sigma_m: f64,
        step_m: f64,
        truth: impl Fn(f64) -> f64,
    ) -> f32 {
        let (mut noise, mut state, mut before) = (Noise(7), NoiseState::default(), None);
        for sample in 0..(seconds * rate_hz) as u32 {
            let mut height = truth(f64::from(sample) / rate_hz) + sigma_m * noise.normal();
            if step_m > 0.0 {
                height = (height / step_m).round() * step_m;
            }
            if let Some(before) = before {
                state.see_step((height - before) as f32);
                state.step((1.0 / rate_hz) as f32, (height - before) as f32);
            }
            before = Some(height);
        }
        state.sigma_m()
    }

    #[test]
    fn noise_is_measured_within_its_stated_error_in_still_air_in_climb_and_in_turns() {
        for sigma_m in [0.02, 0.03, 0.1, 0.3] {
            let still = measured(50.0, 30.0, sigma_m, 0.0, |_| 500.0);
            let climb = measured(50.0, 30.0, sigma_m, 0.0, |t| 500.0 + 5.0 * t);
            let wavy = measured(50.0, 30.0, sigma_m, 0.0, |t| 500.0 + 10.0 * (t / 2.0).sin());
            for found in [still, climb, wavy] {
                assert_relative_eq!(f64::from(found), sigma_m, max_relative = 0.2);
            }
        }
    }

    #[test]
    fn noise_is_not_underestimated_at_the_start() {
        for sigma_m in [0.03, 0.1, 0.2] {
            for seconds in [0.4, 0.8, 1.2, 1.6] {
                let found = measured(50.0, seconds, sigma_m, 0.0, |_| 500.0);
                assert!(
                    f64::from(found) > 0.8 * sigma_m,
                    "{found} m for {sigma_m} m after {seconds} s"
                );
            }
        }
    }

    #[test]
    fn a_coarse_sensor_gets_one_to_two_and_a_half_times_its_rounding_noise() {
        // 1 m steps: 1 / sqrt 12 = 0.289 m.
        for climb in [0.03, 0.3, 1.0] {
            let found = measured(1.0, 300.0, 0.1, 1.0, |t| 500.0 + climb * t);
            assert!((0.288..0.722).contains(&found), "{found} m at {climb} m/s");
        }
    }
}
