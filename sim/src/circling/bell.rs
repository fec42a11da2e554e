//! A drifting round bell: how strongly the air rises at a place and a moment.
//!
//! ```text
//! rise = strength exp(-(r / radius)^2) + around,   r from  middle + drift (t - t0)
//! ```
//!
//! `around` is what the air far out does, less the glider's own sink.

use nalgebra::{SMatrix, SVector};
use std::f64::consts::TAU;

/// How many numbers make a bell.
pub(super) const COUNT: usize = 7;
/// The numbers: strength, logarithm of the radius, middle east and north, drift east and north,
/// around.
pub(super) type Numbers = SVector<f64, COUNT>;
/// How they vary together.
pub(super) type Covariance = SMatrix<f64, COUNT, COUNT>;

/// Places in [`Numbers`].
pub(super) const STRENGTH: usize = 0;
pub(super) const LOG_RADIUS: usize = 1;
pub(super) const EAST: usize = 2;
pub(super) const NORTH: usize = 3;
pub(super) const DRIFT_EAST: usize = 4;
pub(super) const DRIFT_NORTH: usize = 5;
pub(super) const AROUND: usize = 6;

/// Points of a circle for a mean round it.
const POINTS: u32 = 24;

/// A bell, in metres and m/s in the frame of the air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Bell(pub Numbers);

impl Bell {
    /// Strength above the air around, m/s.
    pub fn strength_mps(&self) -> f64 {
        self.0[STRENGTH]
    }

    /// Radius at which that has fallen to 1/e, m.
    pub fn radius_m(&self) -> f64 {
        self.0[LOG_RADIUS].exp()
    }

    /// Its middle so many seconds after t0, m.
    pub fn middle_m(&self, after_s: f64) -> [f64; 2] {
        [EAST, NORTH].map(|axis| self.0[axis] + self.0[axis + 2] * after_s)
    }

    /// The rise at a place, and its derivatives by the numbers.
    pub fn rise(&self, place_m: [f64; 2], after_s: f64) -> (f64, Numbers) {
        let middle = self.middle_m(after_s);
        let (east, north) = (place_m[0] - middle[0], place_m[1] - middle[1]);
        let narrow = 1.0 / self.radius_m().powi(2);
        let square = (east * east + north * north) * narrow;
        let share = (-square).exp();
        let lift = self.strength_mps() * share;
        let mut slopes = Numbers::zeros();
        slopes[STRENGTH] = share;
        slopes[LOG_RADIUS] = 2.0 * lift * square;
        (slopes[EAST], slopes[NORTH]) = (2.0 * lift * east * narrow, 2.0 * lift * north * narrow);
        (slopes[DRIFT_EAST], slopes[DRIFT_NORTH]) =
            (slopes[EAST] * after_s, slopes[NORTH] * after_s);
        slopes[AROUND] = 1.0;
        (lift + self.0[AROUND], slopes)
    }

    /// The mean rise round a circle whose middle is so far from the bell's, above the air around,
    /// m/s.
    pub fn mean_round_mps(&self, away_m: f64, circle_m: f64) -> f64 {
        let narrow = 1.0 / self.radius_m().powi(2);
        let at = |point: u32| {
            let cosine = (TAU * f64::from(point) / f64::from(POINTS)).cos();
            let square = away_m * away_m + circle_m * circle_m + 2.0 * away_m * circle_m * cosine;
            (-square * narrow).exp()
        };
        self.strength_mps() * (0..POINTS).map(at).sum::<f64>() / f64::from(POINTS)
    }

    /// The climb that a circle loses by being so far off the middle, m/s.
    pub fn lost_mps(&self, away_m: f64, circle_m: f64) -> f64 {
        self.mean_round_mps(0.0, circle_m) - self.mean_round_mps(away_m, circle_m)
    }
}
