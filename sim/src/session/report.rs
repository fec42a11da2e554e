//! What a session tells of itself, for whoever draws it.

use super::Session;
use super::lesson::Playing;
use chirrup_core::beep::Voice;
use chirrup_core::pipeline::{Reading, Status};
use chirrup_core::tone::{Meaning, Sound};

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
    /// What became of the sample: its place in [`Status::ALL`].
    pub status: i32,
}

impl Report {
    pub(super) fn of(session: &Session) -> Self {
        let mut report = Report {
            time_s: session.time_s(),
            length_s: session.source.length_s(),
            restarts: session.restarts,
            caption: session.lesson.as_ref().map_or(-1, Playing::caption),
            ..Report::default()
        };
        let Some(row) = &session.row else { return report };
        let voices = session.replay.voices();
        report.left = Shown::of(&row.readings.left, voices.left);
        if let (Some(reading), Some(voice)) = (&row.readings.right, voices.right) {
            report.right = Shown::of(reading, voice);
        }
        match session.source.flown() {
            Some(flight) => {
                let (glider, turn) = (flight.glider(), flight.glider().turn());
                report.height_m = glider.height_m();
                report.speed_mps = glider.indicated_mps();
                report.air_mps = flight.air().rise_mps();
                report.path_rad = glider.path_rad();
                report.bank_rad = glider.bank_rad();
                report.heading_rad = turn.heading_rad;
                report.radius_m = if turn.radius_m.is_finite() { turn.radius_m } else { 0.0 };
                report.offset_m = flight.air().offset_m();
            }
            None => report.draw_on(&row.readings.left),
        }
        report
    }

    /// A trace knows only what its instrument says.
    fn draw_on(&mut self, reading: &Reading) {
        if let Some(values) = &reading.values {
            self.height_m = f64::from(values.altitude.0);
            self.speed_mps = values.true_airspeed.map_or(0.0, |speed| f64::from(speed.0));
            self.air_mps = values.netto.map_or(0.0, |netto| f64::from(netto.air.0));
            if self.speed_mps > 1.0 {
                self.path_rad = libm::asin(
                    (f64::from(values.vertical_speed.0) / self.speed_mps).clamp(-0.7, 0.7),
                );
            }
        }
    }
}

impl Shown {
    fn of(reading: &Reading, voice: Voice) -> Self {
        let status = Status::ALL
            .iter()
            .position(|status| *status == reading.status)
            .map_or(-1, |place| place as i32);
        let Some(values) = &reading.values else {
            // Nothing is known but what is called out.
            let meaning = if voice.gate { voice.meaning } else { Meaning::Nothing };
            return Self { status, meaning, sounding: voice.gate, ..Self::default() };
        };
        let (pitch_hz, cadence_hz) = match values.sound {
            Sound::Beeps { pitch, cadence, .. } => (pitch.0, cadence.0),
            Sound::Steady { pitch } => (pitch.0, 0.0),
            _ => (0.0, 0.0),
        };
        Self {
            reading_mps: f64::from(values.sounded().0),
            good: reading.status.is_good(),
            pitch_hz: f64::from(pitch_hz),
            cadence_hz: f64::from(cadence_hz),
            sounding: voice.gate,
            meaning: values.sound.meaning(),
            status,
        }
    }
}
