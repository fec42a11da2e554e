//! The kind of launch, and its end.

use super::ended::Ended;
use super::event::Confidence;
use super::evidence::Evidence;
use super::winch::NO_TUG_MPS;
use super::{engine, tow, winch};
use serde::Serialize;

/// The fastest climb of a launch is a mean over this, s.
const BEST_OVER_S: usize = 10;

/// A launch.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Launch {
    /// `winch`, `tow` or `engine` (its own).
    pub kind: &'static str,
    /// Pressure height gained from take-off to its end, m.
    pub gain_m: f64,
    /// How long it took, s.
    pub lasts_s: f64,
    /// Fastest climb over 10 s, m/s.
    pub best_climb_mps: f64,
    /// How sure the kind is.
    pub confidence: Confidence,
    /// What it was read from.
    pub why: String,
}

/// The launch from `from` on, at latest ended at `to`; `None` where nothing of the kind shows.
pub(super) fn of(evidence: &Evidence, from: usize, to: usize) -> Option<(Launch, Ended)> {
    let ended = engine::launch(evidence, from, to)
        .or_else(|| winch::launch(evidence, from, to))
        .or_else(|| tow::launch(evidence, from, to).filter(|tow| is_slow(evidence, from, tow)))?;
    let end = ended.place;
    let launch = Launch {
        kind: ended.kind,
        gain_m: evidence.height_m[end] - evidence.height_m[from],
        lasts_s: (end - from) as f64,
        best_climb_mps: best_mps(evidence, from, end),
        confidence: ended.confidence,
        why: ended.why.clone(),
    };
    Some((launch, ended))
}

/// The fastest climb over 10 s.
fn best_mps(evidence: &Evidence, from: usize, end: usize) -> f64 {
    (from..=end.saturating_sub(BEST_OVER_S).max(from))
        .map(|place| evidence.climb_mps(place, (place + BEST_OVER_S).min(evidence.len() - 1)))
        .fold(0.0, f64::max)
}

/// Whether a tug can climb like that.
fn is_slow(evidence: &Evidence, from: usize, tow: &Ended) -> bool {
    best_mps(evidence, from, tow.place) <= NO_TUG_MPS
}
