//! The segments of a replay as they come, for the summary.

use super::Cut;
use crate::replay::Row;
use crate::time::Clock;
use chirrup_core::Status;
use serde::Serialize;
use std::fmt;

/// So many are listed one by one.
const MOST: usize = 100;
/// So many cuts are named in a line for people.
const MOST_IN_WORDS: usize = 4;
/// A clock further from zero than this (eleven days) counts from somewhere else than the flight,
/// such as 1970; its times are given in seconds.
const FAR_FROM_ZERO_S: f64 = 1.0e6;

/// One segment, from its first sample that was used to its last.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Listed {
    /// Time of the first, s of the trace.
    pub from_s: f64,
    /// Time of the last, s of the trace.
    pub to_s: f64,
    /// How many samples were used.
    pub samples: u64,
    /// What separates it from the one before.
    #[serde(skip)]
    pub cut: Option<Cut>,
}

/// The segments of a replay; a segment without a used sample is none.
#[derive(Clone, Debug, Default)]
pub struct List {
    /// The first of them.
    listed: Vec<Listed>,
    count: usize,
    lasts_s: f64,
    now: Option<Listed>,
    cut: Option<Cut>,
}

impl List {
    /// Takes a row.
    pub fn row(&mut self, row: &Row) {
        if row.cut.is_some() {
            self.end();
            self.cut = row.cut;
        }
        let reading = &row.readings.left;
        if reading.values.is_none() || reading.status == Status::Partial {
            return;
        }
        let time_s = reading.time.0 as f64 * 1e-6;
        match &mut self.now {
            Some(now) => (now.to_s, now.samples) = (time_s, now.samples + 1),
            None => {
                let cut = self.cut;
                self.now = Some(Listed { from_s: time_s, to_s: time_s, samples: 1, cut });
            }
        }
    }

    /// The trace is over.
    pub fn end(&mut self) {
        let Some(now) = self.now.take() else { return };
        self.count += 1;
        self.lasts_s += now.to_s - now.from_s;
        if self.listed.len() < MOST {
            self.listed.push(now);
        }
    }

    /// The segments, a hundred at most, where there are more than one; else none.
    pub fn listed(&self) -> Vec<Listed> {
        if self.count > 1 { self.listed.clone() } else { Vec::new() }
    }

    /// How long they last in all, s: without what lies between them.
    pub fn lasts_s(&self) -> f64 {
        self.lasts_s
    }
}

impl fmt::Display for List {
    /// How many and where they are cut; nothing where there is only one.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.count < 2 {
            return Ok(());
        }
        let pairs = self.listed.windows(2).take(MOST_IN_WORDS);
        let cut = |pair: &[Listed]| match pair[1].cut {
            Some(cut) => format!("{} ({cut})", at(pair[0].to_s)),
            None => at(pair[0].to_s),
        };
        let cuts: Vec<String> = pairs.map(cut).collect();
        write!(f, "{} segments, cut at {}", self.count, cuts.join(", "))?;
        match self.count - 1 - cuts.len() {
            0 => Ok(()),
            more => write!(f, " and {more} more times"),
        }
    }
}

/// A time of the trace for people.
fn at(time_s: f64) -> String {
    if time_s.abs() < FAR_FROM_ZERO_S {
        Clock(time_s).to_string()
    } else {
        format!("{time_s:.0} s")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ears::Ears;
    use crate::replay::Replay;
    use chirrup_core::{Micros, Pascal, Sample, Settings};

    fn list_of(times_s: impl IntoIterator<Item = i64>) -> List {
        let pipeline = Settings::default().build().expect("defaults are valid");
        let mut replay = Replay::new(Ears { left: pipeline, right: None });
        let mut list = List::default();
        for (line, time_s) in (1..).zip(times_s) {
            let sample = Sample::of_static(Micros(1_000_000 * time_s), Pascal(9.0e4));
            let row = replay.feed(line, &sample, &mut |_| Ok::<(), ()>(())).expect("it goes on");
            list.row(&row);
        }
        list.end();
        list
    }

    #[test]
    fn segments_are_listed_with_their_cuts_and_only_flown_time_counts() {
        let list = list_of((0..60).chain(72_059..72_159).chain(1_720_000_000..1_720_000_010));
        assert_eq!(list.lasts_s(), 59.0 + 99.0 + 9.0);
        assert_eq!(
            list.to_string(),
            "3 segments, cut at 0:59 (20 h left out), 20:02:38 (55 years left out)"
        );
        let counts: Vec<_> = list.listed().iter().map(|one| one.samples).collect();
        assert_eq!(counts, [60, 100, 10]);
    }

    #[test]
    fn one_segment_is_not_worth_a_word() {
        let list = list_of(0..60);
        assert_eq!((list.to_string(), list.listed().len()), (String::new(), 0));
        assert_eq!(list.lasts_s(), 59.0);
    }

    #[test]
    fn many_cuts_are_counted() {
        let list = list_of((0..500).map(|day| 86_400 * day));
        assert_eq!(list.listed().len(), 100);
        let said = list.to_string();
        assert!(said.starts_with("500 segments, cut at 0:00 (24 h left out), 24:00:00"), "{said}");
        assert!(said.ends_with("(24 h left out) and 495 more times"), "{said}");
    }
}
