//! Whether other settings are recommended, and why.
//!
//! ```text
//! declined   the recordings cannot rank filters: samples too far apart, too few climbs, or a truth
//!            that is as uncertain as the climbs are strong
//! kept       nothing is better by more than 1 %, on what was tuned or on what was held out, or in
//!            nine tenths of the bootstrap samples
//! changed    else
//! ```

use super::choose::{Choice, Wanted};
use super::score::Score;
use super::tuned::Tuned;
use crate::recording::truth::SLOWEST_S;
use serde::Serialize;

/// A smaller gain is none.
const LEAST_GAIN: f64 = 0.01;
/// A gain must show in so many of the bootstrap samples.
const LEAST_SURE: f64 = 0.9;
/// Fewer climbs cannot rank (a guess: one missed of nine is 11 %).
const FEWEST_CLIMBS: u64 = 10;
/// The truth may be as uncertain as this share of what the climb changes.
const MOST_UNCERTAIN: f64 = 0.5;
/// Below this correlation with the recorder's own vario, pressure and airspeed do not belong
/// together (a guess; a good log has 0.97 and more).
const LEAST_CORRELATION: f64 = 0.85;
/// What to record instead.
const RECORD: &str = "record pressure and airspeed ten times a second or more, on a day with \
                      thermals, half an hour or longer";

/// What is recommended.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Decision {
    /// Other settings.
    Change,
    /// The present settings, because no others are better.
    Keep,
    /// Nothing: the recordings cannot tell.
    CannotTell,
}

/// What is recommended, and why.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Verdict {
    /// What.
    pub decision: Decision,
    /// Why, in a sentence.
    pub reason: String,
}

impl Verdict {
    /// From the choice and the recordings that it is from.
    pub fn of(choice: &Choice, wanted: &Wanted, recordings: &[Tuned]) -> Self {
        let present = &choice.scores[0];
        if let Some(reason) = cannot_tell(present, recordings) {
            return Self { decision: Decision::CannotTell, reason };
        }
        let best = &choice.scores[choice.best];
        let exceeded = wanted.limits.exceeded(best);
        if !exceeded.is_empty() {
            let reason = format!(
                "nothing that was tried is within the limits; the nearest has {}",
                exceeded.join(", ")
            );
            return Self { decision: Decision::Keep, reason };
        }
        let keeps_limits = wanted.limits.excess(present) == 0.0;
        let kept = |reason: String| Self { decision: Decision::Keep, reason };
        if choice.best == 0 || (keeps_limits && !gains(present, best)) {
            return kept(format!(
                "the best of all that was tried costs {:.3} m/s, the present settings {:.3} m/s: \
                 less than 1 % apart",
                best.cost_mps, present.cost_mps
            ));
        }
        let (held_present, held_tuned) = (&choice.held_out_present, &choice.held_out_tuned);
        if keeps_limits && !gains(held_present, held_tuned) {
            return kept(format!(
                "on what was held out, settings tuned on the rest cost {:.3} m/s and the present \
                 ones {:.3} m/s: no better by 1 %",
                held_tuned.cost_mps, held_present.cost_mps
            ));
        }
        if keeps_limits && choice.better_share < LEAST_SURE {
            return kept(format!(
                "the best of all that was tried is better in {:.0} % of the bootstrap samples, \
                 which is not sure enough",
                100.0 * choice.better_share
            ));
        }
        let reason = format!(
            "they cost {:.3} m/s, the present settings {:.3} m/s ({:+.0} %)",
            best.cost_mps,
            present.cost_mps,
            100.0 * (best.cost_mps / present.cost_mps - 1.0)
        );
        Self { decision: Decision::Change, reason }
    }
}

fn gains(present: &Score, other: &Score) -> bool {
    other.cost_mps < (1.0 - LEAST_GAIN) * present.cost_mps
}

/// Why `recordings`, over which the present settings have the figures `present`, cannot rank
/// settings; `None` where they can.
pub fn cannot_tell(present: &Score, recordings: &[Tuned]) -> Option<String> {
    if let Some(slow) = recordings.iter().find(|one| one.interval_s > SLOWEST_S) {
        return Some(format!(
            "{} has a sample every {:.1} s: gusts, entries and pull-ups look alike; {RECORD}",
            slow.trace, slow.interval_s
        ));
    }
    if present.climbs < FEWEST_CLIMBS {
        return Some(format!(
            "climbs begin in it {} times, too few to rank filters: {FEWEST_CLIMBS} are the least; \
             record hours with thermals",
            present.climbs
        ));
    }
    let uncertain = recordings.iter().find(|one| {
        one.truth_deviation_mps > MOST_UNCERTAIN * one.climb_spread_mps && one.truth != "recorded"
    });
    if let Some(one) = uncertain {
        return Some(format!(
            "in {} gusts are as large as climbs: the climb is known to ± {:.2} m/s and changes by \
             {:.2} m/s; record a calmer day",
            one.trace, one.truth_deviation_mps, one.climb_spread_mps
        ));
    }
    let apart = recordings
        .iter()
        .find_map(|one| Some((one, one.reference?)))
        .filter(|(one, _)| one.truth == "estimated")
        .filter(|(_, reference)| reference.correlation < LEAST_CORRELATION);
    apart.map(|(one, reference)| {
        format!(
            "in {} the recorder's own vario and the climb from pressure and airspeed do not agree \
             (correlation {:.2}): check the airspeed",
            one.trace, reference.correlation
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn score(cost_mps: f64) -> Score {
        Score { cost_mps, error_mps: cost_mps, climbs: 20, ..Score::default() }
    }

    fn choice(present: f64, best: f64, held_out_tuned: f64) -> Choice {
        Choice {
            best: 1,
            scores: vec![score(present), score(best)],
            held_out_present: score(present),
            held_out_tuned: score(held_out_tuned),
            better_share: 1.0,
            drawn: vec![1],
            clouds: Vec::new(),
        }
    }

    fn tuned() -> Tuned {
        Tuned {
            trace: "a.csv".into(),
            climb_spread_mps: 1.0,
            truth: "estimated",
            ..Tuned::default()
        }
    }

    fn decision(choice: &Choice, recording: Tuned) -> (Decision, String) {
        let verdict = Verdict::of(choice, &Wanted::default(), &[recording]);
        (verdict.decision, verdict.reason)
    }

    #[test]
    fn what_is_not_better_by_a_percent_is_not_recommended() {
        assert_eq!(decision(&choice(0.5, 0.4, 0.41), tuned()).0, Decision::Change);
        assert_eq!(decision(&choice(0.5, 0.499, 0.4), tuned()).0, Decision::Keep);
        let mut unsure = choice(0.5, 0.4, 0.4);
        unsure.better_share = 0.8;
        let (kept, reason) = decision(&unsure, tuned());
        assert_eq!(kept, Decision::Keep);
        assert!(reason.contains("80 % of the bootstrap samples"), "{reason}");
        let (kept, reason) = decision(&choice(0.5, 0.4, 0.5), tuned());
        assert_eq!(kept, Decision::Keep);
        assert!(reason.contains("no better by 1 %"), "{reason}");
    }

    #[test]
    fn recordings_that_cannot_rank_say_so() {
        let better = choice(0.5, 0.3, 0.3);
        for (recording, said) in [
            (Tuned { interval_s: 4.0, ..tuned() }, "every 4.0 s"),
            (Tuned { truth_deviation_mps: 0.6, ..tuned() }, "gusts are as large as climbs"),
        ] {
            let (decision, reason) = decision(&better, recording);
            assert_eq!(decision, Decision::CannotTell);
            assert!(reason.contains(said), "{reason}");
        }
        let mut few = choice(0.5, 0.3, 0.3);
        few.scores[0].climbs = 2;
        assert!(decision(&few, tuned()).1.starts_with("climbs begin in it 2 times, too few"));
    }

    #[test]
    fn limits_come_before_cost() {
        let mut limited = Wanted::default();
        limited.limits.lag_s = Some(1.0);
        let mut choice = choice(0.4, 0.5, 0.5);
        choice.scores[0].lag_s = 2.0;
        assert_eq!(limited.best(&choice.scores), 1);
        let verdict = Verdict::of(&choice, &limited, &[tuned()]);
        assert_eq!(verdict.decision, Decision::Change, "{}", verdict.reason);
        choice.scores[1].lag_s = 1.5;
        let verdict = Verdict::of(&choice, &limited, &[tuned()]);
        assert!(
            verdict.reason.contains("1.50 s of lag where at most 1.00 s of lag"),
            "{verdict:?}"
        );
    }
}
