//! Ridge lift: the wind over a long half-round ridge.
//!
//! The flow of an ideal fluid over a half-cylinder of radius R, across it with speed U, x downwind
//! from its axis, z above the ground:
//!
//! ```text
//! u = U (1 - R^2 (x^2 - z^2) / r^4)        w = -2 U R^2 x z / r^4        r^2 = x^2 + z^2
//! ```
//!
//! Lift upwind, sink in the lee (where a real ridge has rotors instead: nobody should fly there,
//! and no leg of ours does). Source: potential flow about a cylinder, any text on fluid mechanics.
//! U is the wind component across the ridge, 300 m up.

use super::settings::RidgeSettings;
use super::wind::Wind;
use crate::physics::vector::Vector;

/// A ridge in the wind.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ridge {
    crest: Vector,
    /// Across the ridge, downwind.
    across: Vector,
    speed_mps: f64,
    radius_squared: f64,
    ground_m: f64,
}

impl Ridge {
    pub fn new(settings: &RidgeSettings, wind: &Wind, ground_m: f64) -> Self {
        let along = Vector::on_course(settings.course_deg.to_radians());
        let crossing = wind.free().without(along);
        Self {
            crest: Vector { east: settings.east_m, north: settings.north_m, up: 0.0 },
            across: crossing.unit_or(Vector::default()),
            speed_mps: crossing.length(),
            radius_squared: settings.height_m * settings.height_m,
            ground_m,
        }
    }

    /// The air motion that the ridge adds to the wind, in m/s.
    pub fn motion(&self, place: Vector) -> Vector {
        let x = (place - self.crest).dot(self.across);
        let z = place.up - self.ground_m;
        // Inside the ridge there is no air; the value at its surface is used.
        let squared = (x * x + z * z).max(self.radius_squared);
        let strength = self.speed_mps * self.radius_squared / (squared * squared);
        self.across * (strength * (z * z - x * x)) + Vector::UP * (-2.0 * strength * x * z)
    }
}

#[cfg(test)]
mod tests {
    use super::super::settings::WindSettings;
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn the_air_follows_the_ridge_and_nothing_is_lost() {
        let settings = WindSettings { from_deg: 270.0, speed_mps: 10.0, ..WindSettings::default() };
        let wind = Wind::new(&settings, 0.0);
        let ridge = Ridge::new(
            &RidgeSettings { east_m: 0.0, north_m: 0.0, course_deg: 0.0, height_m: 250.0 },
            &wind,
            0.0,
        );
        let flow = |east: f64, up: f64| {
            ridge.motion(Vector { east, north: 300.0, up })
                + Vector { east: 10.0, north: 0.0, up: 0.0 }
        };
        // The flow follows the surface; on the crest it is twice the wind.
        let slope = flow(-150.0, 200.0);
        assert_abs_diff_eq!(
            slope.dot(Vector { east: -0.6, north: 0.0, up: 0.8 }),
            0.0,
            epsilon = 1e-9
        );
        assert_abs_diff_eq!(flow(0.0, 250.0).east, 20.0, epsilon = 1e-9);
        assert!(slope.up > 0.0 && flow(150.0, 200.0).up < 0.0);
        // What flows in flows out: the divergence is zero.
        let divergence = (flow(-299.0, 320.0).east - flow(-301.0, 320.0).east)
            + (flow(-300.0, 321.0).up - flow(-300.0, 319.0).up);
        assert_abs_diff_eq!(divergence, 0.0, epsilon = 1e-6);
    }
}
