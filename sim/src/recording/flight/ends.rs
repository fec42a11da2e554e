//! The moment of take-off and that of landing, from the heights about a stay in the air.
//!
//! ```text
//! take-off   back from the first rise of 15 m within 20 s to the last point as low as the lowest
//!            of those 20 s; without such a rise, where the stay begins
//! landing    back from where it stands or rolls slowly, as long as the height is within 2 m
//! sure       with an airspeed or positions; likely where it stands still for a minute; else a
//!            guess
//! ```

use super::event::{Confidence, Event};
use super::evidence::{Evidence, extremes, mean};
use super::ground::Stay;

const RISE_M: f64 = 15.0;
const RISE_WITHIN_S: usize = 20;
/// Heights that differ by less are the same to a barometer.
const AS_LOW_M: f64 = 1.0;
/// The rise is looked for so long after the last stretch that stays.
const LOOK_FOR_S: usize = 120;
const ROLLS_WITHIN_M: f64 = 2.0;
const ROLLS_FOR_S: usize = 90;
const LONG_STILL_S: usize = 60;
/// Half of the time within which a moment is known, s: a wheel leaves the ground unnoticed.
const WITHIN_S: f64 = 8.0;

/// The place and event of take-off; `None` where the recording begins in the air.
pub(super) fn take_off(evidence: &Evidence, stay: &Stay) -> Option<(usize, Event)> {
    (stay.still_before_s > 0).then(|| {
        let place = leaves(evidence, stay);
        (place, event(evidence, place, stay.still_before_s))
    })
}

/// The place and event of landing; `None` where the recording ends in the air.
pub(super) fn landing(evidence: &Evidence, stay: &Stay) -> Option<(usize, Event)> {
    (stay.still_after_s > 0).then(|| {
        let place = touches(evidence, stay);
        (place, event(evidence, place, stay.still_after_s))
    })
}

fn leaves(evidence: &Evidence, stay: &Stay) -> usize {
    let heights = &evidence.height_m;
    let rises = |place: &usize| {
        heights[*place] - extremes(&heights[place.saturating_sub(RISE_WITHIN_S)..=*place]).0
            > RISE_M
    };
    let until = (stay.from + LOOK_FOR_S).min(stay.to);
    let Some(noticed) = (stay.from..=until).find(rises) else { return stay.from };
    let from = noticed.saturating_sub(RISE_WITHIN_S);
    let lowest = extremes(&heights[from..=noticed]).0;
    (from..=noticed).rev().find(|&place| heights[place] < lowest + AS_LOW_M).unwrap_or(stay.from)
}

fn touches(evidence: &Evidence, stay: &Stay) -> usize {
    let heights = &evidence.height_m;
    let ground_m = mean(heights, stay.to, stay.to + 10);
    let from = stay.to.saturating_sub(ROLLS_FOR_S).max(stay.from);
    (from..=stay.to)
        .rev()
        .take_while(|&place| (heights[place] - ground_m).abs() < ROLLS_WITHIN_M)
        .last()
        .unwrap_or(stay.to)
}

fn event(evidence: &Evidence, place: usize, still_s: usize) -> Event {
    let (confidence, why) = match (&evidence.air_mps, &evidence.ground) {
        (Some(_), _) => (Confidence::Sure, "height and airspeed".into()),
        (None, Some(_)) => (Confidence::Sure, "height and positions".into()),
        (None, None) if still_s >= LONG_STILL_S => {
            (Confidence::Likely, "the height alone, which stays for a minute or more".into())
        }
        (None, None) => {
            (Confidence::Guess, format!("the height alone, which stays for {still_s} s"))
        }
    };
    let at_s = evidence.time_s(place);
    let within_s = WITHIN_S.max(evidence.interval_s);
    Event {
        at_s,
        earliest_s: at_s - within_s,
        latest_s: at_s + within_s,
        height_m: evidence.height_m[place],
        confidence,
        why,
    }
}
