//! Chooses the best candidate, and estimates the confidence.
//!
//! Every recording is cut into blocks; a candidate's figures over any set of blocks are sums. The
//! best is the one with the lowest total cost among those within the limits. **Held out**: the cost
//! on each recording of the best candidate of the other recordings (of the other half, if there is
//! only one), so that nothing is judged on the data it was tuned on. **Confidence**: 200 seeded
//! bootstrap samples of the blocks (or, from four up, recordings); which candidate is best in each.
//! Source: cross-validation and the bootstrap (Efron 1979).

use super::limits::Limits;
use super::score::{Score, Sums, Weights};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

const DRAWS: usize = 200;
const ENOUGH_RECORDINGS: usize = 4;

/// Sums by recording, block and candidate.
pub type Table = Vec<Vec<Vec<Sums>>>;

/// What the best is: the lowest cost by `weights`, within `limits`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Wanted {
    /// What false beeps and missed climbs cost.
    pub weights: Weights,
    /// What must not be exceeded.
    pub limits: Limits,
}

impl Wanted {
    /// The place of the best; among equals the first, so that the present settings are not changed
    /// without a gain. Where none is within the limits, the one that exceeds them least.
    pub fn best(&self, scores: &[Score]) -> usize {
        let rank = |place: &usize| {
            let score = &scores[*place];
            (self.limits.excess(score), score.cost_mps)
        };
        let order = |a: &(f64, f64), b: &(f64, f64)| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1));
        (0..scores.len()).min_by(|a, b| order(&rank(a), &rank(b))).unwrap_or(0)
    }
}

/// The choice.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// The best candidate's place.
    pub best: usize,
    /// Every candidate over all recordings.
    pub scores: Vec<Score>,
    /// The present settings on what was held out; they are the same everywhere.
    pub held_out_present: Score,
    /// What was tuned on the rest, on what was held out.
    pub held_out_tuned: Score,
    /// Share of the bootstrap samples in which the best candidate was better than the present
    /// settings, 0 to 1.
    pub better_share: f64,
    /// The best candidate of each bootstrap sample.
    pub drawn: Vec<usize>,
    /// The scores of every candidate in some of them.
    pub clouds: Vec<Vec<Score>>,
}

/// So many bootstrap samples are kept for the picture.
const IN_THE_PICTURE: usize = 60;

impl Choice {
    /// Chooses from `table`; candidate 0 is the present settings.
    pub fn of(table: &Table, wanted: &Wanted) -> Self {
        let blocks: Vec<&Vec<Sums>> = table.iter().flatten().collect();
        let scores = scores(blocks.iter().copied(), &wanted.weights);
        let best = wanted.best(&scores);
        let groups: Vec<Vec<&Vec<Sums>>> = if table.len() > 1 {
            table.iter().map(|recording| recording.iter().collect()).collect()
        } else {
            blocks.chunks(blocks.len().div_ceil(2)).map(<[&Vec<Sums>]>::to_vec).collect()
        };
        let (held_out_present, held_out_tuned) = held_out(&groups, wanted);
        let units: Vec<Vec<&Vec<Sums>>> = if table.len() >= ENOUGH_RECORDINGS {
            groups
        } else {
            blocks.iter().map(|block| vec![*block]).collect()
        };
        let samples = samples(&units, &wanted.weights);
        let better =
            samples.iter().filter(|scores| scores[best].cost_mps < scores[0].cost_mps).count();
        Self {
            best,
            scores,
            held_out_present,
            held_out_tuned,
            better_share: better as f64 / samples.len() as f64,
            drawn: samples.iter().map(|scores| wanted.best(scores)).collect(),
            clouds: samples.into_iter().take(IN_THE_PICTURE).collect(),
        }
    }
}

fn scores<'a>(blocks: impl Iterator<Item = &'a Vec<Sums>>, weights: &Weights) -> Vec<Score> {
    let mut total: Vec<Sums> = Vec::new();
    for block in blocks {
        total.resize(block.len(), Sums::default());
        total.iter_mut().zip(block).for_each(|(total, sums)| total.add(sums));
    }
    total.iter().map(|sums| sums.score(weights)).collect()
}

fn held_out(groups: &[Vec<&Vec<Sums>>], wanted: &Wanted) -> (Score, Score) {
    let (mut present, mut tuned) = (Sums::default(), Sums::default());
    for (place, group) in groups.iter().enumerate() {
        let others = groups
            .iter()
            .enumerate()
            .filter(|(other, _)| *other != place)
            .flat_map(|(_, group)| group);
        let best = wanted.best(&scores(others.copied(), &wanted.weights));
        for block in group {
            present.add(&block[0]);
            tuned.add(&block[best.min(block.len() - 1)]);
        }
    }
    (present.score(&wanted.weights), tuned.score(&wanted.weights))
}

/// The scores of every candidate in each bootstrap sample.
fn samples(units: &[Vec<&Vec<Sums>>], weights: &Weights) -> Vec<Vec<Score>> {
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    (0..DRAWS)
        .map(|_| {
            let drawn = (0..units.len()).map(|_| &units[rng.next_u32() as usize % units.len()]);
            scores(drawn.flatten().copied(), weights)
        })
        .collect()
}
