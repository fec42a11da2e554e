//! Chooses the best candidate, and estimates the confidence.
//!
//! Every recording is cut into blocks; a candidate's figures over any set of blocks are sums. The
//! best is the one with the lowest total cost. **Held out**: the cost on each recording of the best
//! candidate of the other recordings (of the other half, if there is only one), so that nothing is
//! judged on the data it was tuned on. **Confidence**: 200 seeded bootstrap samples of the blocks
//! (or, from four up, recordings); which candidate is best in each. Source: cross-validation and
//! the bootstrap (Efron 1979).

use super::score::{Score, Sums};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use serde::Serialize;

const DRAWS: usize = 200;
const ENOUGH_RECORDINGS: usize = 4;

/// Sums by recording, block and candidate.
pub type Table = Vec<Vec<Vec<Sums>>>;

/// The choice.
#[derive(Clone, Debug, PartialEq, Serialize)]
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
    #[serde(skip)]
    pub drawn: Vec<usize>,
}

impl Choice {
    /// Chooses from `table`; candidate 0 is the present settings.
    pub fn of(table: &Table) -> Self {
        let blocks: Vec<&Vec<Sums>> = table.iter().flatten().collect();
        let scores = scores(blocks.iter().copied());
        let best = least(&scores);
        let groups: Vec<Vec<&Vec<Sums>>> = if table.len() > 1 {
            table.iter().map(|recording| recording.iter().collect()).collect()
        } else {
            blocks.chunks(blocks.len().div_ceil(2)).map(<[&Vec<Sums>]>::to_vec).collect()
        };
        let (held_out_present, held_out_tuned) = held_out(&groups);
        let units: Vec<Vec<&Vec<Sums>>> = if table.len() >= ENOUGH_RECORDINGS {
            groups
        } else {
            blocks.iter().map(|block| vec![*block]).collect()
        };
        let (drawn, better_share) = draws(&units, best);
        Self { best, scores, held_out_present, held_out_tuned, better_share, drawn }
    }
}

fn scores<'a>(blocks: impl Iterator<Item = &'a Vec<Sums>>) -> Vec<Score> {
    let mut total: Vec<Sums> = Vec::new();
    for block in blocks {
        total.resize(block.len(), Sums::default());
        total.iter_mut().zip(block).for_each(|(total, sums)| total.add(sums));
    }
    total.iter().map(Sums::score).collect()
}

/// The index of the lowest cost; among equals the first, so that the present settings are not
/// changed without a gain.
fn least(scores: &[Score]) -> usize {
    (0..scores.len())
        .min_by(|a, b| scores[*a].cost_mps.total_cmp(&scores[*b].cost_mps))
        .unwrap_or(0)
}

fn held_out(groups: &[Vec<&Vec<Sums>>]) -> (Score, Score) {
    let (mut present, mut tuned) = (Sums::default(), Sums::default());
    for (place, group) in groups.iter().enumerate() {
        let others = groups
            .iter()
            .enumerate()
            .filter(|(other, _)| *other != place)
            .flat_map(|(_, group)| group);
        let best = least(&scores(others.copied()));
        for block in group {
            present.add(&block[0]);
            tuned.add(&block[best.min(block.len() - 1)]);
        }
    }
    (present.score(), tuned.score())
}

fn draws(units: &[Vec<&Vec<Sums>>], best: usize) -> (Vec<usize>, f64) {
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let mut better = 0;
    let drawn = (0..DRAWS)
        .map(|_| {
            let drawn = (0..units.len()).map(|_| &units[rng.next_u32() as usize % units.len()]);
            let scores = scores(drawn.flatten().copied());
            better += u32::from(scores[best].cost_mps < scores[0].cost_mps);
            least(&scores)
        })
        .collect();
    (drawn, f64::from(better) / DRAWS as f64)
}
