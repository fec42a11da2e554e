//! Air, noise and runs of the filter for the suites that measure it.

use chirrup_core::stages::{Estimate, Estimator, EstimatorState};
use chirrup_core::{FilterChoice, Metre, Micros};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// White noise of unit variance, by Box and Muller.
pub fn white(rng: &mut ChaCha8Rng) -> f64 {
    let (u, v): (f64, f64) = (rng.random(), rng.random());
    (-2.0 * (1.0 - u).ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

/// A run's readings under the adaptive defaults.
pub fn adaptive(rate_hz: f64, heights: &[f64]) -> Vec<Estimate> {
    run(Estimator::new(FilterChoice::Adaptive, 1.0, None), rate_hz, heights)
}

pub fn run(estimator: Estimator, rate_hz: f64, heights: &[f64]) -> Vec<Estimate> {
    let mut state = EstimatorState::default();
    let step = Micros((1e6 / rate_hz).round() as i64);
    heights.iter().map(|&height| estimator.step(&mut state, step, Metre(height as f32))).collect()
}

pub fn velocities(estimates: &[Estimate]) -> Vec<f64> {
    estimates.iter().map(|estimate| f64::from(estimate.velocity.0)).collect()
}

pub fn with_noise(heights: &[f64], sigma: f64, seed: u64) -> Vec<f64> {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    heights.iter().map(|height| height + sigma * white(&mut rng)).collect()
}

pub fn rms(values: impl Iterator<Item = f64>) -> f64 {
    let (mut sum, mut count) = (0.0, 0.0);
    for value in values {
        sum += value * value;
        count += 1.0;
    }
    (sum / count).sqrt()
}
