//! When the glider stands or rolls on the ground, and the stays in the air between.
//!
//! ```text
//! on the ground   a stretch in which the height stays within 2.5 m (8 m where it is a satellite
//!                 receiver's) and the speed is below flying speed: for 10 s with an airspeed or
//!                 positions; at the ends of a recording for 8 s. Without a speed for 30 s, there
//!                 as well, and without a trend of 0.05 m/s or more
//! and             no height of the two minutes before and after is lower by more than 8 m, unless
//!                 it stands below 2 m/s for a minute: a field on a hill
//! and             no second of it is in a gap of more than 10 s
//! flying speed    14 m/s, or half of the fastest 5 s of a slower aircraft, and at least 8 m/s
//! in the air      between two such stretches, with a rise of 15 m or flying speed for 5 s
//! ```
//!
//! A glider in the air always sinks or rises; one on the ground cannot. The figures are guesses.

use super::evidence::{Evidence, beginnings, extremes, mean};
use super::flown::{self, Flown};
use super::stands;
use chirrup_core::stages::{FLYING_SPEED, NO_SPEED};

const STAYS_FOR_S: usize = 10;
const STAYS_UNSEEN_S: usize = 30;
const STAYS_AT_ENDS_S: usize = 8;
/// A slower trend than this of the height is no climb or sink, m/s.
const NO_TREND_MPS: f64 = 0.05;
const LOWER_M: f64 = 8.0;
const LOWER_WITHIN_S: usize = 120;
const RISE_M: f64 = 15.0;
pub(super) const FLYING_FOR_S: usize = 5;
/// No road climbs so high.
const NO_ROAD_M: f64 = 2000.0;
/// Between two flights it stands for longer than an airspeed or height can deceive.
const BETWEEN_S: usize = 20;
const BETWEEN_UNSEEN_S: usize = 60;

/// A stay in the air, by places on the grid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stay {
    /// The last place on the ground before, or the first of the recording.
    pub from: usize,
    /// The first place on the ground after, or the last of the recording.
    pub to: usize,
    /// How long it stands still before, s; 0 where the recording begins in the air.
    pub still_before_s: usize,
    /// How long it stands still after, s; 0 where the recording ends in the air.
    pub still_after_s: usize,
}

/// The stays in the air, in the order of time.
pub(super) fn stays(evidence: &Evidence) -> Vec<Stay> {
    let grounds = grounds(evidence);
    let last = evidence.len() - 1;
    let mut stays = Vec::new();
    let (mut from, mut still_before_s) = (0, 0);
    for (begin, end) in grounds {
        let stay = Stay { from, to: begin, still_before_s, still_after_s: end - begin };
        stays.extend((begin > from && flies(evidence, &stay)).then_some(stay));
        if stays.last().is_none_or(|stay| stay.to <= begin) {
            (from, still_before_s) = (end, end - begin);
        }
    }
    let stay = Stay { from, to: last, still_before_s, still_after_s: 0 };
    stays.extend((last > from && flies(evidence, &stay)).then_some(stay));
    stays
}

/// The airspeed, or speed over the ground, from which on it flies, m/s.
pub(super) fn flying_mps(speeds: &[f64]) -> f64 {
    let slowest = |some: &[f64]| some.iter().fold(f64::MAX, |least, speed| least.min(*speed));
    let fastest = speeds.windows(FLYING_FOR_S).map(slowest).fold(0.0, f64::max);
    (0.5 * fastest).clamp(f64::from(NO_SPEED.0), f64::from(FLYING_SPEED.0))
}

/// Stretches on the ground, each from its first place to its last.
fn grounds(evidence: &Evidence) -> Vec<(usize, usize)> {
    let still = still(evidence);
    let mut found: Vec<(usize, usize)> = Vec::new();
    for place in (0..still.len()).filter(|place| still[*place]) {
        match found.last_mut() {
            Some(stretch) if stretch.1 + 1 == place => stretch.1 = place,
            _ => found.push((place, place)),
        }
    }
    let last = evidence.len() - 1;
    let between = if evidence.speed_mps().is_some() { BETWEEN_S } else { BETWEEN_UNSEEN_S };
    found.retain(|&(begin, end)| {
        let is_at_an_end = begin == 0 || end == last;
        (is_at_an_end || end - begin >= between)
            && (is_lowest(evidence, begin, end) || stands::surely(evidence, begin, end))
    });
    found
}

/// Whether each place is in a stretch that stays.
fn still(evidence: &Evidence) -> Vec<bool> {
    let heights = &evidence.height_m;
    let last = heights.len() - 1;
    let speeds = evidence.speed_mps();
    let flying = speeds.map_or(f64::MAX, flying_mps);
    let is_slow = |from: usize, to: usize| {
        speeds.is_none_or(|speeds| speeds[from..=to].iter().all(|speed| *speed < flying))
    };
    let long = if speeds.is_some() { STAYS_FOR_S } else { STAYS_UNSEEN_S };
    let mut still = vec![false; heights.len()];
    let gaps = evidence.in_gaps();
    let mut mark = |from: usize, to: usize| {
        let stays = evidence.is_level(&gaps, from, to) && is_slow(from, to);
        if stays && (speeds.is_some() || has_no_trend(heights, from, to)) {
            still[from..=to].fill(true);
        }
    };
    beginnings(0, last, long).for_each(|from| mark(from, from + long));
    if last >= STAYS_AT_ENDS_S && speeds.is_some() {
        mark(0, STAYS_AT_ENDS_S);
        mark(last - STAYS_AT_ENDS_S, last);
    }
    still
}

/// Whether the height neither rises nor falls, by the means of the first and last third.
fn has_no_trend(heights: &[f64], from: usize, to: usize) -> bool {
    let third = (to - from) / 3;
    let (first, last) = (mean(heights, from, from + third), mean(heights, to - third, to));
    (last - first).abs() < NO_TREND_MPS * (to - from - third) as f64
}

/// Nothing flies below the ground.
fn is_lowest(evidence: &Evidence, begin: usize, end: usize) -> bool {
    let heights = &evidence.height_m;
    let before = &heights[begin.saturating_sub(LOWER_WITHIN_S)..=begin];
    let after = &heights[end..=(end + LOWER_WITHIN_S).min(heights.len() - 1)];
    let lower = |some: &[f64], than: f64| extremes(some).0 < than - LOWER_M;
    !lower(before, heights[begin]) && !lower(after, heights[end])
}

fn flies(evidence: &Evidence, stay: &Stay) -> bool {
    let (low, high) = extremes(&evidence.height_m[stay.from..=stay.to]);
    // From the ground to the ground on the way that positions show: a car does that too.
    let may_drive = evidence.air_mps.is_none()
        && evidence.ground.is_some()
        && stay.still_before_s > 0
        && stay.still_after_s > 0;
    if may_drive
        && high - low < NO_ROAD_M
        && flown::of(evidence, stay.from, stay.to) == Flown::Perhaps
    {
        return false;
    }
    if high - low > RISE_M {
        return true;
    }
    evidence.air_mps.as_ref().is_some_and(|speeds| {
        let flying = flying_mps(speeds);
        let mut windows = speeds[stay.from..=stay.to].windows(FLYING_FOR_S);
        windows.any(|some| some.iter().all(|speed| *speed > flying))
    })
}
