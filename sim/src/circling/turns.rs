//! The figures of single turns.

use super::air::{Piece, Turn, whole_turns};
use super::centre::{Core, Off};
use super::harmonic::{Harmonic, LEAST_MPS};
use super::path::Path;
use super::stretch::Stretch;
use serde::Serialize;

/// A turn in figures.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct TurnFigures {
    /// Where it begins, s.
    pub from_s: f64,
    /// Where it ends, s.
    pub to_s: f64,
    /// Mean climb in energy height, m/s.
    pub mean_climb_mps: f64,
    /// How much the climb swings round it: half of best less worst, m/s.
    pub swing_mps: f64,
    /// The side of the circle on which the climb is best, degrees from north; only with positions,
    /// and where it swings by more than 1 m/s.
    pub better_side_deg: Option<f64>,
    /// Distance of its middle from the core's, m, where a core shows.
    pub off_centre_m: Option<f64>,
    /// Direction in which the climb is better, m/s north and east, whatever the swing.
    #[serde(skip)]
    pub(super) towards_mps: [f64; 2],
}

/// The turns of a piece, and of its core where one shows.
pub(super) fn of_piece(path: &Path, piece: &Piece, core: Option<&Core>) -> Vec<TurnFigures> {
    let first_s = path.time_s(piece.seconds.start);
    let energy_m = &path.energy_m[piece.seconds.clone()];
    let of = |(place, turn): (usize, &Turn)| {
        let harmonic = Harmonic::of(&piece.headings_rad, energy_m, (turn.from, turn.to))?;
        let towards_mps = harmonic.better_side_mps(piece.sense, turn.lasts_s());
        let off: Option<&Off> = core.and_then(|core| core.off.get(place));
        Some(TurnFigures {
            from_s: first_s + turn.from,
            to_s: first_s + turn.to,
            mean_climb_mps: harmonic.mean_mps,
            swing_mps: harmonic.swing_mps(),
            better_side_deg: bearing_deg(towards_mps),
            off_centre_m: off.map(|off| off.off_m),
            towards_mps,
        })
    };
    piece.turns.iter().enumerate().filter_map(of).collect()
}

/// The turns of a stretch that only a gyro knows: without directions.
pub(super) fn of_gyro(path: &Path, stretch: &Stretch, headings_rad: &[f64]) -> Vec<TurnFigures> {
    let first_s = path.time_s(stretch.seconds.start);
    let energy_m = &path.energy_m[stretch.seconds.clone()];
    let borders = whole_turns(headings_rad, stretch.sense());
    let of = |two: &[f64]| {
        let harmonic = Harmonic::of(headings_rad, energy_m, (two[0], two[1]))?;
        Some(TurnFigures {
            from_s: first_s + two[0],
            to_s: first_s + two[1],
            mean_climb_mps: harmonic.mean_mps,
            swing_mps: harmonic.swing_mps(),
            better_side_deg: None,
            off_centre_m: None,
            towards_mps: [0.0; 2],
        })
    };
    borders.windows(2).filter_map(of).collect()
}

/// The direction of m/s north and east, degrees from north, where it is more than 1 m/s.
pub(super) fn bearing_deg([north, east]: [f64; 2]) -> Option<f64> {
    (north.hypot(east) > LEAST_MPS).then(|| east.atan2(north).to_degrees().rem_euclid(360.0))
}
