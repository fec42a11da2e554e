//! How rough the specific force, and the climb made of it, are from one sample to the next.

use super::vector::{Vector, dot, minus};
use crate::air::atmosphere::GRAVITY_MPS2;
use crate::units::larger;

/// It is a mean over this time (a guess).
const SPAN_S: f32 = 1.0;
/// Of how single readings lay about their mean, so much remains in the mean: they are mostly
/// vibration, faster than the samples (a guess).
const LEFT_OF_SPREAD: f32 = 0.2;
/// What is so many times rougher than before is so at once, and not after the span (a guess).
const SUDDEN: f32 = 4.0;

/// State of the measurement.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Roughness {
    last: Option<(Vector, f32)>,
    variance: f32,
    climb_variance: f32,
    /// What remains of the spread: its variance, and by how much that is beyond what it was.
    left: f32,
    sudden: f32,
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
            self.sudden = larger(left * left - SUDDEN * self.left, 0.0);
            self.left += (left * left - self.left) * part;
            self.variance += (squared - self.variance) * part;
            self.climb_variance += (0.5 * rise * rise - self.climb_variance) * part;
        }
        self.last = Some((force, climb));
    }

    /// Variance of the three axes of the force together, m2/s4.
    pub(crate) fn variance(&self) -> f32 {
        self.variance
    }

    /// Variance of the climb, m2/s2; `squared` is the airspeed's square, m2/s2.
    ///
    /// A third of a force that is suddenly rough is along the flow, as f . v / g has it.
    pub(crate) fn climb_variance(&self, squared: f32) -> f32 {
        let along = squared * (1.0 / (3.0 * GRAVITY_MPS2 * GRAVITY_MPS2));
        self.climb_variance + along * self.sudden
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    const FORCE: Vector = [0.0, 0.0, -GRAVITY_MPS2];
    const SQUARED: f32 = 900.0;

    #[test]
    fn vibration_that_begins_is_in_the_climb_at_once_and_one_that_lasts_only_as_it_is_felt() {
        let mut roughness = Roughness::default();
        let mut see = |seconds: f32, spread: f32| {
            for _ in 0..(seconds * 50.0) as u32 {
                roughness.see(0.02, FORCE, 0.0, spread);
            }
            roughness.climb_variance(SQUARED)
        };
        assert_abs_diff_eq!(see(10.0, 0.1), 0.0);
        // A fifth of 15 m/s2, a third of its square along the flow, times (30 / g)^2.
        assert_abs_diff_eq!(see(0.03, 15.0), 28.0, epsilon = 0.3);
        // After ln(4 / 3) s it is a quarter of what it lasts as, and no longer sudden.
        assert!(see(0.2, 15.0) > 3.0);
        assert_abs_diff_eq!(see(0.1, 15.0), 0.0);
    }
}
