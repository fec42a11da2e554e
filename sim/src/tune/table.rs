//! Every candidate judged on a recording.

use super::candidates::Candidate;
use super::judge::{Judge, Parts, Split};
use super::phases::{Phase, phases};
use super::readings;
use super::score::Sums;
use super::tuned::Tuned;
use crate::error::Result;
use crate::progress::Work;
use crate::recording::Recording;
use crate::recording::track::Track;
use crate::recording::truth::{GRID_S, Truth};
use chirrup_core::{EnergySettings, Pipeline};
use rayon::prelude::*;
use std::sync::atomic::AtomicBool;

/// Length of a block, or a twentieth of its recording where that is more; the least number of
/// blocks of a short recording.
const BLOCK_S: f64 = 300.0;
const MOST_BLOCKS: f64 = 20.0;
const FEWEST_BLOCKS: f64 = 4.0;

/// A recording, judged.
pub struct OfRecording {
    /// What is told of it.
    pub recording: Tuned,
    /// Its truth, or the likeliest, m/s at each moment of the grid.
    pub climb_mps: Vec<f64>,
    /// Sums by block and candidate, each candidate with every threshold.
    pub blocks: Vec<Vec<Sums>>,
    /// Sums by candidate and phase, in the order of [`Phase::ALL`].
    pub phases: Vec<[Sums; Phase::ALL.len()]>,
}

/// Judges every candidate with every threshold on `recording`, whose lines are as `energy` says.
///
/// # Errors
/// An interruption.
pub fn judge(
    recording: &Recording,
    energy: &EnergySettings,
    candidates: &[Candidate],
    thresholds_mps: &[f32],
    work: &Work,
    interrupted: &AtomicBool,
) -> Result<OfRecording> {
    let (truth, split) = {
        // Gone before the readings: each needs as much memory as the other.
        let track = Track::of(recording);
        let truth = Truth::of(recording, &track, energy);
        let split = split(&phases(recording, &track, &truth));
        (truth, split)
    };
    let pipelines: Vec<&Pipeline> = candidates.iter().map(|one| &one.pipeline).collect();
    let said = readings::of_all(&pipelines, recording, &truth.rate_mps, work, interrupted)?;
    let thresholds_mps: Vec<f64> = thresholds_mps.iter().copied().map(f64::from).collect();
    // The present threshold comes first.
    let judge = Judge::of(&truth, &split, thresholds_mps[0], &thresholds_mps);
    let parts: Vec<Parts> = said.par_iter().flat_map(|said| judge.sums(said)).collect();
    let mut blocks = vec![Vec::with_capacity(parts.len()); split.blocks];
    for part in &parts {
        blocks.iter_mut().zip(part.blocks()).for_each(|(block, sums)| block.push(sums));
    }
    Ok(OfRecording {
        recording: Tuned::of(recording, &truth),
        blocks,
        phases: parts.iter().map(Parts::phases).collect(),
        climb_mps: truth.rate_mps.values,
    })
}

fn split(phases: &[Option<Phase>]) -> Split {
    let moments = phases.len();
    let lasts_s = moments as f64 * GRID_S;
    let blocks = (lasts_s / BLOCK_S).round().clamp(FEWEST_BLOCKS, MOST_BLOCKS) as usize;
    let of = |(place, phase): (usize, &Option<Phase>)| Some((place * blocks / moments, (*phase)?));
    Split { of: phases.iter().enumerate().map(of).collect(), blocks }
}

/// Everything in `recording` as one block: for two settings compared.
pub fn whole(recording: &Recording, track: &Track, truth: &Truth) -> Split {
    let of = phases(recording, track, truth).into_iter().map(|phase| Some((0, phase?))).collect();
    Split { of, blocks: 1 }
}
