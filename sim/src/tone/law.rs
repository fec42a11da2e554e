//! The sound of every vertical speed, and its change in just noticeable steps for each 0.1 m/s.
//!
//! Just noticeable steps: 3 Hz of pitch below 500 Hz and 0.6 % above, where the two meet
//! (Kollmeier, Brand and Meyer 2008, as commonly cited: 3 Hz below 500 Hz, 0.6 % above 1 kHz;
//! between them we take the larger, which is 0.6 %); 5 % of repetition (Frontiers in Psychology
//! 5:1453, 2014).

use super::sweep::{What, heard};
use crate::error::{Error, Result};
use crate::settings_file::Instrument;
use chirrup_core::stages::{Sounder, SounderState};
use chirrup_core::{Settings, Sound};
use serde::Serialize;
use std::fmt::Write;

/// Just noticeable step of pitch at low pitches, in hertz.
const PITCH_STEP_HZ: f64 = 3.0;
/// Just noticeable step of pitch at other pitches, as a share.
const PITCH_STEP: f64 = 0.006;
/// Just noticeable step of repetition, as a share.
const CADENCE_STEP: f64 = 0.05;
/// Spacing of the rows.
pub const STEP_MPS: f64 = 0.1;

/// The tone law of the settings.
#[derive(Clone, Debug, Serialize)]
pub struct Law {
    /// The user's name for the settings.
    pub name: String,
    /// The checked request.
    #[serde(serialize_with = "crate::settings_file::as_json")]
    pub settings: Settings,
    /// One row every 0.1 m/s, or the one requested value.
    pub rows: Vec<LawRow>,
}

/// The sound of one value.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LawRow {
    /// Vertical speed, or netto or speed error in a cruise mode.
    pub value_mps: f64,
    /// `silent`, `beeps`, `steady`, `rising_pair` or `falling_pair`.
    pub sound: &'static str,
    /// Pitch, of a pair its first note's.
    pub pitch_hz: Option<f64>,
    /// Pitch of a pair's second note.
    pub second_hz: Option<f64>,
    /// Beeps or pairs a second.
    pub cadence_hz: Option<f64>,
    /// Length of a beep.
    pub beep_s: Option<f64>,
    /// Amplitude, below full scale.
    pub level_db: Option<f64>,
    /// By how many just noticeable steps pitch differs from the row before, of the same sound.
    pub pitch_steps: Option<f64>,
    /// By how many just noticeable steps repetition differs from the row before, of the same sound.
    pub cadence_steps: Option<f64>,
}

impl Law {
    /// The law of an instrument and the sound of its settings: from -10 to 15 m/s, or at the one
    /// value that is heard.
    pub fn new(instrument: &Instrument, sounder: &Sounder, what: What) -> Self {
        let values: Vec<f64> = match what {
            What::One { value_mps, .. } => vec![value_mps],
            _ => (-100..=150).map(|tenth| f64::from(tenth) / 10.0).collect(),
        };
        let mut rows: Vec<LawRow> = Vec::with_capacity(values.len());
        for value_mps in values {
            let row = LawRow::new(sounder, value_mps);
            let row = rows.last().map_or(row.clone(), |before| row.beside(before));
            rows.push(row);
        }
        Self { name: instrument.name.clone(), settings: instrument.settings.clone(), rows }
    }

    /// The rows as CSV.
    pub fn to_csv(&self) -> String {
        let mut text = String::from(
            "value_mps,sound,pitch_hz,second_hz,cadence_hz,beep_s,level_db,\
             pitch_steps,cadence_steps\n",
        );
        for row in &self.rows {
            let field = |value: Option<f64>, decimals: usize| {
                value.map_or(String::new(), |value| format!("{value:.decimals$}"))
            };
            // Writing to a string cannot fail.
            let _ = writeln!(
                text,
                "{:.1},{},{},{},{},{},{},{},{}",
                row.value_mps,
                row.sound,
                field(row.pitch_hz, 3),
                field(row.second_hz, 3),
                field(row.cadence_hz, 4),
                field(row.beep_s, 4),
                field(row.level_db, 2),
                field(row.pitch_steps, 2),
                field(row.cadence_steps, 2),
            );
        }
        text
    }

    /// The law as JSON.
    ///
    /// # Errors
    /// Never: every figure is a number.
    pub fn to_json(&self) -> Result<String> {
        let text = serde_json::to_string_pretty(self)
            .map_err(|error| Error::Refused(error.to_string()))?;
        Ok(text + "\n")
    }
}

impl LawRow {
    fn new(sounder: &Sounder, value_mps: f64) -> Self {
        let mut state = SounderState::default();
        let sound = sounder.read(&mut state, heard(value_mps));
        let level = sounder.tick(&mut state, false).level;
        let mut row = Self {
            value_mps,
            sound: "silent",
            pitch_hz: None,
            second_hz: None,
            cadence_hz: None,
            beep_s: None,
            level_db: (sound != Sound::Silent && level > 0.0)
                .then(|| 20.0 * f64::from(level).log10()),
            pitch_steps: None,
            cadence_steps: None,
        };
        match sound {
            Sound::Silent | Sound::Fault { .. } => {}
            Sound::Beeps { pitch, cadence, on_fraction } => {
                (row.sound, row.pitch_hz) = ("beeps", Some(f64::from(pitch.0)));
                row.cadence_hz = Some(f64::from(cadence.0));
                row.beep_s = Some(f64::from(on_fraction) / f64::from(cadence.0));
            }
            Sound::Steady { pitch } => {
                (row.sound, row.pitch_hz) = ("steady", Some(f64::from(pitch.0)))
            }
            Sound::Pairs { first, second, cadence } => {
                row.sound = if second.0 > first.0 { "rising_pair" } else { "falling_pair" };
                (row.pitch_hz, row.second_hz) =
                    (Some(f64::from(first.0)), Some(f64::from(second.0)));
                row.cadence_hz = Some(f64::from(cadence.0));
            }
        }
        row
    }

    /// With the just noticeable steps from `before` on.
    fn beside(self, before: &LawRow) -> Self {
        if self.sound != before.sound {
            return self;
        }
        let both = |before: Option<f64>, now: Option<f64>| before.zip(now);
        let pitch_steps = both(before.pitch_hz, self.pitch_hz)
            .map(|(low, high)| (high - low).abs() / PITCH_STEP_HZ.max(PITCH_STEP * low.min(high)));
        let cadence_steps = both(before.cadence_hz, self.cadence_hz)
            .map(|(low, high)| (high - low).abs() / (CADENCE_STEP * low.min(high)));
        Self { pitch_steps, cadence_steps, ..self }
    }
}
