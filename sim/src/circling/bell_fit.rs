//! The bell that fits a piece of climb: robust least squares with weak priors, by Levenberg and
//! Marquardt's method.
//!
//! What is fitted is the gain of energy height over three seconds. Steps of a metre at one a second
//! are then an error of 0.2 m/s, about as much as the turbulence that no bell explains. The height
//! is half a second late against the place: the glider takes up the rise, and the barometer its
//! pressure, after some tenths of a second; up to 2 s more change little (asserted by
//! `tests/centring`).

use super::air::Piece;
use super::bell::{AROUND, Bell, COUNT, Covariance, DRIFT_EAST, EAST, LOG_RADIUS, NORTH, Numbers};
use super::bell::{DRIFT_NORTH, STRENGTH};
use crate::recording::series::median;
use nalgebra::{Matrix2, Vector2};

/// The gain is over so many seconds.
const OVER: usize = 3;
/// The height is so late, s.
const LATE_S: f64 = 0.5;
/// Gains beyond so many deviations count less.
const ORDINARY: f64 = 1.5;
/// So many gains say as much as one that has nothing in common with the others: they overlap, and
/// turbulence lasts.
const ALIKE: f64 = 1.6 * OVER as f64;
/// Deviation of a gain from the bell's, m/s: at first, and its bounds.
const DEVIATION_MPS: f64 = 0.7;
const DEVIATIONS_MPS: (f64, f64) = (0.4, 2.0);
/// Weak priors: value and deviation (guesses within what is commonly told of thermals; the sink is
/// a sailplane's in its turn). The middle is known beforehand only to lie near the turns.
const STRENGTH_MPS: (f64, f64) = (3.5, 2.0);
const RADIUS_M: (f64, f64) = (125.0, 0.35);
const DRIFT_MPS: (f64, f64) = (0.0, 0.3);
const AROUND_MPS: (f64, f64) = (-1.2, 0.5);
const MIDDLE_M: f64 = 150.0;
/// First guesses of the middle lie so far from turns, this many round each.
const GUESS_M: f64 = 50.0;
const GUESSES: u32 = 3;
const MOST_STEPS: u32 = 60;
/// Passes of the robust line.
const EVEN_PASSES: usize = 12;

/// A fitted bell.
#[derive(Clone, Debug)]
pub(super) struct Fit {
    pub bell: Bell,
    /// Of its numbers.
    pub covariance: Covariance,
    /// Seconds after the piece's first at which its middle is where it says.
    pub middle_s: f64,
    /// By how much the bell explains the gains better than a climb that is the same everywhere and
    /// changes evenly with time: the difference of chi-square, without the priors.
    pub better_than_even: f64,
}

/// What is to be explained, and what is known beforehand.
struct Problem {
    /// Place half a second before each second, and seconds from the middle.
    places: Vec<([f64; 2], f64)>,
    gains_mps: Vec<f64>,
    deviation_mps: f64,
    prior: (Numbers, Numbers),
}

/// The sum of squares at a bell, with its slopes and curvature.
struct Sum {
    cost: f64,
    slopes: Numbers,
    curvature: Covariance,
}

impl Fit {
    /// The bell that fits the energy heights of a piece, m; `None` where there is no solution.
    pub fn of(piece: &Piece, energy_m: &[f64]) -> Option<Self> {
        let middle_s = 0.5 * piece.places_m.len() as f64;
        let mut problem = Problem::of(piece, energy_m, middle_s)?;
        let last = piece.turns.last()?.middle_m;
        let mean = [problem.prior.0[EAST], problem.prior.0[NORTH]];
        let guesses = [last, mean].into_iter().flat_map(guesses_round);
        let solved = guesses.filter_map(|guess| problem.solve(problem.begin(guess)));
        let (rough, _) = solved.min_by(|a, b| a.1.cost.total_cmp(&b.1.cost))?;
        problem.deviation_mps = problem.deviation(&rough);
        let (bell, sum) = problem.solve(rough)?;
        let better_than_even = problem.even()? - problem.unexplained(&bell);
        Some(Self { bell, covariance: sum.curvature.try_inverse()?, middle_s, better_than_even })
    }

    /// Deviation of the middle, m, the root of the sum of its squares in both axes.
    pub fn middle_error_m(&self) -> f64 {
        (self.covariance[(EAST, EAST)] + self.covariance[(NORTH, NORTH)]).sqrt()
    }

    /// Bells that stand for the spread of the fit: the mean of a square of deviations over them is
    /// the variance.
    pub fn spread(&self) -> Vec<Bell> {
        let Some(root) = (self.covariance * COUNT as f64).cholesky() else { return Vec::new() };
        let columns = root.l();
        let pair = |axis: usize| {
            let away: Numbers = columns.column(axis).into_owned();
            [Bell(self.bell.0 + away), Bell(self.bell.0 - away)]
        };
        (0..COUNT).flat_map(pair).collect()
    }
}

/// The share of a gain in chi-square: a square near 0, a straight line far out.
fn cost(far: f64) -> f64 {
    2.0 * ORDINARY.powi(2) * (far - 1.0) / ALIKE
}

fn guesses_round(middle_m: [f64; 2]) -> impl Iterator<Item = [f64; 2]> {
    (0..GUESSES).map(move |guess| {
        let turn = std::f64::consts::TAU * f64::from(guess) / f64::from(GUESSES);
        [middle_m[0] + GUESS_M * turn.sin(), middle_m[1] + GUESS_M * turn.cos()]
    })
}

impl Problem {
    fn of(piece: &Piece, energy_m: &[f64], middle_s: f64) -> Option<Self> {
        let energy_m = energy_m.get(piece.seconds.clone())?;
        let place = |second: usize| {
            let at = second as f64 - LATE_S;
            (piece.place_m(at), second as f64 - middle_s)
        };
        let gain = |pair: &[f64]| (pair[OVER] - pair[0]) / OVER as f64;
        let turns = piece.turns.len() as f64;
        let mean = |axis: usize| piece.turns.iter().map(|turn| turn.middle_m[axis] / turns).sum();
        let mut prior = (Numbers::zeros(), Numbers::repeat(MIDDLE_M));
        for (place, (value, deviation)) in [
            (STRENGTH, STRENGTH_MPS),
            (LOG_RADIUS, (RADIUS_M.0.ln(), RADIUS_M.1)),
            (DRIFT_EAST, DRIFT_MPS),
            (DRIFT_NORTH, DRIFT_MPS),
            (AROUND, AROUND_MPS),
        ] {
            (prior.0[place], prior.1[place]) = (value, deviation);
        }
        (prior.0[EAST], prior.0[NORTH]) = (mean(0), mean(1));
        Some(Self {
            places: (0..energy_m.len()).map(place).collect(),
            gains_mps: energy_m.windows(OVER + 1).map(gain).collect(),
            deviation_mps: DEVIATION_MPS,
            prior,
        })
    }

    /// The bell that is known beforehand, with another middle.
    fn begin(&self, middle_m: [f64; 2]) -> Bell {
        let mut numbers = self.prior.0;
        (numbers[EAST], numbers[NORTH]) = (middle_m[0], middle_m[1]);
        Bell(numbers)
    }

    /// Each gain less the bell's, m/s, with the bell's slopes.
    fn errors(&self, bell: &Bell) -> Vec<(f64, Numbers)> {
        let rises: Vec<(f64, Numbers)> =
            self.places.iter().map(|(place, after_s)| bell.rise(*place, *after_s)).collect();
        let mean = |window: &[(f64, Numbers)]| {
            let (mut rise, mut slopes) = (0.0, Numbers::zeros());
            for (place, (one, by)) in window.iter().enumerate() {
                let weight = if place == 0 || place == OVER { 0.5 } else { 1.0 } / OVER as f64;
                rise += weight * one;
                slopes += weight * by;
            }
            (rise, slopes)
        };
        let windows = rises.windows(OVER + 1).map(mean);
        windows.zip(&self.gains_mps).map(|((rise, slopes), gain)| (gain - rise, slopes)).collect()
    }

    fn sum(&self, bell: &Bell) -> Sum {
        let away = (bell.0 - self.prior.0).component_div(&self.prior.1);
        let stiff = self.prior.1.map(|deviation| deviation.powi(-2));
        let mut sum = Sum {
            cost: away.norm_squared(),
            slopes: -away.component_div(&self.prior.1),
            curvature: Covariance::from_diagonal(&stiff),
        };
        let scale = (self.deviation_mps.powi(2) * ALIKE).recip();
        for (error, slopes) in self.errors(bell) {
            let far = self.far(error);
            sum.cost += cost(far);
            sum.slopes += slopes * (scale / far * error);
            sum.curvature += slopes * slopes.transpose() * (scale / far);
        }
        sum
    }

    /// Pseudo-Huber: 1 for a small error, and its share of the ordinary far out.
    fn far(&self, error: f64) -> f64 {
        (1.0 + (error / (ORDINARY * self.deviation_mps)).powi(2)).sqrt()
    }

    /// What a bell leaves of the gains, as chi-square without the priors.
    fn unexplained(&self, bell: &Bell) -> f64 {
        self.errors(bell).iter().map(|(error, _)| cost(self.far(*error))).sum()
    }

    /// The same of a climb that is the same everywhere and changes evenly with time.
    fn even(&self) -> Option<f64> {
        let middle = 0.5 * self.gains_mps.len() as f64;
        let row = |second: usize| Vector2::new(1.0, (second as f64 - middle) / middle);
        let mut line = Vector2::zeros();
        let left = |line: &Vector2<f64>, at: usize| self.gains_mps[at] - row(at).dot(line);
        for _ in 0..EVEN_PASSES {
            let (mut normal, mut right) = (Matrix2::zeros(), Vector2::zeros());
            for second in 0..self.gains_mps.len() {
                let (row, error) = (row(second), left(&line, second));
                let weight = self.far(error).recip();
                normal += weight * row * row.transpose();
                right += weight * error * row;
            }
            line += normal.cholesky()?.solve(&right);
        }
        Some((0..self.gains_mps.len()).map(|at| cost(self.far(left(&line, at)))).sum())
    }

    fn solve(&self, mut bell: Bell) -> Option<(Bell, Sum)> {
        let (mut sum, mut damping) = (self.sum(&bell), 1e-2);
        for _ in 0..MOST_STEPS {
            let mut curvature = sum.curvature;
            (0..COUNT).for_each(|axis| curvature[(axis, axis)] *= 1.0 + damping);
            let step = curvature.cholesky()?.solve(&sum.slopes);
            let tried = Bell(bell.0 + step);
            let next = self.sum(&tried);
            if next.cost.is_finite() && next.cost <= sum.cost {
                let gained = sum.cost - next.cost;
                (bell, sum, damping) = (tried, next, (0.3 * damping).max(1e-9));
                if gained < 1e-7 * sum.cost {
                    break;
                }
            } else if damping > 1e7 {
                break;
            } else {
                damping *= 6.0;
            }
        }
        sum.cost.is_finite().then_some((bell, sum))
    }

    /// Deviation of the gains from the bell's, m/s, by their median.
    fn deviation(&self, bell: &Bell) -> f64 {
        let sizes: Vec<f64> = self.errors(bell).iter().map(|(error, _)| error.abs()).collect();
        let median = median(&sizes).unwrap_or(DEVIATION_MPS);
        // Of a normal distribution half lies within 0.6745 deviations.
        (median / 0.6745).clamp(DEVIATIONS_MPS.0, DEVIATIONS_MPS.1)
    }
}
