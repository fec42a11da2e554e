//! Height samples to vertical speed: a second-order tracking filter with one setting, the delay of its reading.
//!
//! The filter predicts the next height from height and vertical speed, and corrects both by the error of the
//! prediction, in shares `alpha` and `beta`:
//!
//! ```text
//! e = z - (h + v dt)        h <- h + v dt + alpha e        v <- v + (beta / dt) e
//! ```
//!
//! The gains are those of the steady Kalman filter for a vertical speed that wanders at random (its acceleration is white
//! noise of spectral density q) under white measurement noise of variance sigma^2. Its Riccati equation, written for one time
//! step dt, leaves one relation between the gains, and the delay at DC is the other:
//!
//! ```text
//! alpha^2 - 2 beta + alpha beta + beta^2 / 6 = 0         q dt^3 / sigma^2 = beta^2 / (1 - alpha)
//! delay = dt (alpha / beta - 1/2)
//! ```
//!
//! With rho = delay / dt + 1/2 they are solved without a root or a power, exactly, at every time step:
//!
//! ```text
//! beta = 2 / (rho^2 + rho + 1/6)        alpha = rho beta
//! ```
//!
//! In the limit of small steps this is a second-order Butterworth low-pass of w0 = sqrt(2) / delay. No filter of this kind has
//! less error for its delay; with time steps that jitter by half it has 2 % more than a Kalman filter that
//! knows every step's covariance.
//!
//! At the start there is no past to be steady about: the first samples are fitted by a straight line through all of
//! them, which is the same filter with the growing-memory gains below, until the steady gains are the larger.
//!
//! ```text
//! alpha_n = 2 (2 n - 1) / (n (n + 1))      beta_n = 6 / (n (n + 1))      at the n-th sample
//! ```
//!
//! Sources: Kalata 1984 and Bar-Shalom, Li and Kirubarajan, Estimation with Applications to Tracking and Navigation (2001),
//! chapter 6, for the steady filter; the form above is worked out here from its Riccati equation and held against solvers
//! in tests/oracle. The growing-memory gains follow from the normal equations of a line fit to equal steps.

use crate::units::{Metre, MetrePerSecond, Micros};

/// The height states are kept relative to a whole number of metres no further away than this, because an `f32`
/// near 5000 m steps by 0.5 mm, as much as a weak climb rises between two samples.
const ORIGIN_REACH_M: f32 = 64.0;

/// The shortest delay in units of the time step: at (1 / sqrt(3)) / 2 = 0.289 alpha is 1, a filter without memory.
const SHORTEST_DELAY_STEPS: f32 = 0.3;

/// The filter as tuned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimator {
    delay_s: f32,
}

/// What the filter remembers.
#[derive(Clone, Copy, Debug, Default)]
pub struct EstimatorState {
    origin_m: f32,
    height_m: f32,
    velocity_mps: f32,
    samples: u16,
    settled: bool,
}

/// The filter's answer to one sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// Filtered height.
    pub height: Metre,
    /// Vertical speed, positive upward.
    pub velocity: MetrePerSecond,
    /// The start is over: the reading is no noisier than it will stay.
    pub settled: bool,
}

impl Estimator {
    /// A filter whose reading is `response_s` seconds behind a steadily changing vertical speed.
    ///
    /// Useful from 0.1 to 10 s; the settings check the range. A delay that the sample rate cannot give becomes the
    /// shortest that it can, 0.3 of a time step.
    pub fn new(response_s: f32) -> Self {
        Self { delay_s: response_s }
    }

    /// Takes the height measured `elapsed` after the one before; `elapsed` is above zero, and without meaning for
    /// the first sample.
    pub fn step(&self, state: &mut EstimatorState, elapsed: Micros, measured: Metre) -> Estimate {
        if state.samples == 0 {
            return state.start(measured);
        }
        let dt_s = elapsed.as_seconds();
        let (alpha, beta) = self.gains(state, dt_s);
        let predicted_m = state.height_m + state.velocity_mps * dt_s;
        let error_m = (measured.0 - state.origin_m) - predicted_m;
        state.height_m = predicted_m + alpha * error_m;
        state.velocity_mps += beta / dt_s * error_m;
        state.move_origin();
        state.estimate()
    }

    /// The shares of the error that correct height and velocity at this sample.
    fn gains(&self, state: &mut EstimatorState, dt_s: f32) -> (f32, f32) {
        let (alpha, beta) = steady_gains(self.delay_s, dt_s);
        if state.settled {
            return (alpha, beta);
        }
        state.samples = state.samples.saturating_add(1);
        let n = f32::from(state.samples);
        let pairs = n * (n + 1.0);
        let (growing_alpha, growing_beta) = (2.0 * (2.0 * n - 1.0) / pairs, 6.0 / pairs);
        state.settled = growing_beta <= beta || state.samples == u16::MAX;
        (
            if growing_alpha > alpha { growing_alpha } else { alpha },
            if growing_beta > beta { growing_beta } else { beta },
        )
    }
}

/// The gains whose delay at DC is `delay_s`, for a time step of `dt_s`.
fn steady_gains(delay_s: f32, dt_s: f32) -> (f32, f32) {
    let delay_steps = delay_s / dt_s;
    let rho = 0.5 + if delay_steps > SHORTEST_DELAY_STEPS { delay_steps } else { SHORTEST_DELAY_STEPS };
    let beta = 2.0 / (rho * rho + rho + 1.0 / 6.0);
    (rho * beta, beta)
}

impl EstimatorState {
    fn start(&mut self, measured: Metre) -> Estimate {
        self.origin_m = libm::floorf(measured.0);
        self.height_m = measured.0 - self.origin_m;
        self.velocity_mps = 0.0;
        self.samples = 1;
        self.settled = false;
        self.estimate()
    }

    /// Keeps the height near its origin; the origin stays a whole number, so nothing is rounded.
    fn move_origin(&mut self) {
        if self.height_m > ORIGIN_REACH_M || self.height_m < -ORIGIN_REACH_M {
            let whole_m = libm::floorf(self.height_m);
            self.origin_m += whole_m;
            self.height_m -= whole_m;
        }
    }

    fn estimate(&self) -> Estimate {
        Estimate {
            height: Metre(self.origin_m + self.height_m),
            velocity: MetrePerSecond(self.velocity_mps),
            settled: self.settled,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    /// Runs the filter at `rate_hz` over `height_m(t)` and returns (time, estimate) for every sample.
    fn run(
        delay_s: f32,
        rate_hz: f64,
        seconds: f64,
        height_m: impl Fn(f64) -> f64,
    ) -> std::vec::Vec<(f64, Estimate)> {
        let estimator = Estimator::new(delay_s);
        let mut state = EstimatorState::default();
        let step_us = (1e6 / rate_hz) as i64;
        (0..(seconds * rate_hz) as i64)
            .map(|sample| {
                let time = (sample * step_us) as f64 * 1e-6;
                (time, estimator.step(&mut state, Micros(step_us), Metre(height_m(time) as f32)))
            })
            .collect()
    }

    #[test]
    fn a_steadily_growing_climb_is_read_late_by_the_setting_at_every_rate() {
        // 0.1 m/s2 for 40 s: the reading is the truth of `delay` ago. Analytic; the filter's gains are not used.
        for (rate_hz, delay_s) in
            [(1.0, 1.0), (1.0, 3.0), (5.0, 0.5), (5.0, 1.0), (20.0, 0.3), (50.0, 1.0), (100.0, 2.0), (200.0, 0.5)]
        {
            let (time, last) = *run(delay_s, rate_hz, 40.0, |t| 0.05 * t * t).last().unwrap();
            let measured_delay = time as f32 - last.velocity.0 / 0.1;
            assert_relative_eq!(measured_delay, delay_s, max_relative = 0.01);
        }
    }

    #[test]
    fn a_step_of_climb_overshoots_as_a_second_order_butterworth_does() {
        // Butterworth, order 2: overshoot exp(-pi) = 4.32 % (any text on control; damping 1/sqrt 2). Held to 1 point
        // because the growing-memory start and the sampling move it a little.
        let readings = run(1.0, 100.0, 30.0, |t| 2.0 * (t - 15.0).max(0.0));
        let highest = readings.iter().map(|(_, estimate)| estimate.velocity.0).fold(0.0, f32::max);
        assert_abs_diff_eq!(highest / 2.0, 1.0432, epsilon = 0.01);
        assert_abs_diff_eq!(readings.last().unwrap().1.velocity.0, 2.0, epsilon = 1e-3);
    }

    #[test]
    fn noise_of_the_reading_is_that_of_the_closed_form() {
        // Velocity variance from white measurement noise r w0^3 / (2 sqrt 2), r = sigma^2 dt, w0 = sqrt 2 / delay
        // (published-values, section 5). Noise: a uniform sequence of a 64-bit linear congruential generator
        // (Knuth's MMIX constants), sigma = 0.1 m.
        let (rate_hz, delay_s, sigma_m) = (50.0, 1.0_f64, 0.1_f64);
        let mut seed = 1_u64;
        let mut noise = std::vec::Vec::new();
        for _ in 0..500_000 {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            noise.push(((seed >> 11) as f64 / (1_u64 << 53) as f64 - 0.5) * sigma_m * 12.0_f64.sqrt());
        }
        let readings = run(delay_s as f32, rate_hz, 10_000.0, |t| noise[(t * rate_hz).round() as usize]);
        let settled = &readings[1000..];
        let variance =
            settled.iter().map(|(_, e)| f64::from(e.velocity.0).powi(2)).sum::<f64>() / settled.len() as f64;
        let w0 = 2.0_f64.sqrt() / delay_s;
        let expected = sigma_m * sigma_m / rate_hz * w0.powi(3) / (2.0 * 2.0_f64.sqrt());
        assert_relative_eq!(variance, expected, max_relative = 0.05);
    }

    #[test]
    fn a_climb_under_way_at_the_start_is_read_from_the_second_sample() {
        let readings = run(1.0, 50.0, 3.0, |t| 1000.0 + 3.0 * t);
        for (_, estimate) in &readings[1..] {
            assert_abs_diff_eq!(estimate.velocity.0, 3.0, epsilon = 0.02);
        }
        let settled_after = readings.iter().find(|(_, estimate)| estimate.settled).unwrap().0;
        assert!(settled_after < 2.0, "settled after {settled_after} s");
    }

    #[test]
    fn height_does_not_matter_to_a_weak_climb_at_a_high_rate() {
        // 0.02 m/s at 200 Hz rises 0.1 mm between samples; an f32 at 9000 m steps by 1 mm.
        for base_m in [0.0, 9000.0] {
            let last = run(1.0, 200.0, 120.0, |t| base_m + 0.02 * t).last().unwrap().1;
            assert_abs_diff_eq!(last.velocity.0, 0.02, epsilon = 0.002);
        }
    }

    #[test]
    fn a_long_climb_moves_the_origin_without_a_trace() {
        let readings = run(0.5, 50.0, 400.0, |t| 5.0 * t);
        for (time, estimate) in &readings[50..] {
            assert_abs_diff_eq!(estimate.velocity.0, 5.0, epsilon = 0.005);
            assert_abs_diff_eq!(f64::from(estimate.height.0), 5.0 * time, epsilon = 0.002);
        }
    }

    #[test]
    fn uneven_steps_bring_no_error_to_a_steady_climb() {
        let estimator = Estimator::new(1.0);
        let mut state = EstimatorState::default();
        let mut time_us = 0_i64;
        for sample in 0..2000_i64 {
            let elapsed = Micros(800 + (sample * 7919) % 36_000);
            time_us += elapsed.0;
            let estimate = estimator.step(&mut state, elapsed, Metre(time_us as f32 * 2.0e-6));
            if sample > 1 {
                assert_abs_diff_eq!(estimate.velocity.0, 2.0, epsilon = 0.01);
            }
        }
    }
}
