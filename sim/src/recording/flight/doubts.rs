//! Why nothing is said of a flight's duration and gain.

use super::engine;
use super::event::{Confidence, Event};
use super::evidence::{Evidence, beginnings, extremes};
use super::flown::{self, Flown, is_straight};
use super::gaps::Gap;
use super::known::Known;
use super::stands;

/// In longer gaps, together or one, it may have landed.
const MOST_GAP_S: f64 = 300.0;
/// Heights that near to the ground before or after a gap are near enough to have landed in it.
const NEAR_GROUND_M: f64 = 30.0;
const NEAR_GAP_S: f64 = 30.0;
/// A climb as steady as an engine's: so long, so fast, and no 10 s of it further off the mean.
const ENGINE_FOR_S: usize = 200;
const ENGINE_MPS: f64 = 1.5;
const ENGINE_OFF_MPS: f64 = 0.5;
const ENGINE_OVER_S: usize = 10;

/// Why neither duration nor gain is said to reach anything, between the places `after` and `end`.
pub(super) fn of(known: &Known<'_>, after: usize, end: usize) -> Vec<String> {
    let evidence = known.evidence;
    let gaps_s = lost_s(known);
    let said = [
        release(known.release),
        (!evidence.has_barometer)
            .then(|| "the heights are a satellite receiver's, not a barometer's".to_owned()),
        (flown::of(evidence, known.begin, end) < Flown::Surely).then(|| {
            "it may not be a flight: it does nothing that a car cannot do on a road".to_owned()
        }),
        engine::runs_after(evidence, after, end)
            .then(|| "the engine runs after the launch".to_owned()),
        (evidence.longest_gap_s > MOST_GAP_S)
            .then(|| format!("there is a gap of {:.0} s", evidence.longest_gap_s)),
        (gaps_s > MOST_GAP_S).then(|| format!("there are gaps of {gaps_s:.0} s in all")),
        lands_in_a_gap(known).map(|gap| {
            let lasts_s = gap.to_s - gap.from_s;
            let at = evidence.clock.at(gap.from_s);
            format!("it may have landed and been launched again in a gap of {lasts_s:.0} s at {at}")
        }),
        stands::perhaps(evidence, after, end_aloft(known, end), &grounds_m(known)).map(|place| {
            let at = evidence.clock.at(evidence.time_s(place));
            format!("it may have stood on the ground at {at}")
        }),
        unheard_engine(evidence, after, end).map(|gain_m| {
            format!(
                "a steady straight climb of {gain_m:.0} m may have been under power, and no \
                 engine sensor is recorded"
            )
        }),
    ];
    said.into_iter().flatten().collect()
}

fn release(release: Option<&Event>) -> Option<String> {
    match release {
        None => Some("the release is not in the recording, or not known".to_owned()),
        Some(release) if release.confidence == Confidence::Guess => {
            Some("the release is a guess".to_owned())
        }
        Some(_) => None,
    }
}

/// The time missing from release to landing, s.
pub(super) fn lost_s(known: &Known<'_>) -> f64 {
    let from_s = known.release.map_or(f64::MIN, |event| event.earliest_s);
    let to_s = known.landing.map_or(f64::MAX, |event| event.latest_s);
    let gaps = known.evidence.gaps.iter();
    gaps.filter(|gap| gap.to_s > from_s && gap.from_s < to_s).map(|gap| gap.more_s).sum()
}

/// The place before which it is surely not down from this flight: the earliest of the landing.
fn end_aloft(known: &Known<'_>, end: usize) -> usize {
    let earliest = known.landing.map(|event| event.earliest_s - known.evidence.start_s);
    earliest.map_or(end, |place| (place.max(0.0) as usize).min(end))
}

/// The heights of take-off and landing, m.
fn grounds_m(known: &Known<'_>) -> Vec<f64> {
    [known.take_off, known.landing].into_iter().flatten().map(|event| event.height_m).collect()
}

/// A gap with room for a landing and a launch.
fn lands_in_a_gap<'a>(known: &Known<'a>) -> Option<&'a Gap> {
    let evidence = known.evidence;
    let grounds = grounds_m(known);
    let from_s = known.release.map_or(f64::MIN, |event| event.earliest_s);
    let to_s = known.landing.map_or(f64::MAX, |event| event.earliest_s);
    let place =
        |time_s: f64| ((time_s - evidence.start_s).max(0.0) as usize).min(evidence.len() - 1);
    let above = |from_s: f64, to_s: f64| {
        let lowest = extremes(&evidence.height_m[place(from_s)..=place(to_s)]).0;
        grounds.iter().map(|ground| lowest - ground).fold(f64::MAX, f64::min)
    };
    let hides = |gap: &&Gap| {
        let before_m = above(gap.from_s - NEAR_GAP_S, gap.from_s);
        let after_m = above(gap.to_s, gap.to_s + NEAR_GAP_S);
        before_m.min(after_m) < NEAR_GROUND_M || gap.has_room(before_m, after_m)
    };
    let aloft = |gap: &&Gap| gap.may_hide() && gap.to_s > from_s && gap.from_s < to_s;
    evidence.gaps.iter().filter(aloft).find(hides)
}

/// How much is gained where it climbs straight on as steadily as under power, and nothing listens
/// to an engine.
fn unheard_engine(evidence: &Evidence, after: usize, end: usize) -> Option<f64> {
    if evidence.engine.is_some() || evidence.ground.is_none() {
        return None;
    }
    let is_steady = |place: usize| {
        let mean_mps = evidence.climb_mps(place, place + ENGINE_FOR_S);
        mean_mps >= ENGINE_MPS
            && (place..=place + ENGINE_FOR_S - ENGINE_OVER_S).all(|place| {
                let off_mps = evidence.climb_mps(place, place + ENGINE_OVER_S) - mean_mps;
                off_mps.abs() < ENGINE_OFF_MPS
            })
            && is_straight(evidence, place, place + ENGINE_FOR_S)
    };
    let first = beginnings(after, end, ENGINE_FOR_S).find(|place| is_steady(*place))?;
    let heights = &evidence.height_m;
    Some(heights[first + ENGINE_FOR_S] - heights[first])
}
