//! What is heard of a minute: a row every tenth of a second, as a table.

use crate::error::{Complaint, Result};
use crate::rough_flight::{Flown, fly, fly_inertial};
use crate::settings_file;
use chirrup_core::{Meaning, PipelineState, Settings};
use chirrup_flight::plan::rough::Rough;
use chirrup_flight::sensors::inertial_settings::InertialSettings;
use serde::{Deserialize, Serialize};
use std::fmt;

/// The flight is `chirrup fly rough-glide --seed 1`.
const SEED: u64 = 1;
/// The minute from 6:00: of the flight's ten whole minutes the one nearest to the mean of them all
/// with the filter of 25 November 2026, climb for 11 s and sink for 21 s.
pub const FROM_S: f64 = 360.0;
/// How long it is.
pub const LASTS_S: f64 = 60.0;
/// From row to row, in microseconds.
const STEP_US: i64 = 100_000;

/// A tenth of a second, as at its end.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Row {
    /// Time in the flight, in s.
    pub time_s: f64,
    /// The reading that sounds, in m/s.
    pub reading_mps: f64,
    /// The true climb, in m/s.
    pub truth_mps: f64,
    /// 1 while climb sounds.
    pub climb_sounds: u8,
    /// 1 while sink sounds.
    pub sink_sounds: u8,
}

/// What is heard; a moment without a reading has no row.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Heard {
    /// In the order of time.
    pub rows: Vec<Row>,
}

/// Flies the minute with the default settings of this program and the pressures alone.
///
/// # Errors
/// A flight that crashes or settings that are wrong, which tests exclude.
pub fn present() -> Result<Heard> {
    hear(fly(Rough::Glide, SEED)?)
}

/// The same minute with an inertial sensor of the common grade, 1.5 degrees askew.
///
/// # Errors
/// As [`present`].
pub fn with_inertial() -> Result<Heard> {
    let inertial = InertialSettings { mounted_deg: [1.0, -1.0, 0.5], ..Default::default() };
    hear(fly_inertial(Rough::Glide, SEED, &inertial, None)?)
}

fn hear(flown: Vec<Flown>) -> Result<Heard> {
    let instrument = settings_file::build("defaults", Settings::default())?;
    let mut state = PipelineState::default();
    let mut rows = Vec::new();
    for moment in flown {
        let reading = instrument.pipeline.step(&mut state, &moment.sample);
        let is_shown = (FROM_S..=FROM_S + LASTS_S).contains(&moment.time_s)
            && moment.sample.time.0 % STEP_US == 0;
        if let Some(values) = reading.values.filter(|_| is_shown) {
            rows.push(Row {
                time_s: moment.time_s,
                reading_mps: f64::from(values.sounded().0),
                truth_mps: moment.truth_mps,
                climb_sounds: u8::from(values.sound.meaning() == Meaning::Climb),
                sink_sounds: u8::from(values.sound.meaning() == Meaning::Sink),
            });
        }
    }
    Ok(Heard { rows })
}

impl Heard {
    /// Reads a table; `name` is its name in complaints.
    ///
    /// # Errors
    /// A line that is no row, or rows that are not those of the minute.
    pub fn read(name: &str, text: &str) -> Result<Self> {
        let complaint = |line: Option<u64>, found: String, expected: &str| Complaint {
            file: name.to_owned(),
            line,
            column: None,
            found,
            expected: expected.to_owned(),
            hint: None,
        };
        let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
        let mut rows: Vec<Row> = Vec::new();
        for row in reader.deserialize() {
            rows.push(row.map_err(|error| {
                let line = error.position().map(csv::Position::line);
                complaint(line, error.to_string(), "numbers under the names of a row")
            })?);
        }
        let ends = rows.first().zip(rows.last()).map(|(first, last)| (first.time_s, last.time_s));
        if ends != Some((FROM_S, FROM_S + LASTS_S)) {
            let found = ends.map_or("no rows".into(), |(from, to)| format!("{from} to {to} s"));
            let expected = format!("rows from {FROM_S} to {} s", FROM_S + LASTS_S);
            return Err(complaint(None, found, &expected).into());
        }
        Ok(Self { rows })
    }

    /// For how long climb and sink sound, in s.
    pub fn sounds_s(&self) -> (f64, f64) {
        let step_s = LASTS_S / self.rows.len().max(1) as f64;
        let sum = |sounds: fn(&Row) -> u8| -> f64 {
            self.rows.iter().map(|row| f64::from(sounds(row)) * step_s).sum()
        };
        (sum(|row| row.climb_sounds), sum(|row| row.sink_sounds))
    }

    /// From when to when something sounds, in s after the start of the minute.
    pub fn stretches_s(&self, sounds: fn(&Row) -> u8) -> Vec<(f64, f64)> {
        let step_s = STEP_US as f64 * 1e-6;
        self.rows
            .chunk_by(|before, after| sounds(before) == sounds(after))
            .filter(|chunk| sounds(&chunk[0]) != 0)
            .map(|chunk| {
                let last_s = chunk[chunk.len() - 1].time_s;
                (chunk[0].time_s - FROM_S, (last_s + step_s - FROM_S).min(LASTS_S))
            })
            .collect()
    }
}

/// As a table, with what made it in the first line.
impl fmt::Display for Heard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "# What the default settings of chirrup {} make of `chirrup fly rough-glide --seed \
             {SEED}`.",
            env!("CARGO_PKG_VERSION")
        )?;
        writeln!(f, "time_s,reading_mps,truth_mps,climb_sounds,sink_sounds")?;
        for row in &self.rows {
            let Row { time_s, reading_mps, truth_mps, climb_sounds, sink_sounds } = row;
            writeln!(
                f,
                "{time_s:.1},{reading_mps:.3},{truth_mps:.3},{climb_sounds},{sink_sounds}"
            )?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_stored_table_is_of_the_minute_that_this_program_flies() {
        let then = Heard::read("then", super::super::tests::THEN).unwrap();
        let now = present().unwrap();
        assert_eq!(then.rows.len(), 601);
        assert_eq!(now.rows.len(), 601);
        for (then, now) in then.rows.iter().zip(&now.rows) {
            assert!((then.time_s - now.time_s).abs() < 1e-6, "{then:?} {now:?}");
            assert!((then.truth_mps - now.truth_mps).abs() < 2e-3, "{then:?} {now:?}");
        }
        // Air that never rises, and less sink than the sink tone begins at: every sound is false.
        let tone = Settings::default().tone;
        let silent_mps = f64::from(tone.sink_from_mps + tone.hysteresis_mps)..0.0;
        assert!(then.rows.iter().all(|row| silent_mps.contains(&row.truth_mps)));
        let (climb_s, sink_s) = then.sounds_s();
        assert!((climb_s - 11.0).abs() < 0.5 && (sink_s - 21.2).abs() < 0.5, "{climb_s} {sink_s}");
    }

    #[test]
    fn a_table_is_read_as_it_was_written_and_a_wrong_one_is_one_line() {
        let now = present().unwrap();
        let read = Heard::read("now", &now.to_string()).unwrap();
        assert_eq!(read.to_string(), now.to_string());
        let names = "time_s,reading_mps,truth_mps,climb_sounds,sink_sounds\n";
        for (rows, part) in [("", "no rows"), ("360,x,0,0,0\n", "x"), ("1,1,1,0,0\n", "1 to 1 s")] {
            let error = Heard::read("t.csv", &format!("{names}{rows}")).unwrap_err().to_string();
            assert!(error.starts_with("t.csv") && error.contains(part), "{error}");
            assert_eq!(error.lines().count(), 1, "{error}");
        }
    }

    #[test]
    fn what_sounds_is_joined() {
        let row = |tenth: u32, climb_sounds: u8| Row {
            time_s: FROM_S + 0.1 * f64::from(tenth),
            reading_mps: 0.0,
            truth_mps: 0.0,
            climb_sounds,
            sink_sounds: 0,
        };
        let sounds = |tenth: u32| u8::from((10..20).contains(&tenth) || tenth >= 590);
        let heard = Heard { rows: (0..=600).map(|tenth| row(tenth, sounds(tenth))).collect() };
        let found = heard.stretches_s(|row| row.climb_sounds);
        let rounded: Vec<(i64, i64)> = found
            .iter()
            .map(|(from_s, to_s)| ((from_s * 1e3).round() as i64, (to_s * 1e3).round() as i64))
            .collect();
        assert_eq!(rounded, [(1000, 2000), (59_000, 60_000)]);
        assert_eq!(heard.stretches_s(|row| row.sink_sounds), []);
    }
}
