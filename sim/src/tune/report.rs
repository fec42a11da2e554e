//! The result of tuning, in the shape of its JSON.

use super::choose::Choice;
use super::energy::Pooled;
use super::limits::Limits;
use super::phases::Phase;
use super::score::{Score, Weights};
use super::tuned::Tuned;
use super::verdict::{Decision, Verdict};
use chirrup_core::Settings;
use serde::Serialize;
use std::path::PathBuf;

/// The result of tuning.
#[derive(Clone, Debug, Serialize)]
pub struct Report {
    /// The recordings.
    pub recordings: Vec<Tuned>,
    /// Every reading that was tried, each with its best threshold; the present settings first.
    pub readings: Vec<Judged>,
    /// What is recommended, with its figures: the present settings unless the verdict is a change.
    pub recommended: Judged,
    /// Whether other settings are recommended, and why.
    pub verdict: Verdict,
    /// The present settings on what was held out, and what was tuned on the rest.
    pub held_out: HeldOut,
    /// Confidence of the choice.
    pub sure: Sure,
    /// What false beeps and missed climbs cost.
    pub weights: Weights,
    /// What was not to be exceeded.
    pub limits: Limits,
    /// The phases of the flights.
    pub phases: Vec<OfPhase>,
    /// The energy fit.
    pub energy: Pooled,
    /// The recommended settings, all of them.
    #[serde(serialize_with = "crate::settings_file::as_json")]
    pub settings: Settings,
    /// Whether compensation or delays are set as the speed changes ask for.
    pub lines_change: bool,
    /// In plain words.
    pub notes: Vec<String>,
    /// Files made.
    pub outputs: Vec<PathBuf>,
    /// For each of the readings its figures in bootstrap samples, for the picture.
    #[serde(skip)]
    pub clouds: Vec<Vec<Score>>,
}

/// Settings and their figures.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Judged {
    /// `adaptive` or `fixed`.
    pub filter: &'static str,
    /// Response time in seconds.
    pub response_s: f32,
    /// Where beeps begin, m/s.
    pub climb_from_mps: f32,
    /// The figures.
    #[serde(flatten)]
    pub score: Score,
}

/// On what was held out.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct HeldOut {
    /// The present settings.
    pub present: Score,
    /// What was tuned on the rest.
    pub tuned: Score,
}

/// A phase of the flights.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct OfPhase {
    /// Which.
    pub phase: Phase,
    /// How long it lasts in all, s.
    pub lasts_s: f64,
    /// The present settings in it.
    pub present: Score,
    /// The recommended settings in it.
    pub recommended: Score,
}

/// Confidence of the choice, from bootstrap samples of the recordings.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Sure {
    /// Share of the bootstrap samples in which the best of what was tried was better than the
    /// present settings, 0 to 1.
    pub better_share: f64,
    /// Share of the bootstrap samples in which the same filter was best, 0 to 1.
    pub filter_share: f64,
    /// Nine tenths of the bootstrap samples chose a response time from this, in seconds.
    pub response_from_s: f32,
    /// To this.
    pub response_to_s: f32,
}

impl Sure {
    /// From the best candidate of each bootstrap sample.
    pub fn of(choice: &Choice, judged: impl Fn(usize) -> Judged) -> Self {
        let best = judged(choice.best);
        let chosen: Vec<Judged> = choice.drawn.iter().map(|place| judged(*place)).collect();
        let same = chosen.iter().filter(|candidate| candidate.filter == best.filter).count();
        let mut responses: Vec<f32> = chosen.iter().map(|one| one.response_s).collect();
        responses.sort_unstable_by(f32::total_cmp);
        let at = |share: f64| responses[(share * (responses.len() - 1) as f64).round() as usize];
        Self {
            better_share: choice.better_share,
            filter_share: same as f64 / choice.drawn.len() as f64,
            response_from_s: at(0.05),
            response_to_s: at(0.95),
        }
    }
}

impl Report {
    /// What is recommended, and why, in a sentence.
    pub fn sentence(&self) -> String {
        let Judged { filter, response_s, climb_from_mps, .. } = &self.recommended;
        let what = match self.verdict.decision {
            Decision::Change => {
                format!("{filter} filter, response {response_s} s, beeps from {climb_from_mps} m/s")
            }
            Decision::Keep if self.lines_change => {
                "keep the present filter, with compensation and delays as noted".into()
            }
            Decision::Keep => "keep the present settings".into(),
            Decision::CannotTell => "nothing can be recommended".into(),
        };
        format!("{what}: {}", self.verdict.reason)
    }
}
