//! The state of a session at one moment, for the page and the terminal to show.

use chirrup_core::{EnergySource, Meaning};

/// The state at one moment.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Report {
    /// Seconds since the flight or the trace began.
    pub time_s: f64,
    /// Length of the trace, s; 0 in a flight.
    pub length_s: f64,
    /// Height of the flight, or pressure altitude of the trace, m.
    pub height_m: f64,
    /// Indicated airspeed of the flight, true airspeed of the trace where it has one, m/s.
    pub speed_mps: f64,
    /// Vertical speed of the air around the glider, m/s; for a trace, netto where it is known.
    pub air_mps: f64,
    /// The path's angle, rad.
    pub path_rad: f64,
    /// Bank, rad.
    pub bank_rad: f64,
    /// Position in its circle, rad.
    pub heading_rad: f64,
    /// The circle's radius, m; 0 in straight flight.
    pub radius_m: f64,
    /// Distance from the centre of the thermal to that of the circle, m.
    pub offset_m: f64,
    /// The left ear's instrument.
    pub left: Shown,
    /// The uncompensated one.
    pub right: Shown,
    /// Place of the lesson's caption among its captions; -1 without a lesson.
    pub caption: i32,
    /// How often the flight has restarted because the glider was too low or too high.
    pub restarts: u32,
}

/// What one instrument shows and sounds.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Shown {
    /// The vertical speed that sounds, m/s.
    pub reading_mps: f64,
    /// Whether there is a valid reading.
    pub good: bool,
    /// Pitch, Hz; 0 in silence.
    pub pitch_hz: f64,
    /// Beeps a second; 0 for a steady tone or silence.
    pub cadence_hz: f64,
    /// Whether the gate is open at this moment.
    pub sounding: bool,
    /// The meaning of the sound.
    pub meaning: Meaning,
    /// The status of the sample: its place in `Status::ALL`.
    pub status: i32,
    /// The source of total energy in use.
    pub energy: EnergySource,
}
