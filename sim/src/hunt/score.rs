//! The score of a round: the share of the best circle's climb, when it was centred, what the pilot
//! did while it improved.

use super::round::Round;
use super::track::{Point, RATE_HZ, Track};
use super::turns::centred_after_s;
use crate::technique::{Correction, Pairs};

/// Who varies the bank by less has kept it, degrees rms (a guess: half of what a steady hand
/// differs by).
const KEPT_DEG: f64 = 1.5;

/// What the pilot did while it improved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Did {
    /// Flattened while it improved: the circle moves to the better side.
    Flattened,
    /// Tightened while it improved: the circle moves away from it.
    Tightened,
    /// Neither shows.
    Neither,
    /// Kept the bank.
    KeptTheBank,
}

impl Did {
    /// One word, for tables.
    pub fn word(self) -> &'static str {
        match self {
            Did::Flattened => "flattened",
            Did::Tightened => "tightened",
            Did::Neither => "neither",
            Did::KeptTheBank => "kept",
        }
    }
}

/// The score.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Score {
    /// Mean climb of the three minutes, m/s.
    pub climb_mps: f64,
    /// That of the best circle of the thermal at rest and without gusts, m/s.
    pub best_mps: f64,
    /// The one over the other; below zero for who sank.
    pub share: f64,
    /// Seconds to centred; `None` for never.
    pub centred_after_s: Option<f64>,
    /// What the pilot did.
    pub did: Did,
    /// Correlation of turn rate with change of climb, -1 to 1; below zero for who flattens.
    pub correlation: f64,
}

impl Score {
    /// The score of a round, as far as it has been flown.
    pub fn of(round: &Round) -> Self {
        let (track, best) = (round.track(), round.best());
        let climb_mps = track.climb_mps();
        let (did, correlation) = did(track);
        Self {
            climb_mps,
            best_mps: best.climb_mps,
            share: climb_mps / best.climb_mps,
            centred_after_s: centred_after_s(track, best),
            did,
            correlation,
        }
    }
}

fn did(track: &Track) -> (Did, f64) {
    let mut pairs = Pairs::default();
    for piece in one_sided(track.points()) {
        let seconds = || piece.iter().step_by(RATE_HZ);
        let headings_rad: Vec<f64> = seconds().map(|point| point.heading_rad).collect();
        let energy_m: Vec<f64> = seconds().map(|point| point.energy_m).collect();
        pairs.take(&headings_rad, &energy_m, piece[0].bank_rad.signum());
    }
    if bank_varies_by_deg(track.points()) < KEPT_DEG {
        return (Did::KeptTheBank, 0.0);
    }
    let Some(technique) = pairs.technique() else { return (Did::Neither, 0.0) };
    let did = match technique.while_improving {
        Correction::Flattened => Did::Flattened,
        Correction::Tightened => Did::Tightened,
        Correction::Neither => Did::Neither,
    };
    (did, technique.correlation)
}

/// The pieces in which the bank is to one side.
fn one_sided(points: &[Point]) -> impl Iterator<Item = &[Point]> {
    let same_side = |one: &Point, other: &Point| one.bank_rad.signum() == other.bank_rad.signum();
    points.chunk_by(same_side)
}

/// Standard deviation of the bank.
fn bank_varies_by_deg(points: &[Point]) -> f64 {
    let count = points.len().max(1) as f64;
    let mean = points.iter().map(|point| point.bank_rad).sum::<f64>() / count;
    let square = |point: &Point| (point.bank_rad - mean) * (point.bank_rad - mean);
    (points.iter().map(square).sum::<f64>() / count).sqrt().to_degrees()
}
