//! Reading a trace to its end, into the segments that [`crate::segments`] cuts it into.

use super::Recording;
use crate::error::{Complaint, Error, Result};
use crate::input::{Input, Opened};
use crate::progress::Progress;
use crate::segments::{Clock, LONGEST_GAP};
use crate::trace::columns::ColumnMap;
use crate::trace::{self, Item, Position, Trace};
use chirrup_core::Sample;
use chirrup_core::stages::Held;
use std::rc::Rc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Fewer samples are no segment: nothing can be said of one.
const FEWEST: usize = 2;
/// Samples that are further apart in the mean are no recording (a guess: the slowest flight logs
/// have one in 20 s). It also bounds what grids over a segment need by its samples.
const SPARSEST_US: i64 = 60_000_000;

impl Recording {
    /// Reads all of `input`; of several segments the longest with a flight, which knows the
    /// others.
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
        let now = Self { name, title, format: trace.format(), ..Self::default() };
        let mut reader = Reader { now, ..Reader::default() };
        while let Some(item) = trace.next() {
            if interrupted.load(Ordering::Relaxed) {
                return Err(Error::Interrupted);
            }
            tick();
            match item? {
                Item::Skipped(_) => reader.now.left_out.unreadable_lines += 1,
                Item::Sample { sample, .. } => reader.sample(&sample, trace.as_ref()),
            }
        }
        reader.finish(trace.as_ref())
    }

    fn take(&mut self, sample: &Sample, held: &mut Held, truth_mps: Option<f64>) {
        if sample.static_pressure.is_none() {
            self.take_partial(sample, held);
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
    fn note_recorded(&mut self, trace: &dyn Trace) {
        let count = self.samples.len();
        if count == 0 {
            return;
        }
        for (values, recorded_mps) in [
            (&mut self.recorded_climb_mps, trace.recorded_climb_mps()),
            (&mut self.recorded_vertical_mps, trace.recorded_vertical_mps()),
        ] {
            if let Some(recorded_mps) = recorded_mps {
                values.resize(count, f64::NAN);
                values[count - 1] = f64::from(recorded_mps);
            }
        }
        if let Some(runs) = trace.engine() {
            // Where it says nothing it says so with all else: nothing runs.
            self.engine.resize(count, false);
            self.engine[count - 1] = runs;
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
}

/// A trace being read.
#[derive(Default)]
struct Reader {
    clock: Clock,
    held: Held,
    /// A position that came without a sample that is used.
    position: Option<Position>,
    cuts: usize,
    /// Segments that are complete.
    done: Vec<Recording>,
    now: Recording,
}

impl Reader {
    fn sample(&mut self, sample: &Sample, trace: &dyn Trace) {
        let position = trace.position().or(self.position);
        if sample.static_pressure.is_some() && !sample.has_usable_pressure() {
            self.now.left_out.bad_pressure += 1;
            self.position = position;
            return;
        }
        let (time, cut) = self.clock.step(sample);
        if cut.is_some() {
            self.cut();
        }
        let (count, sample) = (self.now.samples.len(), Sample { time, ..*sample });
        self.now.take(&sample, &mut self.held, trace.truth().climb_mps);
        self.now.note_recorded(trace);
        self.position = self.now.note_position(count, position);
    }

    /// The next sample begins a new segment.
    fn cut(&mut self) {
        self.cuts += 1;
        self.held = Held::default();
        let next = Recording {
            name: self.now.name.clone(),
            title: self.now.title.clone(),
            format: self.now.format,
            ..Recording::default()
        };
        let mut done = std::mem::replace(&mut self.now, next);
        self.now.segment.cuts_before = self.cuts;
        if done.is_dense() {
            done.shrink();
            self.done.push(done);
        } else {
            // What was left out stays told, with the segment that follows.
            self.now.left_out = done.left_out;
            self.now.left_out.alone += done.samples.len() as u64;
        }
    }

    fn finish(mut self, trace: &dyn Trace) -> Result<Recording> {
        let usable = self.done.iter().chain([&self.now]).map(|one| one.samples.len()).sum();
        let alone = self.now.left_out.alone as usize;
        let name = self.now.name.clone();
        self.now.shrink();
        match self.done.last_mut() {
            Some(last) if !self.now.is_dense() => {
                last.left_out.add(&self.now.left_out);
                last.left_out.alone += self.now.samples.len() as u64;
            }
            _ => self.done.push(self.now),
        }
        self.done.retain(Recording::is_dense);
        let all =
            Recording::of_segments(self.done.into_iter().map(|one| noted(one, trace)).collect());
        all.ok_or_else(|| too_few(name, usable, alone))
    }
}

/// With what the trace knows at its end.
fn noted(segment: Recording, trace: &dyn Trace) -> Recording {
    Recording {
        date: trace.date(),
        utc_at_zero_s: trace.utc_start_s(),
        notes: trace.notes(),
        ..segment
    }
}

impl Recording {
    /// Whether there are enough samples to look at, and not too far apart.
    fn is_dense(&self) -> bool {
        let count = self.samples.len();
        count >= FEWEST && self.duration_us() <= SPARSEST_US.saturating_mul(count as i64)
    }

    fn shrink(&mut self) {
        self.samples.shrink_to_fit();
        self.truth_climb_mps.shrink_to_fit();
        if !self.engine.is_empty() {
            self.engine.resize(self.samples.len(), false);
        }
        self.engine.shrink_to_fit();
        if !self.positions.is_empty() {
            self.positions.resize(self.samples.len(), None);
        }
        self.positions.shrink_to_fit();
    }
}

fn too_few(file: String, usable: usize, alone: usize) -> Error {
    let found = match alone {
        0 if usable >= FEWEST => {
            format!("{usable} usable samples, in the mean more than a minute apart")
        }
        0 => format!("{usable} usable samples"),
        _ => format!(
            "{} usable samples, each more than {} minutes from the next",
            alone + usable,
            LONGEST_GAP.0 / 60_000_000
        ),
    };
    let expected = "two or more, each with a static pressure and later than the one before".into();
    Complaint { file, line: None, column: None, found, expected, hint: None }.into()
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

    fn read(text: String) -> Result<Recording> {
        let input = Input::Embedded { name: "log.csv", text: text.leak() };
        Recording::read_unshown(&input, &ColumnMap::default(), &AtomicBool::new(false))
    }

    /// Rows of one second each, from `from_s` on, that sink from 90000 Pa by `pa` a second.
    fn rows(from_s: i64, count: i64, pa: i64) -> String {
        (0..count).map(|row| format!("{},{}\n", from_s + row, 90_000 + pa * row)).collect()
    }

    #[test]
    fn a_clock_that_jumps_forward_and_back_cuts_and_the_longest_flight_comes_first() {
        let flight = rows(1_700_000_000, 300, 10);
        let text = "time_s,static_pa\n".to_string()
            + &rows(0, 60, 0)
            + "1600000000,90000\n"
            + &flight
            + &rows(50, 400, 0);
        let recording = read(text).expect("it is a recording");
        assert_eq!((recording.segment.number, recording.segment.of), (2, 3));
        assert_eq!(recording.segment.cuts_before, 2);
        assert_eq!((recording.samples.len(), recording.left_out.alone), (300, 1));
        assert!(
            recording.which().is_some_and(|line| line.contains("log.csv: this is segment 2 of 3"))
        );
        let segments = recording.clone().segments();
        let counts: Vec<_> = segments.iter().map(|one| one.samples.len()).collect();
        // Nine samples pass before the clock counts as set back.
        assert_eq!(counts, [60, 300, 391]);
        assert_eq!(segments[1].left_out.out_of_order, 9);
        assert_eq!(recording.clone().segment(Some(3)).expect("there is one").samples.len(), 391);
        let error = recording.segment(Some(4)).expect_err("there are three").to_string();
        assert_eq!(error, "--segment 4: log.csv has 3 segments, from 1");
    }

    #[test]
    fn samples_that_all_stand_alone_are_no_recording() {
        let error = read("time_s,static_pa\n0,90000\n1000,90000\n2000,90000\n".into());
        let error = error.expect_err("there is nothing to look at").to_string();
        assert!(error.contains("3 usable samples, each more than 10 minutes from"), "{error}");
    }

    #[test]
    fn samples_that_are_minutes_apart_are_no_recording() {
        let read_slow = |gap_s: i64| {
            let row = |row| format!("{},90000\n", gap_s * row);
            read("time_s,static_pa\n".to_owned() + &(0..100).map(row).collect::<String>())
        };
        assert_eq!(read_slow(60).expect("it is slow enough").samples.len(), 100);
        let error = read_slow(300).expect_err("it is too slow").to_string();
        assert!(error.contains("100 usable samples, in the mean more than a minute"), "{error}");
    }

    #[test]
    fn one_segment_is_the_whole_recording() {
        let recording = read("time_s,static_pa\n".to_string() + &rows(0, 10, 0));
        let recording = recording.expect("it is a recording");
        assert_eq!(recording.which(), None);
        assert_eq!(recording.segments().len(), 1);
    }
}
