//! From where on a glider surely flies free, whatever the release is read to be.
//!
//! ```text
//! winch      after the latest that its release can be, where that is sure
//! tow        the same, unless it climbs on like a tow (half as fast for 90 s, 0.8 of it for 45 s)
//!            before it circles or loses 100 m: then after the first of the two
//! else       after a loss of 100 m
//! ```
//!
//! A tug levels off or slows down for a while and climbs on. The figures are guesses.

use super::event::{Confidence, Event};
use super::evidence::{Evidence, beginnings};
use super::flown::{CIRCLE_WITHIN_S, GLIDER_MPS, circled};
use super::launch::Launch;

/// After this loss of height it flies free, whatever the launch was.
const FREE_AFTER_M: f64 = 100.0;
/// For how long, and how fast as a share of the tow.
const CLIMBS_ON: [(usize, f64); 2] = [(90, 0.5), (45, 0.8)];

/// Where it surely flies free.
#[derive(Clone, Copy, Debug)]
pub(super) struct Free {
    pub place: usize,
    /// Whether it may have been towed on after what looks like its release.
    pub is_towed_on: bool,
}

/// From where on it is free between the places `after` and `end`; where it may have been towed on,
/// a sure `release` becomes a likely one. `None` where that never shows.
pub(super) fn of(
    evidence: &Evidence,
    launch: Option<&Launch>,
    release: Option<&mut Event>,
    (after, end): (usize, usize),
) -> Option<Free> {
    let (launch, release) = (launch?, release?);
    let latest = (release.latest_s - evidence.start_s).ceil().max(0.0) as usize;
    if latest > end {
        return None;
    }
    let loss = loss(evidence, after, end);
    if launch.kind == "tow" {
        let circle = circled(evidence, latest, end, GLIDER_MPS);
        let shown = loss.into_iter().chain(circle).min();
        let until = shown.map_or(end, |place| place.saturating_sub(CIRCLE_WITHIN_S)).max(latest);
        let tow_mps = launch.gain_m / launch.lasts_s.max(1.0);
        if climbs_on(evidence, latest, until, tow_mps) {
            release.confidence = release.confidence.min(Confidence::Likely);
            // Where it never shows, it may have been towed to the end.
            return Some(Free { place: shown.unwrap_or(end), is_towed_on: true });
        }
    }
    let place = if release.confidence == Confidence::Sure { Some(latest) } else { loss };
    place.map(|place| Free { place, is_towed_on: false })
}

/// Whether it climbs on between the places as a tow would.
fn climbs_on(evidence: &Evidence, from: usize, to: usize, tow_mps: f64) -> bool {
    CLIMBS_ON.iter().any(|&(for_s, share)| {
        beginnings(from, to, for_s)
            .any(|place| evidence.climb_mps(place, place + for_s) >= share * tow_mps)
    })
}

/// The first place that is 100 m below a higher one.
fn loss(evidence: &Evidence, after: usize, end: usize) -> Option<usize> {
    let mut highest_m = f64::MIN;
    (after..=end).find(|&place| {
        highest_m = highest_m.max(evidence.height_m[place]);
        evidence.height_m[place] < highest_m - FREE_AFTER_M
    })
}
