//! The sound of every vertical speed, and what the ear makes of it: loudness, level above a
//! cockpit's noise, just noticeable steps for each 0.1 m/s.

use super::hearing::masking::Ear;
use super::hearing::{Tone, loudness, steps};
use super::sweep::{What, heard};
use crate::error::{Error, Result};
use crate::settings_file::Instrument;
use chirrup_core::stages::{Sounder, SounderState};
use chirrup_core::{Hertz, Settings, Sound, Voice};
use serde::Serialize;
use std::fmt::Write;

/// Length of a note of a pair.
const PAIR_NOTE_S: f64 = 0.080;
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
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
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
    /// Loudness, where a sine of full scale has 86.6 dB SPL.
    pub loudness_sone: Option<f64>,
    /// Level above the threshold at which the noise of a cockpit hides it.
    pub above_noise_db: Option<f64>,
    /// By how many just noticeable steps pitch differs from the row before, of the same sound, in
    /// quiet.
    pub pitch_steps: Option<f64>,
    /// By how many just noticeable steps cadence differs from the row before, of the same sound.
    pub cadence_steps: Option<f64>,
    /// By how many just noticeable steps the two together differ, in quiet.
    pub steps: Option<f64>,
    /// The same in the noise of a cockpit.
    pub steps_in_noise: Option<f64>,
}

impl Law {
    /// The law of an instrument and the sound of its settings: from -10 to 15 m/s, or at the one
    /// value that is heard.
    pub fn new(instrument: &Instrument, sounder: &Sounder, what: What) -> Self {
        let values: Vec<f64> = match what {
            What::One { value_mps, .. } => vec![value_mps],
            _ => (-100..=150).map(|tenth| f64::from(tenth) / 10.0).collect(),
        };
        let ear = Ear::new(instrument.settings.tone.speaker);
        let mut rows: Vec<LawRow> = Vec::with_capacity(values.len());
        for value_mps in values {
            let row = LawRow::new(sounder, &ear, value_mps);
            let row = rows.last().map_or(row.clone(), |before| row.beside(before));
            rows.push(row);
        }
        Self { name: instrument.name.clone(), settings: instrument.settings.clone(), rows }
    }

    /// The rows as CSV.
    pub fn to_csv(&self) -> String {
        let mut text = String::from(
            "value_mps,sound,pitch_hz,second_hz,cadence_hz,beep_s,level_db,loudness_sone,\
             above_noise_db,pitch_steps,cadence_steps,steps,steps_in_noise\n",
        );
        for row in &self.rows {
            let field = |value: Option<f64>, decimals: usize| {
                value.map_or(String::new(), |value| format!("{value:.decimals$}"))
            };
            // Writing to a string cannot fail.
            let _ = writeln!(
                text,
                "{:.1},{},{},{},{},{},{},{},{},{},{},{},{}",
                row.value_mps,
                row.sound,
                field(row.pitch_hz, 3),
                field(row.second_hz, 3),
                field(row.cadence_hz, 4),
                field(row.beep_s, 4),
                field(row.level_db, 2),
                field(row.loudness_sone, 2),
                field(row.above_noise_db, 2),
                field(row.pitch_steps, 2),
                field(row.cadence_steps, 2),
                field(row.steps, 2),
                field(row.steps_in_noise, 2),
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
    fn new(sounder: &Sounder, ear: &Ear, value_mps: f64) -> Self {
        let mut state = SounderState::default();
        let sound = sounder.read(&mut state, heard(value_mps));
        let row = Self { value_mps, ..Self::of(sound) };
        let voice = sounder.tick(&mut state, false);
        if sound == Sound::Silent || voice.level <= 0.0 { row } else { row.heard(ear, &voice) }
    }

    /// The pitch and the times of a sound.
    fn of(sound: Sound) -> Self {
        let number = |hertz: Hertz| Some(f64::from(hertz.0));
        match sound {
            Sound::Silent | Sound::Fault { .. } => Self { sound: "silent", ..Self::default() },
            Sound::Beeps { pitch, cadence, on_fraction } => Self {
                sound: "beeps",
                pitch_hz: number(pitch),
                cadence_hz: number(cadence),
                beep_s: Some(f64::from(on_fraction) / f64::from(cadence.0)),
                ..Self::default()
            },
            Sound::Steady { pitch } => {
                Self { sound: "steady", pitch_hz: number(pitch), ..Self::default() }
            }
            Sound::Pairs { first, second, cadence } => Self {
                sound: if second.0 > first.0 { "rising_pair" } else { "falling_pair" },
                pitch_hz: number(first),
                second_hz: number(second),
                cadence_hz: number(cadence),
                ..Self::default()
            },
        }
    }

    /// With its level, and what the ear makes of it.
    fn heard(self, ear: &Ear, voice: &Voice) -> Self {
        let level = f64::from(voice.level);
        let level_db = 20.0 * level.log10();
        let pitch_hz = f64::from(voice.pitch.0);
        let note_s = self.beep_s.or(self.cadence_hz.map(|_| PAIR_NOTE_S));
        let note = note_s.zip(self.cadence_hz.map(|cadence_hz| 1.0 / cadence_hz));
        let harmonics = voice.timbre.harmonics(voice.pitch).map(|share| level * f64::from(share));
        Self {
            level_db: Some(level_db),
            loudness_sone: Some(loudness::sone(
                (voice.timbre, ear.speaker()),
                pitch_hz,
                note,
                level_db,
            )),
            above_noise_db: Some(ear.above_noise_db(&Tone { pitch_hz, harmonics, note_s })),
            ..self
        }
    }

    /// With the just noticeable steps from `before` on.
    fn beside(self, before: &LawRow) -> Self {
        if self.sound != before.sound {
            return self;
        }
        let apart = |before: Option<f64>, now: Option<f64>| {
            before.zip(now).map(|(before, now)| (now / before).ln().abs())
        };
        let note_s = before.beep_s.unwrap_or(f64::INFINITY);
        let pitch = apart(before.pitch_hz, self.pitch_hz);
        let pitch_steps = pitch.map(|apart| apart / steps::pitch_step(note_s, f64::INFINITY));
        let in_noise = pitch
            .zip(before.above_noise_db)
            .map(|(apart, db)| apart / steps::pitch_step(note_s, db));
        let cadence_steps = apart(before.cadence_hz, self.cadence_hz)
            .zip(before.cadence_hz)
            .map(|(apart, hz)| apart / steps::cadence_step(hz));
        let with_cadence = |pitch: f64| steps::together(pitch, cadence_steps.unwrap_or(0.0));
        Self {
            pitch_steps,
            cadence_steps,
            steps: pitch_steps.map(with_cadence),
            steps_in_noise: in_noise.map(with_cadence),
            ..self
        }
    }
}
