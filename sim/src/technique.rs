//! How the pilot corrects: turn rate against change of climb.
//!
//! Who flattens while it improves turns more slowly while the climb grows: the correlation is
//! negative. Turn rate and change of climb are both over a few seconds; the pilot acts a second
//! after the change (a guess: hearing, thinking and rolling).

use serde::Serialize;

/// Turn rate and climb are over twice this, s; the change of climb over four times.
const HALF: usize = 2;
const REACTION: usize = 1;
/// Correlations nearer to 0 say nothing.
const LEAST: f64 = 0.15;
/// And so do those nearer to it than so many times their error by chance.
const BEYOND: f64 = 1.5;
/// So many seconds say as much as one: what is compared overlaps.
const ALIKE: f64 = 6.0;
/// Fewer say nothing: three turns.
const FEWEST: usize = 60;

/// What the pilot did while the climb improved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Correction {
    /// Flattened.
    Flattened,
    /// Tightened.
    Tightened,
    /// Neither shows.
    Neither,
}

/// How the pilot corrects.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Technique {
    /// Correlation of turn rate with change of climb, -1 to 1.
    pub correlation: f64,
    /// Its error by chance.
    pub error: f64,
    /// What that shows.
    pub while_improving: Correction,
}

/// Turn rates and changes of climb that belong together, piece by piece.
#[derive(Clone, Debug, Default)]
pub struct Pairs(Vec<[f64; 2]>);

impl Pairs {
    /// Adds a piece: headings in rad and energy heights in m, one each second; 1 turns right, -1
    /// left.
    pub fn take(&mut self, headings_rad: &[f64], energy_m: &[f64], sense: f64) {
        let last = headings_rad.len().min(energy_m.len());
        let mut piece = Vec::new();
        for second in 2 * HALF + REACTION..last.saturating_sub(2 * HALF) {
            let rate =
                sense * (headings_rad[second + HALF] - headings_rad[second - HALF]) / HALF as f64;
            let then = second - REACTION;
            let change =
                energy_m[then + 2 * HALF] - 2.0 * energy_m[then] + energy_m[then - 2 * HALF];
            piece.push([rate, change]);
        }
        let count = piece.len().max(1) as f64;
        let mean = |axis: usize| piece.iter().map(|pair| pair[axis]).sum::<f64>() / count;
        let means = [mean(0), mean(1)];
        self.0.extend(piece.iter().map(|pair| [pair[0] - means[0], pair[1] - means[1]]));
    }

    /// What they show; `None` for too few.
    pub fn technique(&self) -> Option<Technique> {
        if self.0.len() < FEWEST {
            return None;
        }
        let sum = |one: usize, other: usize| {
            self.0.iter().map(|pair| pair[one] * pair[other]).sum::<f64>()
        };
        let scale = (sum(0, 0) * sum(1, 1)).sqrt();
        let correlation = if scale > 0.0 { sum(0, 1) / scale } else { 0.0 };
        let error = (ALIKE / self.0.len() as f64).sqrt();
        let shows = LEAST.max(BEYOND * error);
        let while_improving = if correlation < -shows {
            Correction::Flattened
        } else if correlation > shows {
            Correction::Tightened
        } else {
            Correction::Neither
        };
        Some(Technique { correlation, error, while_improving })
    }
}
