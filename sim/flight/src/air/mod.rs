//! How the air moves: wind, thermals, streets, ridge and wave, at any place and time. Turbulence is
//! separate: it is generated along the flight and not laid out in space.

mod bell;
mod hill;
mod lee;
pub mod settings;
pub mod turbulence;
mod wind;

use crate::physics::vector::Vector;
use bell::{Street, Thermal};
use hill::Ridge;
use lee::Wave;
use settings::{RidgeSettings, StreetSettings, ThermalSettings, WaveSettings, WindSettings};
pub use wind::Wind;

/// The checked sources of air motion.
#[derive(Clone, Copy, Debug)]
pub struct Sources<'a> {
    /// The wind.
    pub wind: &'a WindSettings,
    /// Thermals.
    pub thermals: &'a [ThermalSettings],
    /// Streets of lift.
    pub streets: &'a [StreetSettings],
    /// A ridge.
    pub ridge: Option<&'a RidgeSettings>,
    /// A lee wave.
    pub wave: Option<&'a WaveSettings>,
    /// Height of the ground above the sea, m.
    pub ground_m: f64,
}

/// The smooth part of the air's motion.
#[derive(Clone, Debug)]
pub struct Air {
    wind: Wind,
    thermals: Vec<Thermal>,
    streets: Vec<Street>,
    ridge: Option<Ridge>,
    wave: Option<Wave>,
}

impl Air {
    /// The air moved by these sources.
    pub fn new(sources: &Sources<'_>) -> Self {
        let Sources { wind, thermals, streets, ridge, wave, ground_m } = *sources;
        let wind = Wind::new(wind, ground_m);
        Self {
            thermals: thermals.iter().map(|settings| Thermal::new(settings, ground_m)).collect(),
            streets: streets.iter().map(|settings| Street::new(settings, ground_m)).collect(),
            ridge: ridge.map(|settings| Ridge::new(settings, &wind, ground_m)),
            wave: wave.map(|settings| Wave::new(settings, &wind)),
            wind,
        }
    }

    /// The air's motion at `place` (m, height above the sea) at `time_s`, in m/s.
    pub fn motion(&self, place: Vector, time_s: f64) -> Vector {
        let drifting = place - self.wind.free() * time_s;
        let rise: f64 = self.thermals.iter().map(|thermal| thermal.rise(drifting)).sum();
        let streets: f64 = self.streets.iter().map(|street| street.rise(drifting)).sum();
        let mut motion = self.wind.at(place.up);
        motion.up += rise + streets;
        if let Some(ridge) = &self.ridge {
            motion += ridge.motion(place);
        }
        if let Some(wave) = &self.wave {
            motion += wave.motion(place);
        }
        motion
    }

    /// The wind.
    pub fn wind(&self) -> &Wind {
        &self.wind
    }

    /// Position at `time_s` of the core of a thermal, by its index in the scenario.
    pub fn core(&self, thermal: &ThermalSettings, time_s: f64) -> Vector {
        Vector { east: thermal.east_m, north: thermal.north_m, up: 0.0 } + self.wind.free() * time_s
    }
}
