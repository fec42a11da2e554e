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
    evidence.engine.as_ref().is_some_and(|runs| {
        let from = (from + PAUSE_S).min(to);
        runs[from..=to].windows(RUNS_FOR_S / 2).any(|some| some.iter().all(|runs| *runs))
    })
}
