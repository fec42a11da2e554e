//! A part of the pilot's plan, as written.

use serde::Deserialize;

/// How a leg is flown.
#[derive(Clone, Copy, Debug, Default, Deserialize, Eq, PartialEq)]
#[serde(rename_all = "lowercase")]
pub enum How {
    /// By the stick.
    #[default]
    Fly,
    /// At rest on the ground.
    Wait,
    /// On the winch's cable.
    Winch,
    /// Behind a tug.
    Aerotow,
    /// In a spin.
    Spin,
    /// A loop.
    Loop,
    /// An approach down to a stop on the ground.
    Land,
}

/// A part of the flight.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, expecting = "a table such as [[leg]]")]
pub struct Leg {
    /// The name written in `truth_phase`, one word.
    pub phase: String,
    /// How it is flown. Default `fly`.
    #[serde(default)]
    pub how: How,
    /// It ends after this time, s. 0.1 to 36000.
    pub for_s: Option<f64>,
    /// It ends when this height above the sea is passed, up or down, m.
    pub until_height_m: Option<f64>,
    /// Equivalent airspeed to fly, m/s; default that of the leg before. 10 to 80.
    pub speed_mps: Option<f64>,
    /// Greatest acceleration along the path, m/s2. 0.1 to 9, default 1.
    #[serde(default = "one_mps2")]
    pub acceleration_mps2: f64,
    /// The pilot's greatest load factor in pull-ups, on top of the turn's. 1.05 to 6, default 1.5.
    #[serde(default = "gentle_pull")]
    pub most_load: f64,
    /// The pilot's least load factor in push-overs. -2 to 0.95, default 0.5.
    #[serde(default = "gentle_push")]
    pub least_load: f64,
    /// Bank, degrees, to the right where positive. -75 to 75, default 0.
    #[serde(default)]
    pub bank_deg: f64,
    /// It ends after a turn through this angle, degrees. 1 to 3600.
    pub turn_deg: Option<f64>,
    /// Steers to this heading, degrees clockwise from north. 0 to 360.
    pub heading_deg: Option<f64>,
    /// Steers to this place, corrected for drift, m east and m north, and ends there.
    pub towards_m: Option<[f64; 2]>,
    /// Flies back and forth between these places, corrected for drift, each m east and m north,
    /// until another condition ends the leg.
    pub patrol_m: Option<Vec<[f64; 2]>>,
    /// Flies to the thermal of this name and circles in it.
    pub circle: Option<String>,
    /// Distance of the circle to the north of its core, m. -1000 to 1000, default 0.
    #[serde(default)]
    pub off_centre_m: f64,
    /// How far the airbrakes are out, percent. 0 to 100, default 0.
    #[serde(default)]
    pub airbrake_percent: f64,
    /// Aerotow: how fast the tug climbs, m/s. 0 to 8, default 2.
    #[serde(default = "two")]
    pub climb_mps: f64,
    /// Winch: length of the cable laid out, m. 300 to 3000, default 1000.
    #[serde(default = "thousand")]
    pub cable_m: f64,
    /// Winch: the steepest path, degrees above the horizon. 10 to 60, default 38.
    #[serde(default = "steep")]
    pub climb_deg: f64,
    /// Spin: equivalent airspeed at which its drag carries the weight, m/s. 15 to 50, default 26.
    /// Loop: see `most_load`.
    #[serde(default = "spinning")]
    pub spin_mps: f64,
    /// Spin: time for a turn, s. 1.5 to 10, default 3.5.
    #[serde(default = "spin_turn")]
    pub spin_turn_s: f64,
}

fn one_mps2() -> f64 {
    1.0
}

fn gentle_pull() -> f64 {
    1.5
}

fn gentle_push() -> f64 {
    0.5
}

fn two() -> f64 {
    2.0
}

fn thousand() -> f64 {
    1000.0
}

fn steep() -> f64 {
    38.0
}

fn spinning() -> f64 {
    26.0
}

fn spin_turn() -> f64 {
    3.5
}
