//! How late a reading is when a thermal is entered, and how often it misses one.

use super::flown::Flown;
use super::heard::Heard;
use super::rise::{EDGE_S, Rise};

/// An entry is missed where the reading is not half-way there this long after the truth.
const MISSED_AFTER_S: f64 = 8.0;
/// The level before an entry is the truth's mean over so long before it.
const BEFORE_S: f64 = 5.0;
/// The glide before an entry is so long at least: a thermal's end is 23 s before the next one.
const GLIDE_S: f64 = 20.0;

/// The entries of a flight.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Entries {
    /// How many there were.
    pub count: u32,
    /// How many were missed.
    pub missed: u32,
    /// At how many the reading was half-way there before the edge began: it cannot be said how late
    /// it was.
    pub early: u32,
    /// The sum of the lags to half-way of the others, in s.
    pub late_s: f64,
}

impl Entries {
    /// Mean lag to half-way of those that were heard; `None` where none was, or where a fifth or
    /// more of the readings were there before the edge began.
    pub fn half_late_s(&self) -> Option<f64> {
        let timed = self.count - self.missed - self.early;
        (timed > 0 && 5 * self.early < self.count).then(|| self.late_s / f64::from(timed))
    }

    /// Share of the entries that were missed, 0 to 1.
    pub fn missed_share(&self) -> f64 {
        f64::from(self.missed) / f64::from(self.count.max(1))
    }

    fn note(&mut self, lag: Lag) {
        self.count += 1;
        match lag {
            Lag::Early => self.early += 1,
            Lag::Missed => self.missed += 1,
            Lag::Late(late_s) => self.late_s += late_s,
        }
    }
}

enum Lag {
    Early,
    Late(f64),
    Missed,
}

/// Looks at every entry of the flight.
pub fn entries(flown: &Flown, heard: &Heard, rise: Rise) -> Entries {
    let until_s = flown.times_s.last().copied().unwrap_or(0.0);
    let mut entries = Entries::default();
    for begins_s in rise.entries(until_s) {
        let step_mps = rise.climb_mps(begins_s + EDGE_S) - rise.climb_mps(begins_s);
        entries.note(lag(flown, heard, begins_s, step_mps));
    }
    entries
}

fn lag(flown: &Flown, heard: &Heard, begins_s: f64, step_mps: f64) -> Lag {
    let place = |time_s: f64| flown.times_s.partition_point(|at_s| *at_s < time_s);
    let before = &flown.truth_mps[place(begins_s - BEFORE_S)..place(begins_s)];
    let level_mps = before.iter().sum::<f64>() / before.len().max(1) as f64;
    let half_mps = level_mps + 0.5 * step_mps;
    let half_s = begins_s + 0.5 * EDGE_S;
    let is_there = |at: &usize| heard.reading_mps[*at].is_some_and(|reading| reading >= half_mps);
    let first = place(begins_s);
    if is_there(&first) {
        return Lag::Early;
    }
    match (first..place(half_s + MISSED_AFTER_S)).find(is_there) {
        Some(there) => Lag::Late(crossing_s(flown, heard, there, half_mps) - half_s),
        None => Lag::Missed,
    }
}

/// Error of the reading against the truth in the glides before the entries, m/s rms; `None` where
/// there is no entry or no reading.
pub fn error_before_mps(flown: &Flown, heard: &Heard, rise: Rise) -> Option<f64> {
    let place = |time_s: f64| flown.times_s.partition_point(|at_s| *at_s < time_s);
    let (mut square, mut count) = (0.0, 0.0);
    for begins_s in rise.entries(flown.times_s.last().copied().unwrap_or(0.0)) {
        for at in place(begins_s - GLIDE_S)..place(begins_s) {
            let Some(reading_mps) = heard.reading_mps[at] else { continue };
            square += (reading_mps - flown.truth_mps[at]).powi(2);
            count += 1.0;
        }
    }
    (count > 0.0).then(|| f64::sqrt(square / count))
}

/// When the reading passed a level between a sample and the one before, in s.
fn crossing_s(flown: &Flown, heard: &Heard, there: usize, level_mps: f64) -> f64 {
    let (from_s, to_s) = (flown.times_s[there - 1], flown.times_s[there]);
    match (heard.reading_mps[there - 1], heard.reading_mps[there]) {
        (Some(before), Some(after)) if after > before => {
            to_s - (to_s - from_s) * (after - level_mps) / (after - before)
        }
        _ => to_s,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use chirrup_core::{Micros, Pascal, Sample};

    const RISE: Rise = Rise::Entries { climb_mps: 2.0, every_s: 40.0 };

    /// Five entries at 50 Hz from a sink of 0.8 m/s, and a reading of them.
    fn found(reading: impl Fn(f64) -> f64) -> Entries {
        let times_s: Vec<f64> = (1..=13_000).map(|step| 0.02 * f64::from(step)).collect();
        let heard = Heard {
            reading_mps: times_s.iter().map(|time_s| Some(reading(*time_s))).collect(),
            ..Heard::default()
        };
        let flown = Flown {
            samples: vec![Sample::of_static(Micros(0), Pascal(9e4)); times_s.len()],
            truth_mps: times_s.iter().map(|time_s| RISE.climb_mps(*time_s) - 0.8).collect(),
            circles: vec![false; times_s.len()],
            times_s,
        };
        entries(&flown, &heard, RISE)
    }

    #[test]
    fn a_reading_that_is_late_is_that_late_and_one_that_stays_away_misses() {
        let late = found(|time_s| RISE.climb_mps(time_s - 0.613) - 0.8);
        assert_eq!((late.count, late.missed, late.early), (5, 0, 0));
        assert_abs_diff_eq!(late.half_late_s().unwrap(), 0.613, epsilon = 1e-6);
        let deaf = found(|_| -0.8);
        assert_eq!((deaf.missed_share(), deaf.half_late_s()), (1.0, None));
        // Half of the way and no more is 0.2 m/s.
        assert_eq!(found(|time_s| 0.48 * RISE.climb_mps(time_s) - 0.8).missed, 5);
        assert_eq!(found(|time_s| 0.52 * RISE.climb_mps(time_s) - 0.8).missed, 0);
    }

    #[test]
    fn the_error_before_the_entries_is_that_of_the_glide_alone() {
        // Wrong by 0.3 m/s for the 20 s before each entry, and by 5 m/s elsewhere.
        let times_s: Vec<f64> = (1..=13_000).map(|step| 0.02 * f64::from(step)).collect();
        let glides = |time_s: f64| (time_s - 40.0).rem_euclid(40.0) < 20.0;
        let wrong = |time_s: &f64| Some(if glides(*time_s) { -0.3 } else { 5.0 });
        let heard = Heard { reading_mps: times_s.iter().map(wrong).collect(), ..Heard::default() };
        let flown = Flown {
            samples: vec![Sample::of_static(Micros(0), Pascal(9e4)); times_s.len()],
            truth_mps: vec![0.0; times_s.len()],
            circles: vec![false; times_s.len()],
            times_s,
        };
        let found = error_before_mps(&flown, &heard, RISE).unwrap();
        assert_abs_diff_eq!(found, 0.3, epsilon = 1e-9);
        assert_eq!(error_before_mps(&flown, &heard, Rise::None), None);
    }

    #[test]
    fn a_reading_that_was_there_before_is_not_called_quick() {
        let always = found(|_| 1.0);
        assert_eq!((always.early, always.half_late_s()), (5, None));
    }
}
