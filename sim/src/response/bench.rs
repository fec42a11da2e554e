//! Runs air motion and sensor noise through the core's estimator.

use super::air::Air;
use super::series::Series;
use chirrup_core::stages::{Estimator, EstimatorState};
use chirrup_core::{Metre, Micros};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

/// A sensor that samples at even times.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bench {
    /// Samples a second.
    pub rate_hz: f64,
    /// Standard deviation of the heights, which are white and normal.
    pub noise_m: f64,
    /// How many runs make a mean.
    pub seeds: u32,
}

/// How long a run is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Before zero, for the filter to settle.
    pub before_s: f64,
    /// From zero on.
    pub after_s: f64,
}

impl Bench {
    /// The reading without sensor noise.
    pub fn noiseless(&self, estimator: &Estimator, air: Air<'_>, span: Span) -> Series {
        self.read(estimator, air, span, || 0.0)
    }

    /// The reading with the noise of `seed`.
    pub fn noisy(&self, estimator: &Estimator, air: Air<'_>, span: Span, seed: u32) -> Series {
        let mut rng = ChaCha8Rng::seed_from_u64(u64::from(seed));
        self.read(estimator, air, span, || {
            let normal: f64 = StandardNormal.sample(&mut rng);
            self.noise_m * normal
        })
    }

    /// The mean reading of every seed.
    pub fn mean(&self, estimator: &Estimator, air: Air<'_>, span: Span) -> Series {
        let mut mean = self.noisy(estimator, air, span, 0);
        for seed in 1..self.seeds {
            let run = self.noisy(estimator, air, span, seed);
            for (sum, value) in mean.values_mps.iter_mut().zip(run.values_mps) {
                *sum += value;
            }
        }
        mean.values_mps.iter_mut().for_each(|sum| *sum /= f64::from(self.seeds));
        mean
    }

    fn read(
        &self,
        estimator: &Estimator,
        air: Air<'_>,
        Span { before_s, after_s }: Span,
        mut error_m: impl FnMut() -> f64,
    ) -> Series {
        // Zero is a sample's own time, whatever the rate.
        let before = (before_s * self.rate_hz).ceil() as i64;
        let after = (after_s * self.rate_hz).floor() as i64;
        let mut state = EstimatorState::default();
        let mut series = Series::default();
        let mut last_us = self.time_us(-before - 1);
        for sample in -before..=after {
            let time_us = self.time_us(sample);
            let time_s = time_us as f64 * 1e-6;
            let measured_m = air.height_m(time_s) + error_m();
            let elapsed = Micros(time_us - last_us);
            let estimate = estimator.step(&mut state, elapsed, Metre(measured_m as f32));
            series.times_s.push(time_s);
            series.values_mps.push(f64::from(estimate.velocity.0));
            last_us = time_us;
        }
        series
    }

    fn time_us(&self, sample: i64) -> i64 {
        (sample as f64 * 1e6 / self.rate_hz).round() as i64
    }
}
