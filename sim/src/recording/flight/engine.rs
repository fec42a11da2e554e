//! A launch by the glider's own engine, from the noise or the turns that the recorder writes.

use super::ended::Ended;
use super::event::{Confidence, Event};
use super::evidence::Evidence;

/// It runs within so long after take-off, and so long at least, s.
const RUNS_WITHIN_S: usize = 60;
const RUNS_FOR_S: usize = 20;
/// A pause shorter than this does not end it, s.
const PAUSE_S: usize = 15;
const WITHIN_S: f64 = 10.0;

/// The launch from `from` on; `None` without an engine that runs.
pub(super) fn launch(evidence: &Evidence, from: usize, to: usize) -> Option<Ended> {
    let runs = evidence.engine.as_ref()?;
    let first = (from..=(from + RUNS_WITHIN_S).min(to)).find(|place| runs[*place])?;
    let mut last = first;
    let mut count = 0;
    for (place, runs) in runs.iter().enumerate().take(to + 1).skip(first) {
        if *runs {
            (last, count) = (place, count + 1);
        } else if place - last > PAUSE_S {
            break;
        }
    }
    if count < RUNS_FOR_S || 2 * count < last - first {
        return None;
    }
    let at_s = evidence.time_s(last);
    Some(Ended {
        kind: "engine",
        confidence: Confidence::Sure,
        why: "the recorder's engine sensor".into(),
        place: last,
        release: Some(Event {
            at_s,
            earliest_s: at_s - WITHIN_S,
            latest_s: at_s + WITHIN_S,
            height_m: evidence.height_m[last],
            confidence: Confidence::Likely,
            why: "the engine stops".into(),
        }),
    })
}

/// Whether the engine runs for some time after `from`.
pub(super) fn runs_after(evidence: &Evidence, from: usize, to: usize) -> bool {
    runs_within(evidence, (from + PAUSE_S).min(to), to)
}

/// Whether the engine runs for some time between `from` and `to`.
pub(super) fn runs_within(evidence: &Evidence, from: usize, to: usize) -> bool {
    evidence.engine.as_ref().is_some_and(|runs| {
        runs[from..=to].windows(RUNS_FOR_S / 2).any(|some| some.iter().all(|runs| *runs))
    })
}

/// The stretches between `from` and `to` in which the engine does not run for some time.
pub(super) fn quiet(evidence: &Evidence, from: usize, to: usize) -> Vec<(usize, usize)> {
    let mut quiet = Vec::new();
    let (mut begin, mut place) = (from, from);
    while place <= to {
        let until = (place + RUNS_FOR_S / 2 - 1).min(to);
        if runs_within(evidence, place, until) {
            quiet.push((begin, place));
            let runs = |place: &usize| evidence.engine.as_ref().is_some_and(|runs| runs[*place]);
            place = (place..=to).find(|place| !runs(place)).unwrap_or(to + 1);
            begin = place;
        } else {
            place += 1;
        }
    }
    quiet.push((begin, to));
    quiet.retain(|(from, to)| from < to);
    quiet
}
