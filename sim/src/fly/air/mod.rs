//! How the air moves: wind, thermals, streets, ridge and wave, at any place and time. Turbulence is
//! apart: it is met along the flight and not laid out in space.

mod bell;
mod hill;
mod lee;
pub mod turbulence;
mod wind;

use super::scenario::{Scenario, ThermalSettings};
use super::vector::Vector;
use bell::{Street, Thermal};
use hill::Ridge;
use lee::Wave;
pub use wind::Wind;

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
    /// The air of a checked scenario.
    pub fn new(scenario: &Scenario) -> Self {
        let ground_m = scenario.start.ground_m;
        let wind = Wind::new(&scenario.wind, ground_m);
        Self {
            thermals: scenario
                .thermal
                .iter()
                .map(|settings| Thermal::new(settings, ground_m))
                .collect(),
            streets: scenario
                .street
                .iter()
                .map(|settings| Street::new(settings, ground_m))
                .collect(),
            ridge: scenario.ridge.as_ref().map(|settings| Ridge::new(settings, &wind, ground_m)),
            wave: scenario.wave.as_ref().map(|settings| Wave::new(settings, &wind)),
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

    /// Where a thermal's core is at `time_s`, by its place in the scenario.
    pub fn core(&self, thermal: &ThermalSettings, time_s: f64) -> Vector {
        Vector { east: thermal.east_m, north: thermal.north_m, up: 0.0 } + self.wind.free() * time_s
    }
}
