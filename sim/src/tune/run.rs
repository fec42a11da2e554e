//! Tuning from end to end: every recording in turn, every candidate on all cores, the choice, the
//! reasons.

use super::candidates::{self, Candidate};
use super::choose::{Choice, Table};
use super::each::each;
use super::energy::{self, Pooled};
use super::readings::{self, Readings};
use super::report::{HeldOut, Judged, Report, Sure, Tuned};
use super::request::Request;
use super::score::Sums;
use crate::error::{Error, Result};
use crate::progress::Work;
use crate::recording::Recording;
use crate::recording::energy_fit::NoFit;
use crate::recording::truth::{GRID_S, Truth};
use chirrup_core::stages::Energy;
use chirrup_core::{FilterSettings, Pipeline, Settings};
use rayon::prelude::*;
use std::sync::atomic::AtomicBool;

/// Length of a block, or a twentieth of its recording where that is more; the least number of
/// blocks of a short recording.
const BLOCK_S: f64 = 300.0;
const MOST_BLOCKS: f64 = 20.0;
const FEWEST_BLOCKS: f64 = 4.0;

/// Tunes on the given recordings; `interrupted` stops it between two candidates.
///
/// # Errors
/// A recording that cannot be used, or an interruption.
pub fn run(request: &Request, interrupted: &AtomicBool) -> Result<Report> {
    let work = Work::new(request.inputs.len() as u64);
    let fits = each(request, interrupted, |recording| {
        let fit = energy::of_recording(&recording, &request.base.settings);
        work.step();
        Ok(fit)
    })?;
    drop(work);
    let pooled = Pooled::of(&fits);
    let (base, changes) = pooled.applied_to(&request.base.settings);
    let tried = candidates::of(&base)?;
    let thresholds = candidates::thresholds(&base);
    let (recordings, table) = judge_all(request, &base, &tried, &thresholds, interrupted)?;
    let choice = Choice::of(&table);
    let judged: Vec<Judged> = (0..choice.scores.len())
        .map(|place| {
            judged(
                &tried[place / thresholds.len()],
                thresholds[place % thresholds.len()],
                &choice,
                place,
            )
        })
        .collect();
    let best = &judged[choice.best];
    let mut settings = tried[choice.best / thresholds.len()].settings.clone();
    settings.tone.climb_from_mps = best.climb_from_mps;
    let readings =
        judged.chunks(thresholds.len()).enumerate().filter_map(|(place, chunk)| match place {
            // The present settings keep their threshold, even if another would suit them better.
            0 => chunk.first().cloned(),
            _ => chunk.iter().min_by(|a, b| a.score.cost_mps.total_cmp(&b.score.cost_mps)).cloned(),
        });
    Ok(Report {
        recordings,
        readings: readings.collect(),
        recommended: best.clone(),
        held_out: HeldOut { present: choice.held_out_present, tuned: choice.held_out_tuned },
        sure: Sure::of(&choice, &judged),
        energy: pooled,
        settings,
        notes: notes(&pooled, &changes, &fits),
        outputs: Vec::new(),
    })
}

fn judged(candidate: &Candidate, climb_from_mps: f32, choice: &Choice, place: usize) -> Judged {
    let FilterSettings { choice: filter, response_s, .. } = candidate.settings.filter;
    Judged { filter: filter.name(), response_s, climb_from_mps, score: choice.scores[place] }
}

/// Scores every candidate with every threshold on each block of each recording.
fn judge_all(
    request: &Request,
    base: &Settings,
    tried: &[Candidate],
    thresholds: &[f32],
    interrupted: &AtomicBool,
) -> Result<(Vec<Tuned>, Table)> {
    let energy = Energy::new(&base.energy).map_err(|error| Error::Settings(error.to_string()))?;
    let pipelines: Vec<&Pipeline> = tried.iter().map(|candidate| &candidate.pipeline).collect();
    let work = Work::new((request.inputs.len() * tried.len()) as u64);
    let judge = |recording: Recording| {
        let truth = Truth::of(&recording, &energy);
        let said = readings::of_all(&pipelines, &recording, &truth.rate_mps, &work, interrupted)?;
        let tuned =
            Tuned { lasts_s: recording.duration_s(), truth: truth.from, trace: recording.name };
        Ok((tuned, sums(&truth, &said, thresholds)))
    };
    Ok(each(request, interrupted, judge)?.into_iter().unzip())
}

/// The sums of each block, of each reading with each threshold.
fn sums(truth: &Truth, said: &[Readings], thresholds: &[f32]) -> Vec<Vec<Sums>> {
    let of_block = |block: &(usize, usize)| {
        let each = said.iter().flat_map(|said| {
            let of = |threshold: &f32| Sums::of(truth, &said.at, *block, f64::from(*threshold));
            thresholds.iter().map(of)
        });
        each.collect()
    };
    blocks(truth.rate_mps.values.len()).par_iter().map(of_block).collect()
}

/// The first and last moment of each block.
fn blocks(moments: usize) -> Vec<(usize, usize)> {
    let lasts_s = moments as f64 * GRID_S;
    let count = (lasts_s / BLOCK_S).round().clamp(FEWEST_BLOCKS, MOST_BLOCKS) as usize;
    (0..count).map(|place| (place * moments / count, (place + 1) * moments / count)).collect()
}

fn notes(
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
