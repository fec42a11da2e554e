//! Tuning from end to end: every recording in turn, every candidate on all cores, the choice, the
//! reasons.

use super::candidates::{self, Candidate};
use super::choose::{Choice, Table, Wanted};
use super::each::each;
use super::energy::{self, Pooled};
use super::limits::Limits;
use super::phases::Phase;
use super::report::{HeldOut, Judged, OfPhase, Report, Sure};
use super::request::Request;
use super::score::{Sums, Weights};
use super::table::judge;
use super::tuned::Tuned;
use super::twice;
use super::verdict::{Decision, Verdict};
use crate::error::Result;
use crate::progress::Work;
use crate::recording::energy_fit::NoFit;
use chirrup_core::{FilterSettings, Settings};
use std::sync::atomic::AtomicBool;

/// Sums by candidate and phase, over all recordings.
type Phases = Vec<[Sums; Phase::ALL.len()]>;

/// Tunes on the given recordings; `interrupted` stops it between two candidates.
///
/// # Errors
/// A recording that cannot be used, or an interruption.
pub fn run(request: &Request, interrupted: &AtomicBool) -> Result<Report> {
    let (inputs, mut notes) = twice::once_each(&request.inputs)?;
    let request = &Request { inputs: inputs.into_iter().cloned().collect(), ..request.clone() };
    let work = Work::new(request.inputs.len() as u64);
    let fits = each(request, interrupted, |recording| {
        let fit = energy::of_recording(&recording, &request.base.settings);
        work.step();
        Ok(fit)
    })?;
    drop(work);
    let pooled = Pooled::of(&fits);
    let (base, changes) = pooled.applied_to(&request.base.settings);
    notes.extend(energy_notes(&pooled, &changes, &fits));
    let tried = Tried::of(&request.base.settings, &base, &request.wanted.limits)?;
    let (recordings, table, phases) = judge_all(request, &base, &tried, interrupted)?;
    let choice = Choice::of(&table, &request.wanted);
    let verdict = Verdict::of(&choice, &request.wanted, &recordings);
    let place = if verdict.decision == Decision::Change { choice.best } else { 0 };
    Ok(Report {
        recordings,
        readings: tried.with_their_best_thresholds(&choice, &request.wanted),
        recommended: tried.judged(place, &choice.scores[place]),
        held_out: HeldOut { present: choice.held_out_present, tuned: choice.held_out_tuned },
        sure: Sure::of(&choice, |place| tried.judged(place, &choice.scores[place])),
        verdict,
        weights: request.wanted.weights,
        limits: request.wanted.limits,
        phases: of_phases(&phases, place, &request.wanted.weights),
        energy: pooled,
        // What the lines need is known from the speed changes, whatever can be told of filters.
        settings: if place == 0 { base } else { tried.settings(place) },
        lines_change: !changes.is_empty(),
        notes,
        outputs: Vec::new(),
        clouds: tried.clouds(&choice, &request.wanted),
    })
}

/// The readings that are tried, each with every threshold: candidate `reading * thresholds +
/// threshold`.
pub struct Tried {
    /// The readings, the present one first.
    pub readings: Vec<Candidate>,
    /// The thresholds, the present one first, m/s.
    pub thresholds_mps: Vec<f32>,
}

impl Tried {
    /// What is tried beside the `present` settings, all else as in `base`: response times, and
    /// other thresholds where there is a limit to keep. Where climb begins to sound is otherwise
    /// the pilot's choice: a higher threshold always has fewer false beeps, and what it misses
    /// shows in a dozen climbs by chance only.
    ///
    /// # Errors
    /// None that checked settings can cause.
    pub fn of(present: &Settings, base: &Settings, limits: &Limits) -> Result<Self> {
        let thresholds_mps = if *limits == Limits::default() {
            vec![base.tone.climb_from_mps]
        } else {
            candidates::thresholds(base)
        };
        Ok(Self { readings: candidates::of(present, base)?, thresholds_mps })
    }

    /// The settings of a candidate.
    pub fn settings(&self, place: usize) -> Settings {
        let mut settings = self.readings[place / self.thresholds_mps.len()].settings.clone();
        settings.tone.climb_from_mps = self.threshold_mps(place);
        settings
    }

    fn threshold_mps(&self, place: usize) -> f32 {
        self.thresholds_mps[place % self.thresholds_mps.len()]
    }

    /// A candidate with its figures.
    pub fn judged(&self, place: usize, score: &super::score::Score) -> Judged {
        let FilterSettings { choice: filter, response_s, .. } =
            self.readings[place / self.thresholds_mps.len()].settings.filter;
        let climb_from_mps = self.threshold_mps(place);
        Judged { filter: filter.name(), response_s, climb_from_mps, score: *score }
    }

    /// The candidate of each reading with its best threshold; the present settings keep theirs,
    /// even if another would suit them better.
    fn best_of_each(&self, choice: &Choice, wanted: &Wanted) -> Vec<usize> {
        let count = self.thresholds_mps.len();
        (0..self.readings.len())
            .map(|reading| match reading * count {
                0 => 0,
                first => first + wanted.best(&choice.scores[first..first + count]),
            })
            .collect()
    }

    fn with_their_best_thresholds(&self, choice: &Choice, wanted: &Wanted) -> Vec<Judged> {
        let best = self.best_of_each(choice, wanted);
        best.into_iter().map(|place| self.judged(place, &choice.scores[place])).collect()
    }

    /// The figures of the same candidates in bootstrap samples.
    fn clouds(&self, choice: &Choice, wanted: &Wanted) -> Vec<Vec<super::score::Score>> {
        let cloud = |place: usize| choice.clouds.iter().map(|scores| scores[place]).collect();
        self.best_of_each(choice, wanted).into_iter().map(cloud).collect()
    }
}

/// Scores every candidate with every threshold on each block of each recording.
fn judge_all(
    request: &Request,
    base: &Settings,
    tried: &Tried,
    interrupted: &AtomicBool,
) -> Result<(Vec<Tuned>, Table, Phases)> {
    let work = Work::new((request.inputs.len() * tried.readings.len()) as u64);
    let (energy, thresholds) = (&base.energy, &tried.thresholds_mps);
    let all = each(request, interrupted, |recording| {
        judge(&recording, energy, &tried.readings, thresholds, &work, interrupted)
    })?;
    let (mut recordings, mut table, mut phases) = (Vec::new(), Table::new(), Phases::new());
    for judged in all {
        phases.resize(judged.phases.len(), [Sums::default(); Phase::ALL.len()]);
        for (all, one) in phases.iter_mut().zip(&judged.phases) {
            all.iter_mut().zip(one).for_each(|(all, one)| all.add(one));
        }
        table.push(judged.blocks);
        recordings.push(judged.recording);
    }
    Ok((recordings, table, phases))
}

fn of_phases(phases: &Phases, recommended: usize, weights: &Weights) -> Vec<OfPhase> {
    let of = |phase: Phase| OfPhase {
        phase,
        lasts_s: phases[0][phase as usize].lasts_s(),
        present: phases[0][phase as usize].score(weights),
        recommended: phases[recommended][phase as usize].score(weights),
    };
    Phase::ALL.map(of).into_iter().filter(|phase| phase.lasts_s > 0.0).collect()
}

fn energy_notes(
    pooled: &Pooled,
    changes: &[String],
    fits: &[std::result::Result<crate::recording::energy_fit::EnergyFit, NoFit>],
) -> Vec<String> {
    let mut notes = Vec::new();
    if !changes.is_empty() {
        notes.push(format!(
            "the speed changes of {} recordings ask for {}; so it is set",
            pooled.recordings,
            changes.join(", ")
        ));
    } else if pooled.recordings > 0 {
        notes.push(format!(
            "the speed changes of {} recordings agree with the compensation and delays as they \
             are set",
            pooled.recordings
        ));
    } else if fits.iter().any(|fit| !matches!(fit, Err(NoFit::NoSource))) {
        notes.push(
            "no recording has enough changes of speed in calm air to tell the compensation and \
             the delays from; they stay as they are. Smooth \
             pull-ups and push-overs of 10 m/s and more in calm air, at a safe height and within \
             the glider's limits, would show them (common \
             practice, no source)"
                .into(),
        );
    }
    notes.extend(pooled.too_late());
    notes
}
