//! What gusts do to the airspeed: the part of the dynamic pressure that wanders at random, where
//! the glider flies, told from the sensor's own white noise by [`super::noise`].
//!
//! ```text
//! u = w / (rho V)        w how far the dynamic pressure rho V^2 / 2 wanders in a second
//! ```
//!
//! Of gusts u rms with the time T along the way it is u sqrt(2 / T) in a second.

use super::noise::Noise;
use crate::recording::track::Track;
use chirrup_core::stages::FLYING_SPEED;
use serde::Serialize;

/// Density of the standard atmosphere at the sea, kg/m3, by definition.
const SEA_LEVEL_DENSITY: f64 = 1.225;

/// Gusts along the path.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Gusts {
    /// How far they move the dynamic pressure within a second, Pa rms.
    pub within_1_s_pa: f64,
    /// The same of the true airspeed, m/s.
    pub within_1_s_mps: f64,
}

impl Gusts {
    /// Of a dynamic pressure, and the speeds of the flight; `None` where it does not fly for most
    /// of the time.
    pub(super) fn of(dynamic: Option<&Noise>, track: &Track) -> Option<Self> {
        let within_1_s_pa = dynamic?.wander?;
        let flown = track.speed_mps.iter().zip(&track.density_ratio);
        let (mut count, mut sum) = (0_usize, 0.0);
        for (speed, ratio) in flown.filter(|(speed, _)| **speed > f64::from(FLYING_SPEED.0)) {
            count += 1;
            sum += SEA_LEVEL_DENSITY / (ratio * ratio) * speed;
        }
        (2 * count > track.speed_mps.len())
            .then(|| Self { within_1_s_pa, within_1_s_mps: within_1_s_pa * count as f64 / sum })
    }
}
