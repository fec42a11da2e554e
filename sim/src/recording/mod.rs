//! A whole trace in memory, in order of time, for work that needs it more than once, with the
//! analysis that `inspect`, `tune`, `compare` and `report` share.
//!
//! | module | what it gives |
//! |---|---|
//! | this file | reading a trace to its end |
//! | [`samples`] | the samples, packed: 25 MB for five hours at 50 Hz |
//! | [`track`] | heights and airspeed over time |
//! | [`series`] | values on an even grid: resampled, smoothed, differentiated |
//! | [`energy_fit`] | the compensation and the delay that the recording's own speed changes show |
//! | [`smoother`] | height and vertical speed from the samples before and after |
//! | [`mod@reference`] | how that agrees with the recorder's own vario |
//! | [`truth`] | what the reading should have been |

pub mod energy_fit;
pub mod reference;
pub mod samples;
pub mod series;
pub mod smoother;
pub mod track;
pub mod truth;

use crate::error::{Complaint, Error, Result};
use crate::input::{Input, Opened};
use crate::progress::Progress;
use crate::trace::columns::ColumnMap;
use crate::trace::{self, Item, Position};
use chirrup_core::Sample;
use chirrup_core::stages::Held;
use samples::Samples;
use std::iter;
use std::rc::Rc;
use std::sync::atomic::{AtomicBool, Ordering};

/// A longer time between two samples belongs to no flight (a guess).
const MOST_GAP_S: f64 = 6.0 * 3_600.0;

/// A trace that has been read to its end.
#[derive(Clone, Debug, Default)]
pub struct Recording {
    /// As the user named it.
    pub name: String,
    /// The file without its folder.
    pub title: String,
    /// `csv` or `igc`.
    pub format: &'static str,
    /// Date, where the trace knows.
    pub date: Option<String>,
    /// UTC in seconds after midnight of time zero, where the trace knows.
    pub utc_at_zero_s: Option<f64>,
    /// Samples with a usable static pressure, each later than the one before, with what came
    /// without one since ([`Held`]).
    pub samples: Samples,
    /// Samples without a static pressure.
    pub partial: u64,
    /// All samples as they came, where some have no static pressure; else empty.
    rows: Samples,
    /// Lines and samples that are not among them, by reason.
    pub left_out: LeftOut,
    /// The true climb, its mean since the sample before, m/s, where a simulated trace has
    /// it, else NaN; none after the last that it has.
    pub truth_climb_mps: Vec<f64>,
    /// What the recorder's own vario read at each sample, m/s, NaN where it read nothing; empty
    /// where it never did.
    pub recorded_climb_mps: Vec<f64>,
    /// Where each sample was taken, one a sample; empty where the trace never says.
    pub positions: Vec<Option<Position>>,
    /// The notes of the reader.
    pub notes: Vec<String>,
}

/// What was left out of a recording, and why.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct LeftOut {
    /// Lines without a sample.
    pub unreadable_lines: u64,
    /// Samples whose static pressure is outside the atmosphere.
    pub bad_pressure: u64,
    /// Samples whose time is not after the one before.
    pub out_of_order: u64,
}

impl LeftOut {
    /// How many in all.
    pub fn count(&self) -> u64 {
        self.unreadable_lines + self.bad_pressure + self.out_of_order
    }
}

impl Recording {
    /// Reads all of `input`.
    ///
    /// # Errors
    /// Every error of a replay, and fewer than two samples; [`Error::Interrupted`] when
    /// `interrupted` is raised.
    pub fn read(input: &Input, columns: &ColumnMap, interrupted: &AtomicBool) -> Result<Self> {
        let opened = input.open()?;
        let mut progress = Progress::new(opened.length, Rc::clone(&opened.read));
        Self::read_from(input, opened, columns, (interrupted, &mut || progress.tick()))
    }

    /// Reads all of `input` as [`Recording::read`] does, but shows no progress.
    ///
    /// # Errors
    /// The same.
    pub fn read_unshown(
        input: &Input,
        columns: &ColumnMap,
        interrupted: &AtomicBool,
    ) -> Result<Self> {
        Self::read_from(input, input.open()?, columns, (interrupted, &mut || {}))
    }

    /// Reads all of `input`, which is `opened`, and calls `tick` for every line.
    fn read_from(
        input: &Input,
        opened: Opened,
        columns: &ColumnMap,
        (interrupted, tick): (&AtomicBool, &mut dyn FnMut()),
    ) -> Result<Self> {
        let (name, title) = (input.name(), input.title());
        let mut trace = trace::open(&name, opened.reader, columns)?;
        let (mut held, mut position) = (Held::default(), None);
        let mut recording = Self { name, title, format: trace.format(), ..Self::default() };
        while let Some(item) = trace.next() {
            if interrupted.load(Ordering::Relaxed) {
                return Err(Error::Interrupted);
            }
            tick();
            match item? {
                Item::Skipped(_) => recording.left_out.unreadable_lines += 1,
                Item::Sample { sample, .. } => {
                    let count = recording.samples.len();
                    recording.take(&sample, &mut held, trace.truth().climb_mps);
                    recording.note_recorded(trace.recorded_climb_mps());
                    position = recording.note_position(count, trace.position().or(position));
                }
            }
        }
        recording.date = trace.date();
        recording.utc_at_zero_s = trace.utc_start_s();
        recording.notes = trace.notes();
        recording.samples.shrink_to_fit();
        recording.truth_climb_mps.shrink_to_fit();
        if !recording.positions.is_empty() {
            recording.positions.resize(recording.samples.len(), None);
        }
        recording.positions.shrink_to_fit();
        recording.checked()
    }

    fn take(&mut self, sample: &Sample, held: &mut Held, truth_mps: Option<f64>) {
        if sample.static_pressure.is_none() {
            self.take_partial(sample, held);
        } else if !sample.has_usable_pressure() {
            self.left_out.bad_pressure += 1;
        } else if self.samples.last().is_some_and(|last| sample.time <= last.time) {
            self.left_out.out_of_order += 1;
        } else {
            if self.partial > 0 {
                self.rows.push(*sample);
            }
            self.samples.push(held.fill(sample));
            if let Some(truth_mps) = truth_mps {
                self.truth_climb_mps.resize(self.samples.len() - 1, f64::NAN);
                self.truth_climb_mps.push(truth_mps);
            }
        }
    }

    /// Takes what the recorder read beside the last sample, if that one was used.
    fn note_recorded(&mut self, recorded_mps: Option<f32>) {
        let count = self.samples.len();
        if let Some(recorded_mps) = recorded_mps.filter(|_| count > 0) {
            self.recorded_climb_mps.resize(count, f64::NAN);
            self.recorded_climb_mps[count - 1] = f64::from(recorded_mps);
        }
    }

    /// Takes the position of the last sample, if that one was used and is beyond the first `count`;
    /// else returns it for the next one.
    fn note_position(&mut self, count: usize, position: Option<Position>) -> Option<Position> {
        if self.samples.len() == count {
            return position;
        }
        if position.is_some() {
            self.positions.resize(count, None);
            self.positions.push(position);
        }
        None
    }

    fn take_partial(&mut self, sample: &Sample, held: &mut Held) {
        if self.partial == 0 {
            self.rows.clone_from(&self.samples);
        }
        if self.rows.last().is_some_and(|last| sample.time < last.time) {
            self.left_out.out_of_order += 1;
            return;
        }
        self.partial += 1;
        self.rows.push(*sample);
        held.fill(sample);
    }

    /// All samples in the order in which an instrument takes them, with or without a static
    /// pressure.
    pub fn all(&self) -> &Samples {
        if self.partial > 0 { &self.rows } else { &self.samples }
    }

    fn checked(self) -> Result<Self> {
        if self.samples.len() > 1 {
            return self.without_jump();
        }
        let complaint = Complaint {
            file: self.name,
            line: None,
            column: None,
            found: format!("{} usable samples", self.samples.len()),
            expected: "two or more, each with a static pressure and later than the one before"
                .into(),
            hint: None,
        };
        Err(complaint.into())
    }

    fn without_jump(self) -> Result<Self> {
        let times_s = || self.samples.iter().map(|sample| sample.time.0 as f64 * 1e-6);
        let jump = times_s().zip(times_s().skip(1)).find(|(from, to)| to - from > MOST_GAP_S);
        let Some((from_s, to_s)) = jump else { return Ok(self) };
        let complaint = Complaint {
            file: self.name,
            line: None,
            column: None,
            found: format!("a time that jumps from {from_s:.1} to {to_s:.1} s"),
            expected: "one flight, with at most six hours between two samples".into(),
            hint: Some("a clock was set, or it is several flights; cut it there".into()),
        };
        Err(complaint.into())
    }

    /// The true rates, where nearly every sample has one; the few that are missing are as the one
    /// after.
    pub fn truth(&self) -> Option<Vec<f64>> {
        let there = self.truth_climb_mps.iter().filter(|rate| !rate.is_nan()).count();
        let missing = self.samples.len() - there;
        if missing * 50 > self.samples.len() {
            return None;
        }
        let mut after = 0.0;
        let after_last = self.samples.len() - self.truth_climb_mps.len();
        let all = self.truth_climb_mps.iter().chain(iter::repeat_n(&f64::NAN, after_last));
        let filled = all.rev().map(|rate| {
            after = if rate.is_nan() { after } else { *rate };
            after
        });
        let backwards: Vec<f64> = filled.collect();
        Some(backwards.into_iter().rev().collect())
    }

    /// Times in seconds of the trace.
    pub fn times_s(&self) -> Vec<f64> {
        self.samples.iter().map(|sample| sample.time.0 as f64 * 1e-6).collect()
    }

    /// From the first sample to the last, in seconds.
    pub fn duration_s(&self) -> f64 {
        match (self.samples.first(), self.samples.last()) {
            (Some(first), Some(last)) => last.time.since(first.time).0 as f64 * 1e-6,
            _ => 0.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn positions(text: &'static str) -> (usize, Vec<Option<f64>>) {
        let input = Input::Embedded { name: "log.csv", text };
        let none = AtomicBool::new(false);
        let recording = Recording::read_unshown(&input, &ColumnMap::default(), &none)
            .expect("it is a recording");
        let latitude = |position: &Option<Position>| position.map(|position| position.latitude_deg);
        (recording.samples.len(), recording.positions.iter().map(latitude).collect())
    }

    #[test]
    fn there_is_a_position_for_each_sample_or_none_at_all() {
        assert_eq!(positions("time_s,static_pa\n0,90000\n1,90000\n"), (2, vec![]));
        let nowhere = "time_s,static_pa,lat_deg,lon_deg\n0,90000,,\n1,90000,0,0\n";
        assert_eq!(positions(nowhere), (2, vec![]));
        // The second row has no pressure: its position stands with the next one, which has none.
        let text = "time_s,static_pa,ias_mps,lat_deg,lon_deg\n\
                    0,90000,30,,\n1,,30,48,9\n2,90000,30,,\n3,1,30,49,9\n4,90000,30,50,9\n\
                    5,90000,30,,\n";
        assert_eq!(positions(text), (4, vec![None, Some(48.0), Some(50.0), None]));
    }
}
