//! A trial's flight as it was, for who judges an analysis of it.

use super::circler::Circler;
use super::ear::STEP_S;

/// The glider and the thermal at a moment, in the frame of the air: to fly over the ground, add the
/// wind's way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen {
    /// Time since the beginning, s.
    pub time_s: f64,
    /// Where the glider is, m east and north.
    pub place_m: (f64, f64),
    /// Its height, m.
    pub height_m: f64,
    /// Its speed through the mean air, m/s.
    pub speed_mps: f64,
    /// The level gust from ahead, m/s: what an airspeed reads beside that.
    pub gust_mps: f64,
    /// Where the thermal's middle is, m east and north, for [`super::thermal::Thermal::rise`].
    pub middle_m: (f64, f64),
}

impl Seen {
    pub(super) fn of(step: i64, circler: &Circler, middle_m: (f64, f64), gust_mps: f64) -> Self {
        Self {
            time_s: (step + 1) as f64 * STEP_S,
            place_m: (circler.east_m, circler.north_m),
            height_m: circler.height_m(),
            speed_mps: circler.speed_mps(),
            gust_mps,
            middle_m,
        }
    }
}
