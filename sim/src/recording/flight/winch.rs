//! A winch launch: steep from the first seconds, over within a minute and a half, and at its end
//! the climb is gone within seconds.
//!
//! ```text
//! steep   6 m/s or more for 5 s within 40 s of take-off, and on average 5 m/s or more from
//!         the first 2 m/s of climb to the end
//! angle   with an airspeed, or else a speed over the ground: 15 degrees or more, the steepest;
//!         a tug climbs at less than 12 degrees (6 m/s at 30 m/s)
//! end     the first second after the steepest in which the climb over 3 s is below a quarter of
//!         the fastest, and over the next 5 s below 0.18 of it; where lift follows at once, and no
//!         tug climbs so fast, the first from which on it stays below half of the fastest for 10 s
//! ```
//!
//! Winch launches take about 30 s to 300 to 600 m at 10 to 20 m/s, tows climb at 1 to 6 m/s (common
//! practice, no source); the figures of the rules are guesses.

use super::ended::Ended;
use super::event::{Confidence, Event};
use super::evidence::Evidence;

const STEEP_MPS: f64 = 6.0;
const STEEP_FOR_S: usize = 5;
const STEEP_WITHIN_S: usize = 40;
const MEAN_MPS: f64 = 5.0;
const BEGINS_MPS: f64 = 2.0;
const LASTS_S: usize = 90;
const STEEP_RAD: f64 = 0.262;
const OVER: f64 = 0.25;
const STAYS_OVER: f64 = 0.18;
/// Faster than this no tug climbs, whatever the air does (a guess).
pub(super) const NO_TUG_MPS: f64 = 9.0;
const HALF: f64 = 0.5;
const HALF_FOR_S: usize = 10;
const WITHIN_S: f64 = 4.0;
/// The end is less sharp where lift follows.
const WITHIN_LIFT_S: f64 = 8.0;

/// The launch from `from` on; `None` where it is no winch's.
pub(super) fn launch(evidence: &Evidence, from: usize, to: usize) -> Option<Ended> {
    let climb = |place: usize| evidence.climb_mps(place, place + STEEP_FOR_S);
    let until = (from + STEEP_WITHIN_S).min(to);
    let steep = (from..=until).find(|place| climb(*place) >= STEEP_MPS)?;
    let longest = (from + LASTS_S).min(to);
    let fastest = (steep..=longest).map(climb).fold(0.0, f64::max);
    let peak = (steep..=longest).find(|place| climb(*place) >= fastest)?;
    let now = |place: usize| evidence.climb_mps(place.saturating_sub(1), place + 1);
    let is_over =
        |place: &usize| now(*place) < OVER * fastest && climb(*place) < STAYS_OVER * fastest;
    let stays_half =
        |place: &usize| (*place..=place + HALF_FOR_S).all(|place| now(place) < HALF * fastest);
    let found = (peak..=longest).find(is_over);
    let into_lift = || {
        let is_winch = found.is_none() && fastest >= NO_TUG_MPS;
        is_winch.then(|| (peak..=longest).find(stays_half)).flatten()
    };
    let end = found.or_else(into_lift)?;
    let within_s = if found.is_some() { WITHIN_S } else { WITHIN_LIFT_S };
    let begin = (from..=steep).find(|place| now(*place) >= BEGINS_MPS).unwrap_or(from);
    if evidence.climb_mps(begin, end) < MEAN_MPS {
        return None;
    }
    let steepest = steepest_rad(evidence, begin, end);
    if steepest.is_some_and(|angle| angle < STEEP_RAD) {
        return None;
    }
    let is_sure = steepest.is_some() || fastest >= NO_TUG_MPS;
    let confidence = if is_sure { Confidence::Sure } else { Confidence::Guess };
    let at_s = evidence.time_s(end);
    let within_s = within_s + evidence.interval_s;
    Some(Ended {
        kind: "winch",
        confidence,
        why: match steepest {
            Some(angle) => format!("{:.0} degrees at the steepest", angle.to_degrees()),
            None => format!("{fastest:.0} m/s at the fastest"),
        },
        place: end,
        release: Some(Event {
            at_s,
            earliest_s: at_s - within_s,
            latest_s: at_s + within_s,
            height_m: evidence.height_m[end],
            confidence,
            why: "the steep climb ends".into(),
        }),
    })
}

/// The steepest climb over 5 s against the speed along the path.
fn steepest_rad(evidence: &Evidence, from: usize, to: usize) -> Option<f64> {
    let angle = |place: usize| {
        let climb = evidence.climb_mps(place, place + STEEP_FOR_S);
        let middle = (place + STEEP_FOR_S / 2).min(evidence.len() - 1);
        match (&evidence.air_mps, &evidence.ground) {
            (Some(speeds), _) => Some((climb / speeds[middle].max(climb.abs() + 1.0)).asin()),
            (None, Some(ground)) => Some(climb.atan2(ground.speed_mps[middle].max(5.0))),
            (None, None) => None,
        }
    };
    (from..=to).filter_map(angle).reduce(f64::max)
}
