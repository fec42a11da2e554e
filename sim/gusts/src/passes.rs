//! The passes over a recording: a Kalman filter forward, the smoother of Rauch, Tung and Striebel
//! back (AIAA Journal 3, 1965), and draws from what both leave open (Carter and Kohn, Biometrika
//! 81, 1994); all from memory, and checked in the tests against the least-squares problem that they
//! solve.

use crate::flight::{Beside, Flight};
use crate::model::{E, GUST, K, Matrix, Model, QUICK, SLOW, STATES, Vector, X};
use nalgebra::{SMatrix, SVector};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use std::f64::consts::TAU;
use std::ops::Range;

/// The trimmed speed is that of so long around, s (a guess: pilots keep a speed for longer).
const TRIMMED_OVER_S: f64 = 30.0;
/// The stick's load is that of so long around, s: a pull-up lasts about as long.
const LOAD_OVER_S: f64 = 10.0;
/// The stick never does less than this share of its usual variance.
const LEAST_LOAD: f64 = 0.01;
/// Added to a variance whose root is taken, against rounding; 0.3 mm.
const ROUNDING: f64 = 1e-7;

/// What was measured, and the trimmed kinetic height at each moment.
pub struct Heights {
    /// The height and what stands beside it.
    measured: Vec<[f64; 2]>,
    trimmed_m: Vec<f64>,
    /// The row of the second measurement: K + g, or E + g.
    beside: usize,
    variances: [f64; 2],
    pub(crate) step_s: f64,
}

impl Heights {
    pub(crate) fn of(flight: &Flight<'_>) -> Self {
        let (beside, values) = match flight.beside {
            Beside::Kinetic(values) => (K, values),
            Beside::Energy(values) => (E, values),
        };
        let measured: Vec<[f64; 2]> =
            flight.height_m.iter().zip(values).map(|(h, v)| [*h, *v]).collect();
        let kinetic_m: Vec<f64> =
            measured.iter().map(|[h, v]| if beside == E { v - h } else { *v }).collect();
        Self {
            trimmed_m: around(&kinetic_m, TRIMMED_OVER_S / flight.step_s),
            measured,
            beside,
            variances: flight.noise_m.map(|noise| noise * noise),
            step_s: flight.step_s,
        }
    }

    pub(crate) fn count(&self) -> usize {
        self.measured.len()
    }

    #[cfg(test)]
    pub(crate) fn trimmed(&self) -> &[f64] {
        &self.trimmed_m
    }

    fn first(&self, place: usize) -> Vector {
        let [height, beside] = self.measured[place];
        let kinetic = if self.beside == E { beside - height } else { beside };
        let mut first = Vector::zeros();
        (first[E], first[K]) = (height + kinetic, kinetic);
        first
    }
}

/// How hard the stick works at each moment, as a share of its usual variance.
pub struct Loads(Vec<f64>);

impl Loads {
    pub(crate) fn even(count: usize) -> Self {
        Self(vec![1.0; count])
    }
}

/// Means weighted with a Hann window of `width` values, at least one to each side.
fn around(values: &[f64], width: f64) -> Vec<f64> {
    let half = (0.5 * width).round().max(1.0) as usize;
    let weights: Vec<f64> = (0..=2 * half)
        .map(|k| 0.5 - 0.5 * (TAU * (k as f64 + 1.0) / (2 * half + 2) as f64).cos())
        .collect();
    (0..values.len())
        .map(|place| {
            let from = place.saturating_sub(half);
            let to = (place + half).min(values.len() - 1);
            let (sum, total) = (from..=to).fold((0.0, 0.0), |(sum, total), at| {
                let weight = weights[at + half - place];
                (sum + weight * values[at], total + weight)
            });
            sum / total
        })
        .collect()
}

/// Mean and covariance of the states.
#[derive(Clone, Copy, Debug)]
struct Belief {
    mean: Vector,
    spread: Matrix,
}

impl Belief {
    fn forecast(&self, model: &Model, trimmed_m: f64, load: f64) -> Self {
        let mean = model.step * self.mean + model.pull * trimmed_m;
        let spread =
            model.step * self.spread * model.step.transpose() + model.noise + model.stick * load;
        Self { mean, spread }
    }

    /// Takes both measurements; twice the logarithm of their likelihood, without its constant.
    fn correct(&self, heights: &Heights, place: usize) -> (Self, f64) {
        let beside = heights.beside;
        let reads = |of: &dyn Fn(usize) -> f64| [of(E) - of(K), of(beside) + of(GUST)];
        let mean = &self.mean;
        let expected = reads(&|at| mean[at]);
        let error = SVector::<f64, 2>::from([
            heights.measured[place][0] - expected[0],
            heights.measured[place][1] - expected[1],
        ]);
        // The covariance of the states with both measurements.
        let with = SMatrix::<f64, STATES, 2>::from_columns(&[
            self.spread.column(E) - self.spread.column(K),
            self.spread.column(beside) + self.spread.column(GUST),
        ]);
        let row = |column: usize| reads(&|at| with[(at, column)]);
        let ([a, b], [_, d]) = (row(0), row(1));
        let variance =
            SMatrix::<f64, 2, 2>::new(a + heights.variances[0], b, b, d + heights.variances[1]);
        let determinant = variance[(0, 0)] * variance[(1, 1)] - variance[(0, 1)].powi(2);
        let inverse = SMatrix::<f64, 2, 2>::new(
            variance[(1, 1)],
            -variance[(0, 1)],
            -variance[(0, 1)],
            variance[(0, 0)],
        ) / determinant;
        let gain = with * inverse;
        let spread = self.spread - gain * with.transpose();
        let after =
            Self { mean: self.mean + gain * error, spread: 0.5 * (spread + spread.transpose()) };
        (after, -(error.dot(&(inverse * error)) + determinant.ln()))
    }
}

/// The logarithm of the likelihood of a part of the recording.
pub fn log_likelihood(heights: &Heights, model: &Model, loads: &Loads, part: Range<usize>) -> f64 {
    let mut belief = Belief { mean: heights.first(part.start), spread: model.first };
    let mut sum = 0.0;
    for place in part.clone() {
        if place > part.start {
            belief = belief.forecast(model, heights.trimmed_m[place], loads.0[place]);
        }
        let (after, twice) = belief.correct(heights, place);
        (belief, sum) = (after, sum + 0.5 * twice);
    }
    sum
}

/// What the passes leave: the filter's states, and the smoother's.
pub struct Passed {
    filtered: Vec<Belief>,
    forecast: Vec<Belief>,
    smoothed: Vec<Belief>,
}

/// Filters forward and smooths back.
pub fn smooth(heights: &Heights, model: &Model, loads: &Loads) -> Passed {
    let count = heights.count();
    let (mut filtered, mut forecast) = (Vec::with_capacity(count), Vec::with_capacity(count));
    let mut belief = Belief { mean: heights.first(0), spread: model.first };
    for place in 0..count {
        if place > 0 {
            belief = belief.forecast(model, heights.trimmed_m[place], loads.0[place]);
        }
        forecast.push(belief);
        belief = belief.correct(heights, place).0;
        filtered.push(belief);
    }
    let mut smoothed = filtered.clone();
    for place in (0..count - 1).rev() {
        let (now, then): (&Belief, &Belief) = (&filtered[place], &forecast[place + 1]);
        let gain = back(now, then, model);
        let later = smoothed[place + 1];
        smoothed[place] = Belief {
            mean: now.mean + gain * (later.mean - then.mean),
            spread: now.spread + gain * (later.spread - then.spread) * gain.transpose(),
        };
    }
    Passed { filtered, forecast, smoothed }
}

/// How a change of the next state moves the present one.
fn back(now: &Belief, then: &Belief, model: &Model) -> Matrix {
    let covariance = now.spread * model.step.transpose();
    // The forecast's spread is symmetric and positive: noise enters every state.
    then.spread
        .cholesky()
        .map_or(Matrix::zeros(), |root| root.solve(&covariance.transpose()).transpose())
}

impl Passed {
    /// The likeliest climb, m/s.
    pub fn climb_mps(&self) -> Vec<f64> {
        self.smoothed.iter().map(|belief| belief.mean[SLOW] + belief.mean[QUICK]).collect()
    }

    /// Its standard deviation by the model, m/s.
    pub fn climb_deviation_mps(&self) -> impl Iterator<Item = f64> + '_ {
        self.smoothed.iter().map(|belief| {
            let at = |row: usize, column: usize| belief.spread[(row, column)];
            (at(SLOW, SLOW) + at(QUICK, QUICK) + 2.0 * at(SLOW, QUICK)).max(0.0).sqrt()
        })
    }

    /// How hard the stick worked at each moment, and its usual exchange, m/s rms.
    pub fn loads(&self, step_s: f64) -> (Loads, f64) {
        let squares: Vec<f64> = self
            .smoothed
            .iter()
            .map(|belief| belief.mean[X].powi(2) + belief.spread[(X, X)])
            .collect();
        let squares = around(&squares, LOAD_OVER_S / step_s);
        let mut sorted = squares.clone();
        sorted.sort_unstable_by(f64::total_cmp);
        let usual = sorted[sorted.len() / 2].max(1e-6);
        let loads = squares.iter().map(|square| (square / usual).max(LEAST_LOAD)).collect();
        (Loads(loads), usual.sqrt())
    }

    /// Climbs drawn from what the passes leave open, m/s.
    pub fn draws(&self, model: &Model, count: usize, seed: u64) -> Vec<Vec<f64>> {
        let last = self.filtered.len() - 1;
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let mut states: Vec<Vector> = (0..count)
            .map(|_| {
                let last = &self.filtered[last];
                last.mean + root_of(&last.spread) * normal(&mut rng)
            })
            .collect();
        let climb = |state: &Vector| state[SLOW] + state[QUICK];
        let mut draws: Vec<Vec<f64>> =
            states.iter().map(|state| vec![climb(state); last + 1]).collect();
        for place in (0..last).rev() {
            let (now, then) = (&self.filtered[place], &self.forecast[place + 1]);
            let gain = back(now, then, model);
            let root = root_of(&(now.spread - gain * then.spread * gain.transpose()));
            for (state, draw) in states.iter_mut().zip(&mut draws) {
                *state = now.mean + gain * (*state - then.mean) + root * normal(&mut rng);
                draw[place] = climb(state);
            }
        }
        draws
    }
}

/// The lower root of a covariance that rounding may have made a little less than positive.
fn root_of(spread: &Matrix) -> Matrix {
    let regular = 0.5 * (spread + spread.transpose()) + Matrix::identity() * ROUNDING;
    regular.cholesky().map_or(Matrix::zeros(), |root| root.l())
}

fn normal(rng: &mut ChaCha8Rng) -> Vector {
    Vector::from_fn(|_, _| StandardNormal.sample(rng))
}
