//! The state of a session at one moment, for the page and the terminal to show.

use chirrup_core::Meaning;

/// How things are at one moment.
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
    /// Rise of the air around the glider, m/s; of a trace netto where it can be known.
    pub air_mps: f64,
    /// The path's angle, rad.
    pub path_rad: f64,
    /// Bank, rad.
    pub bank_rad: f64,
    /// Where in its circle, rad.
    pub heading_rad: f64,
    /// The circle's radius, m; 0 in straight flight.
    pub radius_m: f64,
    /// From the thermal's middle to the circle's, m.
    pub offset_m: f64,
    /// The left ear's instrument.
    pub left: Shown,
    /// The uncompensated one.
    pub right: Shown,
    /// Place of the lesson's caption among its captions; -1 without a lesson.
    pub caption: i32,
    /// How often the flight has begun afresh because the glider had got too low or too high.
    pub restarts: u32,
}

/// What one instrument shows and sounds.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Shown {
    /// The vertical speed that sounds, m/s.
    pub reading_mps: f64,
    /// There is a reading to go by.
    pub good: bool,
    /// Pitch asked for, Hz; 0 in silence.
    pub pitch_hz: f64,
    /// Beeps a second; 0 for a steady tone or silence.
    pub cadence_hz: f64,
    /// The gate is open at this moment.
    pub sounding: bool,
    /// What the sound says.
    pub meaning: Meaning,
    /// What became of the sample: its place in `Status::ALL`.
    pub status: i32,
}
