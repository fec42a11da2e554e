//! Climbs in plain height, and the glides between them.
//!
//! ```text
//! climb     from a low point to a later high point that is followed by 30 m of loss or by 60 s
//!           without a higher one; 40 m and 20 s at least; where there is an airspeed, at least
//!           half of the gain is energy (a pull-up is no climb); 15 m/s on average at most; no
//!           engine that runs for 10 s
//! glide     from the end of a climb, or the release, to the start of the next, or the landing
//! ```
//!
//! The figures are guesses.

use super::engine;
use super::evidence::{Evidence, beginnings};
use serde::Serialize;

const LOST_M: f64 = 30.0;
const PAUSE_S: usize = 60;
const LEAST_M: f64 = 40.0;
const LEAST_S: usize = 20;
/// Faster than this no air climbs.
const MOST_MPS: f64 = 15.0;
const BEST_OVER_S: usize = 30;
/// The climb begins at the last point as low as the lowest.
const AS_LOW_M: f64 = 1.0;

/// A climb after the release, in plain height.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Climb {
    /// When it begins, in seconds of the trace.
    pub from_s: f64,
    /// When it is highest.
    pub to_s: f64,
    /// Pressure height at its begin, m.
    pub from_m: f64,
    /// Pressure height gained, m.
    pub gain_m: f64,
    /// Gain by time, m/s.
    pub mean_mps: f64,
    /// Best mean over 30 s, m/s; absent in a shorter climb.
    pub best_30_s_mps: Option<f64>,
}

/// A glide between two climbs, in plain height.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Glide {
    /// When it begins, in seconds of the trace.
    pub from_s: f64,
    /// When it ends.
    pub to_s: f64,
    /// Pressure height lost, m; negative where it gains.
    pub loss_m: f64,
    /// Loss by time, m/s.
    pub mean_sink_mps: f64,
    /// From its begin straight to its end over the ground, m; absent without positions.
    pub distance_m: Option<f64>,
}

/// The climbs from `from` to `to`, and the glides between.
pub(super) fn of(evidence: &Evidence, from: usize, to: usize) -> (Vec<Climb>, Vec<Glide>) {
    let mut spans = Vec::new();
    let mut begin = from;
    while let Some((low, high, next)) = next_climb(evidence, begin, to) {
        if is_climb(evidence, low, high) {
            spans.push((low, high));
        }
        begin = next;
    }
    let climbs = spans.iter().map(|&(low, high)| climb(evidence, low, high)).collect();
    (climbs, glides(evidence, &spans, (from, to)))
}

/// From the low point to the high point, and where to go on.
fn next_climb(evidence: &Evidence, begin: usize, to: usize) -> Option<(usize, usize, usize)> {
    let heights = &evidence.height_m;
    if begin >= to {
        return None;
    }
    let (mut low, mut high) = (begin, begin);
    for place in begin..=to {
        if heights[place] > heights[high] {
            high = place;
        } else if heights[high] - heights[low] < LEAST_M && heights[place] < heights[low] + AS_LOW_M
        {
            (low, high) = (place, place);
        } else if heights[high] - heights[place] > LOST_M || place - high > PAUSE_S {
            return Some((low, high, high.max(begin + 1)));
        }
    }
    (high > low).then_some((low, high, to))
}

fn is_climb(evidence: &Evidence, low: usize, high: usize) -> bool {
    let gain_m = evidence.height_m[high] - evidence.height_m[low];
    let energy_m = evidence.energy_m(high) - evidence.energy_m(low);
    let is_possible = high >= low + LEAST_S && gain_m <= MOST_MPS * (high - low) as f64;
    gain_m >= LEAST_M
        && is_possible
        && energy_m >= 0.5 * gain_m
        && !engine::runs_within(evidence, low, high)
}

fn climb(evidence: &Evidence, low: usize, high: usize) -> Climb {
    let gain_m = evidence.height_m[high] - evidence.height_m[low];
    let best = beginnings(low, high, BEST_OVER_S)
        .map(|place| evidence.climb_mps(place, place + BEST_OVER_S))
        .reduce(f64::max);
    Climb {
        from_s: evidence.time_s(low),
        to_s: evidence.time_s(high),
        from_m: evidence.height_m[low],
        gain_m,
        mean_mps: gain_m / (high - low) as f64,
        best_30_s_mps: best,
    }
}

fn glides(evidence: &Evidence, climbs: &[(usize, usize)], ends: (usize, usize)) -> Vec<Glide> {
    let starts = std::iter::once(ends.0).chain(climbs.iter().map(|climb| climb.1));
    let stops = climbs.iter().map(|climb| climb.0).chain(std::iter::once(ends.1));
    let glide = |(from, to): (usize, usize)| {
        let loss_m = evidence.height_m[from] - evidence.height_m[to];
        let apart = |place: usize| evidence.ground.as_ref().map(|ground| ground.place_m[place]);
        let distance = apart(from).zip(apart(to));
        Glide {
            from_s: evidence.time_s(from),
            to_s: evidence.time_s(to),
            loss_m,
            mean_sink_mps: loss_m / (to - from) as f64,
            distance_m: distance.map(|(a, b)| (b[0] - a[0]).hypot(b[1] - a[1])),
        }
    };
    starts.zip(stops).filter(|(from, to)| to > from).map(glide).collect()
}
