//! A scenario as written by a person: the glider, the day, the air, the pilot's plan and the
//! sensors, with units in the names.
//!
//! Plain data, read by serde; [`super::check`] reports errors in it. Each part belongs to the stage
//! that it sets: the glider and the day to `physics`, the air to `air`, the sensors to `sensors`.

use super::leg::Leg;
use crate::air::settings::{
    RidgeSettings, StreetSettings, ThermalSettings, TurbulenceSettings, WaveSettings, WindSettings,
};
use crate::physics::atmosphere::DaySettings;
use crate::physics::glider::GliderSettings;
use crate::sensors::settings::{FaultSettings, SensorSettings};
use serde::Deserialize;

/// A flight to simulate.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields)]
pub struct Scenario {
    /// What the flight is called.
    pub name: String,
    /// What it shows, in a line or two.
    pub about: String,
    /// Random seed of the flight. Default 1.
    #[serde(default = "one")]
    pub seed: u64,
    /// The glider.
    pub glider: GliderSettings,
    /// Where and how it starts.
    #[serde(default)]
    pub start: StartSettings,
    /// The air at rest.
    #[serde(default)]
    pub day: DaySettings,
    /// The wind.
    #[serde(default)]
    pub wind: WindSettings,
    /// Turbulence; none where the table is absent.
    pub turbulence: Option<TurbulenceSettings>,
    /// Thermals.
    #[serde(default)]
    pub thermal: Vec<ThermalSettings>,
    /// Streets of lift.
    #[serde(default)]
    pub street: Vec<StreetSettings>,
    /// A ridge.
    pub ridge: Option<RidgeSettings>,
    /// A lee wave.
    pub wave: Option<WaveSettings>,
    /// The pilot's legs, in this order.
    pub leg: Vec<Leg>,
    /// The sensors.
    #[serde(default)]
    pub sensors: SensorSettings,
    /// The faults of the sensors.
    #[serde(default)]
    pub fault: Vec<FaultSettings>,
}

fn one() -> u64 {
    1
}

/// Where and how the flight starts.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(default, deny_unknown_fields, expecting = "a table such as [start]")]
pub struct StartSettings {
    /// Height above the sea in m, at least the ground's. Default the ground's: at rest on it.
    pub height_m: Option<f64>,
    /// Height of the ground above the sea in m. -400 to 5000, default 0.
    pub ground_m: f64,
    /// Equivalent airspeed of a start in the air, m/s. 10 to 80, default 28.
    pub speed_mps: f64,
    /// Heading, degrees clockwise from north. 0 to 360, default 0.
    pub heading_deg: f64,
    /// Place east of the origin, m.
    pub east_m: f64,
    /// Place north of the origin, m.
    pub north_m: f64,
}

impl Default for StartSettings {
    fn default() -> Self {
        Self {
            height_m: None,
            ground_m: 0.0,
            speed_mps: 28.0,
            heading_deg: 0.0,
            east_m: 0.0,
            north_m: 0.0,
        }
    }
}
