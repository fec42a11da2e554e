//! Lee waves: lift and sink that stand still over the ground while the wind blows through.
//!
//! ```text
//! w  = W sin(pi z) cos(k x)
//!      z from 0 at the base to 1 at the top, x downwind, k = 2 pi / length
//! u' = -W (pi / depth) / k cos(pi z) sin(k x)     so that what flows in flows out
//! ```
//!
//! Source: the simplest trapped wave, one half-wave deep (any text on mountain meteorology, after
//! Scorer 1949).

use super::settings::WaveSettings;
use super::wind::Wind;
use crate::physics::vector::Vector;
use std::f64::consts::{PI, TAU};

/// A wave in the wind's direction.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wave {
    crest: Vector,
    downwind: Vector,
    strength_mps: f64,
    wave_number: f64,
    base_m: f64,
    depth_m: f64,
}

impl Wave {
    pub fn new(settings: &WaveSettings, wind: &Wind) -> Self {
        Self {
            crest: Vector { east: settings.east_m, north: settings.north_m, up: 0.0 },
            downwind: wind.downwind(),
            strength_mps: settings.strength_mps,
            wave_number: TAU / settings.length_m,
            base_m: settings.base_m,
            depth_m: settings.top_m - settings.base_m,
        }
    }

    /// The air motion that the wave adds to the wind, in m/s.
    pub fn motion(&self, place: Vector) -> Vector {
        let z = (place.up - self.base_m) / self.depth_m;
        if !(0.0..=1.0).contains(&z) {
            return Vector::default();
        }
        let phase = self.wave_number * (place - self.crest).dot(self.downwind);
        let rise = self.strength_mps * libm::sin(PI * z) * libm::cos(phase);
        let ratio = PI / (self.depth_m * self.wave_number);
        self.downwind * (-self.strength_mps * ratio * libm::cos(PI * z) * libm::sin(phase))
            + Vector::UP * rise
    }
}

#[cfg(test)]
mod tests {
    use super::super::settings::WindSettings;
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn what_flows_in_flows_out() {
        let wind = Wind::new(&WindSettings { speed_mps: 15.0, ..WindSettings::default() }, 0.0);
        let settings = WaveSettings {
            east_m: 0.0,
            north_m: 0.0,
            strength_mps: 4.0,
            length_m: 8000.0,
            base_m: 1000.0,
            top_m: 8000.0,
        };
        let wave = Wave::new(&settings, &wind);
        let at = |east: f64, up: f64| wave.motion(Vector { east, north: 0.0, up });
        assert_abs_diff_eq!(at(0.0, 4500.0).up, 4.0, epsilon = 1e-9);
        let divergence = (at(901.0, 3000.0).east - at(899.0, 3000.0).east)
            + (at(900.0, 3001.0).up - at(900.0, 2999.0).up);
        assert_abs_diff_eq!(divergence, 0.0, epsilon = 1e-6);
    }
}
