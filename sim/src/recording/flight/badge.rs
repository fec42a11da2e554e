//! What of a flight a badge could rest on: duration, gain and loss of height, from the release.
//!
//! ```text
//! duration   from release to landing; for a claim from the latest that the release, to the
//!            earliest that the landing can be, less the time that is missing in gaps
//! gain       pressure height from a low point to a later high point; for a claim from a low point
//!            after it surely flies free, both held for 10 s, less 10 m and 1 %, since the
//!            barometer is not calibrated; altitudes from satellites, where there are any, must
//!            show it as well, within 30 m
//! loss       pressure height of the release less that of the landing
//! ```
//!
//! Limits: FAI Sporting Code, section 3 (Gliding), chapter 2, as the FAI lists it on its page of
//! gliding badges (undated, it speaks of October 2015) and the British national requirements
//! repeat it (20 November 2024): 5 h from release to landing; 1000, 3000 and 5000 m. The same
//! requirements: on a flight for distance the loss of height is at most 1 % of the distance and
//! 1000 m. That a loss of more than 1000 m spoils a duration too, and the national badges of 2 h,
//! are from memory. The allowances are guesses.

use super::doubts;
use super::engine;
use super::event::{Confidence, Event};
use super::evidence::{Evidence, extremes, mean};
use super::known::Known;
use crate::time::Clock;
use serde::Serialize;

/// Where the limits are from.
pub const SOURCE: &str = "FAI Sporting Code, section 3, chapter 2, as listed in November 2024";
/// Limits of the gain of height, m.
const GAINS: [(&str, f64); 3] = [("Silver", 1000.0), ("Gold", 3000.0), ("Diamond", 5000.0)];
/// Limits of the duration, s.
const HOURS_5_S: f64 = 5.0 * 3600.0;
const HOURS_2_S: f64 = 2.0 * 3600.0;
const MOST_LOSS_M: f64 = 1000.0;
const HELD_S: usize = 10;
const ALLOWANCE_M: f64 = 10.0;
const ALLOWANCE_SHARE: f64 = 0.01;
/// The gain by satellites may be less by this: a cold day, and their error.
const SATELLITES_M: f64 = 30.0;

/// A gain of height.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Gain {
    /// Time of the low point, in seconds of the trace.
    pub from_s: f64,
    /// Time of the high point.
    pub to_s: f64,
    /// Pressure height at the low point, m.
    pub from_m: f64,
    /// Pressure height gained, m.
    pub gain_m: f64,
}

/// A limit that the flight reaches by its figures.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reached {
    /// `duration` or `gain`.
    pub what: &'static str,
    /// The limit: s of duration, m of gain.
    pub limit: f64,
    /// What the flight has at least, in the same unit.
    pub at_least: f64,
    /// In words.
    pub words: String,
}

/// Figures from the release on, and which limits they reach.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Badges {
    /// From release to landing, s; absent where either is not known.
    pub duration_s: Option<f64>,
    /// At least so long, s.
    pub duration_at_least_s: Option<f64>,
    /// The most pressure height gained after the release.
    pub gain: Option<Gain>,
    /// At least so much, m; absent where the launch or the release is not known.
    pub gain_at_least_m: Option<f64>,
    /// Height of the release less that of the landing, m.
    pub loss_m: Option<f64>,
    /// Limits that are reached; never evidence for a badge.
    pub reached: Vec<Reached>,
    /// Why nothing can be said of a limit; empty where something can.
    pub not_known: Vec<String>,
}

impl Badges {
    /// The figures between the places `after` and `end`.
    pub(super) fn of(known: &Known<'_>, after: usize, end: usize) -> Self {
        let evidence = known.evidence;
        let mut badges = Self {
            gain: known.release.and_then(|_| gain(evidence, after, end)),
            duration_at_least_s: duration_at_least_s(known),
            ..Self::default()
        };
        if let (Some(release), Some(landing)) = (known.release, known.landing) {
            badges.duration_s = Some(landing.at_s - release.at_s);
            badges.loss_m = Some(release.height_m - landing.height_m);
        }
        badges.not_known = doubts::of(known, after, end);
        if badges.not_known.is_empty() {
            let sure = known.free.and_then(|free| sure_gain(evidence, free.place, end));
            badges.gain_at_least_m = sure.as_ref().map(|gain| gain.at_least_m);
            if let Some(sure) = sure {
                badges.reach_gain(known, &sure);
            }
            badges.reach_duration(known);
        }
        badges
    }

    fn reach_gain(&mut self, known: &Known<'_>, sure: &SureGain) {
        let at_least = sure.at_least_m;
        for (badge, limit) in GAINS.iter().rev().filter(|(_, limit)| at_least >= *limit) {
            if sure.satellites_m.is_some_and(|gain_m| gain_m < limit - SATELLITES_M) {
                self.not_known.push(format!(
                    "the altitudes from satellites do not show the gain of {limit:.0} m that the \
                     barometer shows"
                ));
                continue;
            }
            let words = format!(
                "a gain of height of {:.0} m or more after the release{}: as much as the {badge} \
                 badge asks for ({limit:.0} m; {SOURCE})",
                at_least.floor(),
                known.unheard()
            );
            self.reached.push(Reached { what: "gain", limit: *limit, at_least, words });
            return;
        }
    }

    fn reach_duration(&mut self, known: &Known<'_>) {
        let is_known = |event: Option<&Event>| {
            event.is_some_and(|event| event.confidence >= Confidence::Likely)
        };
        if !is_known(known.landing) {
            self.not_known.push("the landing is not known: no duration".into());
            return;
        }
        let Some(at_least) = self.duration_at_least_s else { return };
        let lasts = Clock(at_least.floor());
        let unheard = known.unheard();
        let words = if at_least >= HOURS_5_S {
            format!(
                "{lasts} or more from release to landing{unheard}: as much as the Silver and Gold \
                 badges ask for (5 h; {SOURCE})"
            )
        } else if at_least >= HOURS_2_S {
            format!(
                "{lasts} or more from release to landing{unheard}: 2 h, as some national badges \
                 ask for (from memory)"
            )
        } else {
            return;
        };
        if self.loss_m.is_some_and(|loss_m| loss_m > MOST_LOSS_M - ALLOWANCE_M) {
            self.not_known.push(
                "the loss of height from release to landing is more than 1000 m: no duration \
                 (from memory)"
                    .into(),
            );
            return;
        }
        let limit = if at_least >= HOURS_5_S { HOURS_5_S } else { HOURS_2_S };
        self.reached.push(Reached { what: "duration", limit, at_least, words });
    }
}

/// From the latest that the release, to the earliest that the landing can be, less what is
/// missing between, s.
fn duration_at_least_s(known: &Known<'_>) -> Option<f64> {
    let (release, landing) = (known.release?, known.landing?);
    let latest_s = match known.free {
        Some(free) if free.is_towed_on => known.evidence.time_s(free.place),
        _ => release.latest_s,
    };
    Some((landing.earliest_s - latest_s - doubts::lost_s(known)).max(0.0))
}

/// The most height gained from a low point to a later high point without an engine that runs.
pub(super) fn gain(evidence: &Evidence, from: usize, to: usize) -> Option<Gain> {
    let heights = &evidence.height_m;
    let quiet = engine::quiet(evidence, from, to).into_iter();
    let (low, high) = quiet
        .filter_map(|(from, to)| widest(heights, heights, from, to))
        .max_by(|a, b| (heights[a.1] - heights[a.0]).total_cmp(&(heights[b.1] - heights[b.0])))?;
    let from_m = evidence.height_m[low];
    Some(Gain {
        from_s: evidence.time_s(low),
        to_s: evidence.time_s(high),
        from_m,
        gain_m: evidence.height_m[high] - from_m,
    })
}

/// Places of the lowest of `lows` and a later one of `highs` that are furthest apart.
fn widest(lows: &[f64], highs: &[f64], from: usize, to: usize) -> Option<(usize, usize)> {
    let mut lowest = from;
    let mut best: Option<(usize, usize)> = None;
    for place in from..=to {
        if lows[place] < lows[lowest] {
            lowest = place;
        }
        let gain_m = highs[place] - lows[lowest];
        if best.is_none_or(|(low, high)| gain_m > highs[high] - lows[low]) {
            best = Some((lowest, place));
        }
    }
    best.filter(|(low, high)| high > low)
}

/// A gain that is certain by the barometer.
struct SureGain {
    at_least_m: f64,
    /// Gained between the same moments by the altitudes from satellites, m.
    satellites_m: Option<f64>,
}

/// What is gained for certain: both ends held for some time, from a low point in free flight.
fn sure_gain(evidence: &Evidence, from: usize, end: usize) -> Option<SureGain> {
    let heights = evidence.height_m.get(from..=end)?;
    let held = |most: bool| -> Vec<f64> {
        let value = |some: &[f64]| if most { extremes(some).1 } else { extremes(some).0 };
        heights.windows(HELD_S).map(value).collect()
    };
    let (lows, highs) = (held(true), held(false));
    let last = lows.len().checked_sub(1)?;
    let (low, high) = widest(&lows, &highs, 0, last)?;
    let gain_m = highs[high] - lows[low];
    let by_satellites = |altitudes: &Vec<f64>| {
        let about = |place: usize| mean(altitudes, from + place, from + place + HELD_S - 1);
        about(high) - about(low)
    };
    Some(SureGain {
        at_least_m: (gain_m * (1.0 - ALLOWANCE_SHARE) - ALLOWANCE_M).max(0.0),
        satellites_m: evidence.satellites_m.as_ref().map(by_satellites),
    })
}
