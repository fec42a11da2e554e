//! What shows that a stay is a flight and not a drive over a pass.
//!
//! ```text
//! no car can    a whole circle within 40 s at 14 m/s and more on average; an airspeed of 20 m/s
//!               and more for a minute; a climb of 2 m/s and more for 30 s
//! hardly        20 m/s and more over the ground for a minute; a circle at 7 m/s; a climb of 5 m/s
//!               and more for 5 s
//! ```
//!
//! The figures are guesses.

use super::evidence::{Evidence, beginnings, mean};

pub(super) const CIRCLE_WITHIN_S: usize = 40;
const CIRCLE_DEG: f64 = 360.0;
/// A glider circles at this and more, over the ground.
pub(super) const GLIDER_MPS: f64 = 14.0;
const SLOW_CIRCLE_MPS: f64 = 7.0;
const FAST_MPS: f64 = 20.0;
const FAST_FOR_S: usize = 60;
const STEEP_MPS: f64 = 2.0;
const STEEP_FOR_S: usize = 30;
const LAUNCH_MPS: f64 = 5.0;
const LAUNCH_FOR_S: usize = 5;
const TURNS_OVER_S: usize = 10;

/// How surely something has flown.
#[derive(Clone, Copy, Debug, Eq, Ord, PartialEq, PartialOrd)]
pub(super) enum Flown {
    /// A car can do it.
    Perhaps,
    /// A car hardly does it.
    Likely,
    /// No car can do it.
    Surely,
}

/// How surely it flies between the places `from` and `to`.
pub(super) fn of(evidence: &Evidence, from: usize, to: usize) -> Flown {
    let is_fast = |speeds: &[f64]| {
        let to = to.min(speeds.len() - 1);
        let fast = |some: &[f64]| some.iter().all(|speed| *speed >= FAST_MPS);
        speeds[from.min(to)..=to].windows(FAST_FOR_S).any(fast)
    };
    let is_steep = |mps: f64, for_s: usize| {
        beginnings(from, to, for_s).any(|place| evidence.climb_mps(place, place + for_s) >= mps)
    };
    if evidence.air_mps.as_deref().is_some_and(is_fast)
        || is_steep(STEEP_MPS, STEEP_FOR_S)
        || circled(evidence, from, to, GLIDER_MPS).is_some()
    {
        return Flown::Surely;
    }
    let is_likely = evidence.ground.as_ref().is_some_and(|ground| is_fast(&ground.speed_mps))
        || is_steep(LAUNCH_MPS, LAUNCH_FOR_S)
        || circled(evidence, from, to, SLOW_CIRCLE_MPS).is_some();
    if is_likely { Flown::Likely } else { Flown::Perhaps }
}

/// Where the first whole circle, as fast as `least_mps` on average, ends between the places `from`
/// and `to`; no tug flies it.
pub(super) fn circled(
    evidence: &Evidence,
    from: usize,
    to: usize,
    least_mps: f64,
) -> Option<usize> {
    let ground = evidence.ground.as_ref()?;
    let turned = |place: usize, for_s: usize| {
        (ground.course_rad[place + for_s] - ground.course_rad[place]).to_degrees().abs()
    };
    let circles = |place: &usize| {
        turned(*place, CIRCLE_WITHIN_S) >= CIRCLE_DEG
            && mean(&ground.speed_mps, *place, place + CIRCLE_WITHIN_S) >= least_mps
    };
    let place = beginnings(from, to, CIRCLE_WITHIN_S).find(circles)?;
    Some(place + CIRCLE_WITHIN_S)
}

/// Whether it goes straight on between two places: no 10 s that turn by a quarter, and no half turn
/// in all.
pub(super) fn is_straight(evidence: &Evidence, from: usize, to: usize) -> bool {
    evidence.ground.as_ref().is_some_and(|ground| {
        let course = &ground.course_rad[from..=to];
        let quarter = std::f64::consts::FRAC_PI_2;
        let turned = |a: f64, b: f64| (b - a).abs();
        course.windows(TURNS_OVER_S + 1).all(|some| turned(some[0], some[TURNS_OVER_S]) < quarter)
            && turned(course[0], course[course.len() - 1]) < 2.0 * quarter
    })
}
