//! Fills in the report of a session from its flight or trace and its two instruments.

use super::Session;
use super::lesson::Playing;
use super::report::{Report, Shown};
use chirrup_core::{Meaning, Reading, Sound, Status, Voice};

impl Session {
    /// The state at this moment.
    pub fn report(&self) -> Report {
        let mut report = Report {
            time_s: self.time_s(),
            length_s: self.source.length_s(),
            restarts: self.restarts,
            caption: self.lesson.as_ref().map_or(-1, Playing::caption),
            ..Report::default()
        };
        let Some(row) = &self.row else { return report };
        let voices = self.replay.voices();
        report.left = shown(&row.readings.left, voices.left);
        if let (Some(reading), Some(voice)) = (&row.readings.right, voices.right) {
            report.right = shown(reading, voice);
        }
        match self.source.flown() {
            Some(flight) => {
                let (craft, turn) = (flight.craft(), flight.craft().turn());
                report.height_m = craft.height_m();
                report.speed_mps = craft.indicated_mps();
                report.air_mps = flight.air().rise_mps();
                report.path_rad = craft.path_rad();
                report.bank_rad = craft.bank_rad();
                report.heading_rad = turn.heading_rad;
                report.radius_m = if turn.radius_m.is_finite() { turn.radius_m } else { 0.0 };
                report.offset_m = flight.air().offset_m();
            }
            None => from_trace(&mut report, &row.readings.left),
        }
        report
    }
}

/// For a trace only the instrument's own figures are known.
fn from_trace(report: &mut Report, reading: &Reading) {
    let Some(values) = &reading.values else { return };
    report.height_m = f64::from(values.altitude.0);
    report.speed_mps = values.true_airspeed.map_or(0.0, |speed| f64::from(speed.0));
    report.air_mps = values.netto.map_or(0.0, |netto| f64::from(netto.air.0));
    if report.speed_mps > 1.0 {
        let sine = f64::from(values.vertical_speed.0) / report.speed_mps;
        report.path_rad = libm::asin(sine.clamp(-0.7, 0.7));
    }
}

pub(crate) fn shown(reading: &Reading, voice: Voice) -> Shown {
    let status = Status::ALL
        .iter()
        .position(|status| *status == reading.status)
        .map_or(-1, |place| place as i32);
    let Some(values) = &reading.values else {
        // Without a reading only the call sounds.
        let meaning = if voice.gate { voice.meaning } else { Meaning::Nothing };
        return Shown {
            status,
            meaning,
            sounding: voice.gate,
            energy: reading.source,
            ..Shown::default()
        };
    };
    let (pitch_hz, cadence_hz) = match values.sound {
        Sound::Beeps { pitch, cadence, .. } => (pitch.0, cadence.0),
        Sound::Steady { pitch } => (pitch.0, 0.0),
        _ => (0.0, 0.0),
    };
    Shown {
        reading_mps: f64::from(values.sounded().0),
        good: reading.status.is_good(),
        pitch_hz: f64::from(pitch_hz),
        cadence_hz: f64::from(cadence_hz),
        sounding: voice.gate,
        meaning: values.sound.meaning(),
        status,
        energy: reading.source,
    }
}
