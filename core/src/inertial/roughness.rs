//! How rough the specific force, and the climb made of it, are from one sample to the next.

use super::vector::{Vector, dot, minus};
use crate::units::larger;

/// It is a mean over this time (a guess).
const SPAN_S: f32 = 1.0;
/// Of how single readings lay about their mean, so much remains in the mean: they are mostly
/// vibration, faster than the samples (a guess).
const LEFT_OF_SPREAD: f32 = 0.2;

/// State of the measurement.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Roughness {
    last: Option<(Vector, f32)>,
    variance: f32,
    climb_variance: f32,
}

impl Roughness {
    /// Takes the next force, the climb by it, and how single readings of the force lay about it,
    /// where that is known.
    pub(crate) fn see(&mut self, dt_s: f32, force: Vector, climb: f32, spread: f32) {
        if let Some((last, last_climb)) = self.last {
            let (step, rise) = (minus(force, last), climb - last_climb);
            let left = LEFT_OF_SPREAD * spread;
            let squared = larger(0.5 * dot(step, step), left * left);
            let part = dt_s / (SPAN_S + dt_s);
            self.variance += (squared - self.variance) * part;
            self.climb_variance += (0.5 * rise * rise - self.climb_variance) * part;
        }
        self.last = Some((force, climb));
    }

    /// Variance of the three axes of the force together, m2/s4.
    pub(crate) fn variance(&self) -> f32 {
        self.variance
    }

    /// Variance of the climb, m2/s2.
    pub(crate) fn climb_variance(&self) -> f32 {
        self.climb_variance
    }
}
