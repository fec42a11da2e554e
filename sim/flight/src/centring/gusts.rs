//! Random motions with an exponential correlation: the first-order gusts of Dryden along a flight,
//! and everything else that wanders.

use super::circler::SPEED_MPS;
use super::ear::STEP_S;
use crate::sensors::Noise;

/// Lengths of the turbulence and of the gusts, m.
const TURBULENCE_M: f64 = 100.0;
const GUST_M: f64 = 150.0;

/// A random value of mean 0 that forgets itself: of standard deviation 1, correlated by
/// `exp(-step)`.
///
/// For gusts a step is the distance flown over their length, for other things the time over their
/// time constant. The recursion is exact at any step.
#[derive(Clone, Debug)]
pub(super) struct Wandering {
    noise: Noise,
    value: f64,
    kept: f64,
    new: f64,
}

impl Wandering {
    /// In its steady state, advanced by `step` each time.
    pub(super) fn new(mut noise: Noise, step: f64) -> Self {
        let kept = libm::exp(-step);
        let value = noise.normal();
        Self { noise, value, kept, new: (1.0 - kept * kept).sqrt() }
    }

    /// The next value.
    pub(super) fn next(&mut self) -> f64 {
        self.value = self.kept * self.value + self.new * self.noise.normal();
        self.value
    }
}

/// What wanders with the way flown.
#[derive(Clone, Copy, Debug)]
pub(super) enum Flown {
    /// Turbulence.
    Turbulence,
    /// Level gusts.
    Gusts,
}

/// Turbulence or gusts of a seed, from a stream of random numbers, of standard deviation 1.
pub(super) fn wandering(seed: u64, stream: u64, what: Flown) -> Wandering {
    let length_m = match what {
        Flown::Turbulence => TURBULENCE_M,
        Flown::Gusts => GUST_M,
    };
    Wandering::new(Noise::new(seed, stream), STEP_S * SPEED_MPS / length_m)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn variance_and_correlation_are_those_asked_for() {
        let mut wandering = Wandering::new(Noise::new(3, 0), 0.1);
        let values: Vec<f64> = (0..400_000).map(|_| wandering.next()).collect();
        let product = |lag: usize| {
            let pairs = values.iter().zip(&values[lag..]);
            pairs.map(|(one, other)| one * other).sum::<f64>() / (values.len() - lag) as f64
        };
        assert_abs_diff_eq!(product(0), 1.0, epsilon = 0.03);
        assert_abs_diff_eq!(product(10), (-1.0_f64).exp(), epsilon = 0.03);
    }
}
