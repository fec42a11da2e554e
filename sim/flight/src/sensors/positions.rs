//! A satellite receiver that gives its position: its error wanders slowly, as that of real ones
//! does while satellites and air move.

use super::noise::Noise;
use crate::physics::moment::Moment;
use crate::physics::motion::TICK_S;
use serde::Deserialize;
use std::f64::consts::PI;

/// The error stays for about so long, s (a guess).
const STAYS_S: f64 = 40.0;
/// Heights are so much less certain than places (common practice, no source).
const OF_HEIGHT: f64 = 1.5;
/// Ellipsoid WGS 84 (NIMA TR8350.2; from memory): equatorial radius in m, and the square of its
/// first eccentricity.
const EQUATOR_M: f64 = 6_378_137.0;
const ECCENTRICITY_2: f64 = 6.694_379_990_14e-3;

/// Positions of a satellite receiver.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(default, deny_unknown_fields, expecting = "a table such as [sensors.positions]")]
pub struct PositionSettings {
    /// Positions a second. 0.1 to 50, default 1.
    pub rate_hz: f64,
    /// Error, m rms to the east and to the north. 0 to 100, default 2 (of receivers that hobbyists
    /// buy, common practice, no source).
    pub error_m: f64,
    /// Latitude of the start, degrees north. -80 to 80, default -35.
    pub latitude_deg: f64,
    /// Longitude of the start, degrees east. -180 to 180, default -20: as the flight, its place is
    /// invented, and there is only the ocean.
    pub longitude_deg: f64,
}

impl Default for PositionSettings {
    fn default() -> Self {
        Self { rate_hz: 1.0, error_m: 2.0, latitude_deg: -35.0, longitude_deg: -20.0 }
    }
}

/// A position as the receiver gives it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fix {
    /// Latitude, degrees north.
    pub latitude_deg: f64,
    /// Longitude, degrees east.
    pub longitude_deg: f64,
    /// Altitude, m.
    pub altitude_m: f64,
}

/// The receiver.
pub(super) struct Positions<'a> {
    settings: &'a PositionSettings,
    noise: Noise,
    /// The error to the east, to the north and up, of standard deviation 1.
    error: [f64; 3],
    fixes: u64,
    newest: Option<Fix>,
}

impl<'a> Positions<'a> {
    pub fn new(settings: &'a PositionSettings, seed: u64) -> Self {
        let mut noise = Noise::new(seed, 12);
        let error = [noise.normal(), noise.normal(), noise.normal()];
        Self { settings, noise, error, fixes: 0, newest: None }
    }

    /// Takes the moment of a tick.
    pub fn take(&mut self, moment: &Moment<'_>) {
        if moment.time_s + 0.5 * TICK_S <= self.fixes as f64 / self.settings.rate_hz {
            return;
        }
        self.fixes += 1;
        let kept = libm::exp(-1.0 / (STAYS_S * self.settings.rate_hz));
        for error in &mut self.error {
            *error = kept * *error + (1.0 - kept * kept).sqrt() * self.noise.normal();
        }
        let [east, north, up] = self.error.map(|error| self.settings.error_m * error);
        let place = moment.place;
        self.newest =
            Some(self.fix(place.east + east, place.north + north, place.up + OF_HEIGHT * up));
    }

    /// The newest position since the last call.
    pub fn read(&mut self) -> Option<Fix> {
        self.newest.take()
    }

    fn fix(&self, east_m: f64, north_m: f64, altitude_m: f64) -> Fix {
        let PositionSettings { latitude_deg, longitude_deg, .. } = *self.settings;
        let latitude = latitude_deg * PI / 180.0;
        let sine = libm::sin(latitude);
        let root = (1.0 - ECCENTRICITY_2 * sine * sine).sqrt();
        let across_m = EQUATOR_M / root * libm::cos(latitude);
        let along_m = EQUATOR_M * (1.0 - ECCENTRICITY_2) / (root * root * root);
        Fix {
            latitude_deg: latitude_deg + north_m / along_m * 180.0 / PI,
            longitude_deg: longitude_deg + east_m / across_m * 180.0 / PI,
            altitude_m,
        }
    }
}
