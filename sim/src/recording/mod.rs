//! A whole trace in memory, in order of time, for work that needs it more than once, with the
//! analysis that `inspect`, `tune`, `compare` and `report` share.
//!
//! | module | what it gives |
//! |---|---|
//! | this file | what a recording holds |
//! | `reading` | reading a trace to its end, segment by segment |
//! | `segment` | which of its segments is looked at |
//! | [`samples`] | the samples, packed: 25 MB for five hours at 50 Hz |
//! | [`track`] | heights and airspeed over time |
//! | [`series`] | values on an even grid: resampled, smoothed, differentiated |
//! | [`contents`] | what its samples hold and lack |
//! | [`flight`] | take-off, launch, release, landing, climbs, figures for badges |
//! | [`mod@height_source`] | whether the heights are a barometer's |
//! | [`energy_fit`] | the compensation and the delay that the recording's own speed changes show |
//! | [`smoother`] | height and vertical speed from the samples before and after |
//! | [`mod@reference`] | how that agrees with the recorder's own vario |
//! | [`truth`] | what the reading should have been |

pub mod contents;
#[cfg(feature = "program")]
pub mod energy_fit;
pub mod flight;
pub mod height_source;
#[cfg(feature = "program")]
mod reading;
#[cfg(feature = "program")]
pub mod reference;
pub mod samples;
#[cfg(feature = "program")]
mod segment;
pub mod series;
#[cfg(feature = "program")]
pub mod smoother;
pub mod track;
#[cfg(feature = "program")]
pub mod truth;

use crate::segments::Segment;
use crate::time::LocalClock;
use crate::trace::Position;
use crate::words::mostly_left_out;
use samples::Samples;
use std::iter;

/// A trace that has been read to its end, or one of its segments ([`crate::segments`]).
///
/// It never spans a cut: where a trace has several segments, [`Recording::read`] returns the
/// longest with a flight, which knows the others.
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
    /// without one since ([`chirrup_core::stages::Held`]).
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
    /// What the recorder's own vario read without total energy, in the same way.
    pub recorded_vertical_mps: Vec<f64>,
    /// Whether an engine runs at each sample; empty where the trace never says.
    pub engine: Vec<bool>,
    /// Where each sample was taken, one a sample; empty where the trace never says.
    pub positions: Vec<Option<Position>>,
    /// The notes of the reader.
    pub notes: Vec<String>,
    /// Which part of the trace this is.
    pub segment: Segment,
    /// The other segments of the trace, in order.
    others: Vec<Recording>,
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
    /// Samples between two cuts that are too few or too far apart to be a segment.
    #[serde(skip_serializing_if = "is_none")]
    pub alone: u64,
}

fn is_none(count: &u64) -> bool {
    *count == 0
}

impl LeftOut {
    /// Adds what `other` counts.
    fn add(&mut self, other: &Self) {
        self.unreadable_lines += other.unreadable_lines;
        self.bad_pressure += other.bad_pressure;
        self.out_of_order += other.out_of_order;
        self.alone += other.alone;
    }

    /// How many in all.
    pub fn count(&self) -> u64 {
        self.unreadable_lines + self.bad_pressure + self.out_of_order + self.alone
    }
}

impl Recording {
    /// All samples in the order in which an instrument takes them, with or without a static
    /// pressure.
    pub fn all(&self) -> &Samples {
        if self.partial > 0 { &self.rows } else { &self.samples }
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

    /// That half of it or more is left out.
    pub fn caution(&self) -> Option<String> {
        let left_out = self.left_out.count();
        mostly_left_out(left_out, left_out + self.samples.len() as u64 + self.partial, None)
    }

    /// How it was read, for the head of an account: the caution, then the notes of the reader.
    pub fn remarks(&self) -> Vec<String> {
        let caution = self.caution().map(|caution| format!("CAUTION: {caution}"));
        caution.into_iter().chain(self.notes.iter().cloned()).collect()
    }

    /// What the clock shows during it.
    pub fn clock(&self) -> LocalClock {
        let first = self.samples.first().map_or(0, |first| first.time.0);
        LocalClock { utc_at_zero_s: self.utc_at_zero_s, first_s: first as f64 * 1e-6 }
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
