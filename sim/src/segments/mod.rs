//! Where a recording is cut into segments, each a stretch that was recorded in one go.
//!
//! ```text
//!            dt > LONGEST_GAP            a cut: the logger was off, or its clock was set forward
//!            dt < 0, ten times in a row  a cut: its clock was set back
//!            anything else               the same segment
//! ```
//!
//! A clock that is set back is recognised as the core does: fewer early time stamps in a row are
//! samples out of order, and a clock of 32 bits may wrap, which is no cut. A new date is a longer
//! gap than the longest.

pub mod flown;
pub mod list;

use chirrup_core::{Micros, Sample};
use serde::Serialize;
use std::fmt;

/// A longer time between two samples cuts the recording. The longest gap within the real flights
/// that this was tried with is 8 s; a logger that was off in the air for some minutes must not
/// lose its flight; after ten minutes a glider is somewhere else (a guess).
pub const LONGEST_GAP: Micros = Micros(600_000_000);
/// The sound of a replay goes on for so long at a cut, whatever lies between.
pub const SOUND_AT_A_CUT: Micros = Micros(1_000_000);
/// So many samples back in a row mean that the clock was set back, as in the core.
const BACKWARD_LIMIT: u8 = 10;
/// A clock of 32 bits wraps here, and the first sample after that comes so soon, as in the core.
const WRAP_US: i64 = 1 << 32;
const WRAPPED_WITHIN_US: i64 = 10_000_000;

/// Why a recording was cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cut {
    /// Nothing came for so long.
    Gap(Micros),
    /// The clock was set back by so much.
    SetBack(Micros),
}

impl Cut {
    /// The cut between two samples that are so far apart; `None` where they are not far enough.
    pub fn after(elapsed: Micros) -> Option<Self> {
        (elapsed > LONGEST_GAP).then_some(Cut::Gap(elapsed))
    }
}

impl fmt::Display for Cut {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Cut::Gap(elapsed) => write!(f, "{} left out", Lasting(*elapsed)),
            Cut::SetBack(elapsed) => write!(f, "clock set back by {}", Lasting(*elapsed)),
        }
    }
}

/// A time from seconds to years in its largest unit, as people say it.
struct Lasting(Micros);

impl fmt::Display for Lasting {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const UNITS: [(f64, &str); 5] = [
            (365.25 * 86_400.0, "years"),
            (86_400.0, "days"),
            (3_600.0, "h"),
            (60.0, "min"),
            (1.0, "s"),
        ];
        let seconds = self.0.0 as f64 * 1e-6;
        let fitting = UNITS.iter().find(|(unit_s, _)| seconds >= 2.0 * unit_s);
        let (unit_s, unit) = fitting.unwrap_or(&(1.0, "s"));
        write!(f, "{:.0} {unit}", seconds / unit_s)
    }
}

/// Which part of its trace a recording is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Segment {
    /// Its number, the first being 1.
    pub number: usize,
    /// How many there are.
    pub of: usize,
    /// Cuts before it; more than the segments before it where samples stand alone between two.
    #[serde(skip)]
    pub cuts_before: usize,
}

impl Segment {
    /// Itself, where the trace has several.
    pub fn if_one_of_several(self) -> Option<Self> {
        (self.of > 1).then_some(self)
    }
}

impl fmt::Display for Segment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { number, of, .. } = self;
        write!(f, "segment {number} of {of} (--segment N chooses another)")
    }
}

impl Default for Segment {
    fn default() -> Self {
        Self { number: 1, of: 1, cuts_before: 0 }
    }
}

/// Goes through the samples of a recording in the order of their lines and finds the cuts.
#[derive(Clone, Copy, Debug, Default)]
pub struct Clock {
    last: Option<Micros>,
    last_static: Option<Micros>,
    backward_in_a_row: u8,
    wraps_us: i64,
}

impl Clock {
    /// The time of the next sample, counted on where a clock of 32 bits has wrapped, and whether a
    /// segment begins with it. Samples with an unusable static pressure must not come here: what
    /// corrupted their pressure may have corrupted their time.
    pub fn step(&mut self, sample: &Sample) -> (Micros, Option<Cut>) {
        let time = self.unwrapped(sample.time);
        let cut = match self.last {
            Some(last) => Cut::after(time.since(last)).or_else(|| self.set_back(sample, time)),
            None => None,
        };
        if cut.is_some() || self.backward_in_a_row == 0 {
            self.note(sample, time, cut.is_some());
        }
        (time, cut)
    }

    fn unwrapped(&mut self, time: Micros) -> Micros {
        let time = Micros(time.0.saturating_add(self.wraps_us));
        let since = self.last.map_or(0, |last| time.since(last).0);
        if !(1..WRAPPED_WITHIN_US).contains(&since.saturating_add(WRAP_US)) {
            return time;
        }
        self.wraps_us += WRAP_US;
        Micros(time.0.saturating_add(WRAP_US))
    }

    /// Counts the samples with a static pressure that are earlier than the last one.
    fn set_back(&mut self, sample: &Sample, time: Micros) -> Option<Cut> {
        let last = self.last_static.filter(|_| sample.static_pressure.is_some())?;
        self.backward_in_a_row = if time < last { self.backward_in_a_row + 1 } else { 0 };
        (self.backward_in_a_row >= BACKWARD_LIMIT).then(|| Cut::SetBack(last.since(time)))
    }

    fn note(&mut self, sample: &Sample, time: Micros, is_cut: bool) {
        let latest = self.last.filter(|last| !is_cut && *last > time);
        self.last = latest.or(Some(time));
        if sample.static_pressure.is_some() {
            self.last_static = Some(time);
            self.backward_in_a_row = 0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::Pascal;

    /// The places of the samples, at these times in seconds, with which segments begin.
    fn cuts(times_s: impl IntoIterator<Item = i64>) -> Vec<(usize, Cut)> {
        let mut clock = Clock::default();
        let step = |(place, time_s)| {
            let sample = Sample::of_static(Micros(1_000_000 * time_s), Pascal(9.0e4));
            Some((place, clock.step(&sample).1?))
        };
        times_s.into_iter().enumerate().filter_map(step).collect()
    }

    fn seconds(seconds: i64) -> Micros {
        Micros(1_000_000 * seconds)
    }

    #[test]
    fn a_gap_of_minutes_is_no_cut_and_one_of_hours_is() {
        assert_eq!(cuts([0, 1, 601, 602]), []);
        assert_eq!(cuts([0, 1, 602, 603]), [(2, Cut::Gap(seconds(601)))]);
        let thirty_years = 946_728_000;
        assert_eq!(cuts([0, thirty_years]), [(1, Cut::Gap(seconds(thirty_years)))]);
    }

    #[test]
    fn a_clock_that_is_set_back_cuts_with_the_tenth_sample() {
        let times_s = (1_000..1_010).chain(0..30);
        assert_eq!(cuts(times_s), [(19, Cut::SetBack(seconds(1_000)))]);
        let out_of_order = (1_000..1_010).chain(0..9).chain(1_010..1_100);
        assert_eq!(cuts(out_of_order), []);
    }

    #[test]
    fn a_clock_of_32_bits_counts_on() {
        let mut clock = Clock::default();
        let mut step = |us| clock.step(&Sample::of_static(Micros(us), Pascal(9.0e4)));
        step(WRAP_US - 20_000);
        assert_eq!(step(0), (Micros(WRAP_US), None));
        assert_eq!(step(20_000), (Micros(WRAP_US + 20_000), None));
    }

    #[test]
    fn samples_without_a_static_pressure_carry_a_segment_on_and_count_no_steps_back() {
        let mut clock = Clock::default();
        let partial = |time_s| Sample {
            static_pressure: None,
            ..Sample::of_static(seconds(time_s), Pascal(9.0e4))
        };
        clock.step(&Sample::of_static(seconds(0), Pascal(9.0e4)));
        for minute in 1..30 {
            assert_eq!(clock.step(&partial(60 * minute)).1, None);
            assert_eq!(clock.step(&partial(60 * minute - 1)).1, None);
        }
        let next = Sample::of_static(seconds(1_800), Pascal(9.0e4));
        assert_eq!(clock.step(&next), (seconds(1_800), None));
    }

    #[test]
    fn a_cut_says_how_much_in_its_largest_unit() {
        let said = |time_s| Cut::Gap(seconds(time_s)).to_string();
        assert_eq!(said(72_000), "20 h left out");
        assert_eq!(said(30 * 86_400), "30 days left out");
        assert_eq!(said(946_728_000), "30 years left out");
        let back = Cut::SetBack(seconds(90)).to_string();
        assert_eq!(back, "clock set back by 90 s");
    }
}
