//! The wind by height: slowed by the ground, with the scenario's shear above.
//!
//! ```text
//! below 300 m above the ground   U = U300 ln(1 + h / z0) / ln(1 + 300 m / z0)
//! above                          U = U300 + shear (h - 300 m)
//! ```
//!
//! Source: the logarithmic law of the surface layer (Prandtl; any text on micrometeorology), with
//! 1 + h in place of h so that the air is calm at the ground and there is no pole below the
//! roughness z0.

use super::settings::WindSettings;
use crate::physics::vector::Vector;

/// Above this the ground has no effect.
const FREE_M: f64 = 300.0;

/// The wind.
#[derive(Clone, Copy, Debug)]
pub struct Wind {
    downwind: Vector,
    speed_mps: f64,
    shear_per_s: f64,
    roughness_m: f64,
    ground_m: f64,
}

impl Wind {
    /// The wind over ground of `ground_m` above the sea.
    pub fn new(settings: &WindSettings, ground_m: f64) -> Self {
        Self {
            downwind: -Vector::on_course(settings.from_deg.to_radians()),
            speed_mps: settings.speed_mps,
            shear_per_s: settings.shear_mps_per_km * 1e-3,
            roughness_m: settings.roughness_m,
            ground_m,
        }
    }

    /// The wind at `height_m` above the sea, m/s.
    pub fn at(&self, height_m: f64) -> Vector {
        self.downwind * self.speed(height_m - self.ground_m)
    }

    /// The wind 300 m above the ground, with which thermals drift, m/s.
    pub fn free(&self) -> Vector {
        self.downwind * self.speed_mps
    }

    /// The direction it blows towards, of length 1.
    pub fn downwind(&self) -> Vector {
        self.downwind
    }

    /// Its speed `above_m` above the ground, m/s.
    pub fn speed(&self, above_m: f64) -> f64 {
        if self.speed_mps == 0.0 && self.shear_per_s == 0.0 {
            0.0
        } else if above_m >= FREE_M {
            (self.speed_mps + self.shear_per_s * (above_m - FREE_M)).max(0.0)
        } else {
            let grown = |height_m: f64| libm::log1p(height_m.max(0.0) / self.roughness_m);
            self.speed_mps * grown(above_m) / grown(FREE_M)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn the_ground_slows_the_wind_and_it_grows_aloft() {
        let settings = WindSettings {
            from_deg: 270.0,
            speed_mps: 10.0,
            shear_mps_per_km: 2.0,
            roughness_m: 0.05,
        };
        let wind = Wind::new(&settings, 100.0);
        assert_eq!(wind.at(100.0).east, 0.0);
        assert_abs_diff_eq!(wind.at(400.0).east, 10.0, epsilon = 1e-9);
        assert_abs_diff_eq!(wind.at(1400.0).east, 12.0, epsilon = 1e-9);
        // Two thirds at 15 m: ln 301 / ln 6001.
        assert_abs_diff_eq!(
            wind.at(115.0).east,
            10.0 * 301.0_f64.ln() / 6001.0_f64.ln(),
            epsilon = 1e-9
        );
    }
}
