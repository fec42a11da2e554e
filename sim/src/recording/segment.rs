//! The segments of a recording: all of them, the one that was asked for, or the longest with a
//! flight.

use super::Recording;
use crate::error::{Error, Result};
use chirrup_core::pressure_altitude;

/// A segment whose height changes by less than this is no flight: the pressure of a day in a
/// hangar moves a logger by 30 m (a guess).
const LEAST_FLIGHT_M: f32 = 60.0;
/// The height of a segment is looked at in so many means, so that single wild pressures do not
/// count.
const MEANS: usize = 40;

impl Recording {
    /// The segments of the trace, in order; each is a recording of its own, and there is at least
    /// one.
    pub fn segments(mut self) -> Vec<Self> {
        let mut all = std::mem::take(&mut self.others);
        all.push(self);
        all.sort_by_key(|recording| recording.segment.number);
        all
    }

    /// The segments of the trace in order, among them this one.
    pub fn all_segments(&self) -> impl Iterator<Item = &Self> {
        let (before, after): (Vec<&Self>, Vec<&Self>) =
            self.others.iter().partition(|other| other.segment.number < self.segment.number);
        before.into_iter().chain([self]).chain(after)
    }

    /// The segment with the given number, the first being 1, or the longest with a flight.
    ///
    /// # Errors
    /// There are not so many.
    pub fn segment(self, number: Option<usize>) -> Result<Self> {
        let Some(number) = number else { return Ok(self) };
        let (name, count) = (self.name.clone(), self.segment.of);
        let place = number.checked_sub(1);
        let found = place.and_then(|place| self.segments().into_iter().nth(place));
        found.ok_or_else(|| {
            let segments = if count == 1 { "segment" } else { "segments" };
            Error::Usage(format!("--segment {number}: {name} has {count} {segments}, from 1"))
        })
    }

    /// A line for people where there are several segments: which one this is, and how to choose
    /// another.
    pub fn which(&self) -> Option<String> {
        let segment = self.segment.if_one_of_several()?;
        Some(format!("{}: this is {segment}", self.name))
    }

    /// Of the `segments`, of which there is at least one, the longest with a flight, or the longest
    /// where none has one; it keeps the others.
    pub(super) fn of_segments(mut segments: Vec<Self>) -> Option<Self> {
        let of = segments.len();
        for (place, segment) in segments.iter_mut().enumerate() {
            (segment.segment.number, segment.segment.of) = (place + 1, of);
        }
        let rank = |place: &usize| {
            let one: &Self = &segments[*place];
            (of > 1 && one.has_a_flight(), one.duration_us(), usize::MAX - place)
        };
        let place = (0..of).max_by_key(rank)?;
        let chosen = segments.remove(place);
        Some(Self { others: segments, ..chosen })
    }

    /// Whether its height changes as that of a flight.
    fn has_a_flight(&self) -> bool {
        let count = self.samples.len().div_ceil(MEANS).max(1);
        let (mut lowest, mut highest) = (f32::INFINITY, f32::NEG_INFINITY);
        let (mut sum_m, mut taken) = (0.0, 0);
        let heights_m = self.samples.iter().filter_map(|sample| sample.usable_static_pressure());
        for height_m in heights_m.map(|pressure| pressure_altitude(pressure).0) {
            (sum_m, taken) = (sum_m + height_m, taken + 1);
            if taken == count {
                let mean_m = sum_m / count as f32;
                (lowest, highest) = (lowest.min(mean_m), highest.max(mean_m));
                (sum_m, taken) = (0.0, 0);
            }
        }
        highest - lowest >= LEAST_FLIGHT_M
    }

    pub(super) fn duration_us(&self) -> i64 {
        let first = self.samples.first();
        first.zip(self.samples.last()).map_or(0, |(first, last)| last.time.since(first.time).0)
    }
}
