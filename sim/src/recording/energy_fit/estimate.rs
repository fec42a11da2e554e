//! The posterior of the unknowns: the equation is linear but for gain and lateness, so it is solved
//! a few times about the last answer, with the noise that the last answer left.

use super::LEAST_NOISE_M2PS;
use super::model::{Channels, Equation, GAIN, LATE, UNKNOWNS};
use super::pieces::{Pieces, Spectra};
use super::sink::G;
use super::solve::{Square, factor, solved, square_form};
use realfft::num_complex::Complex64;

/// How often it is solved; the lateness then changes by less than a millisecond.
const ROUNDS: usize = 5;
/// Lateness is first looked for on both sides up to this, in steps, s, and is never more than the
/// last of these.
const LOOKED_FOR_S: f64 = 2.0;
const LOOKED_FOR_STEP_S: f64 = 0.05;
const MOST_LATE_S: f64 = 2.5;
/// The most that a round may change it, s.
const MOST_CHANGE_S: f64 = 0.8;
const GAINS: (f64, f64) = (0.3, 2.5);
/// How strongly the noise of a piece is taken for that of all, in places of a spectrum (a guess).
const ALIKE: f64 = 10.0;
/// Hann's window makes neighbouring places alike: so many count as one.
const PLACES_AS_ONE: f64 = 1.5;
/// A fit that is off by more than so many times the noise is not one law (a guess: up to 1.6 in
/// planted flights, 37 where a recorder of one sample a second smooths the pressure).
pub const MOST_MISFIT: f64 = 4.0;

/// What is known in the end.
pub(super) struct Estimate {
    /// How much of the speed changes the source gives, and its standard error.
    pub gain: f64,
    pub gain_error: f64,
    /// How late it is, s, and the standard error.
    pub late_s: f64,
    pub late_error_s: f64,
    /// Pieces used.
    pub manoeuvres: usize,
    /// See [`super::EnergyFit`].
    pub explained: f64,
    pub misfit: f64,
}

/// The noise: its power by place, and how large it is in each piece against the middle one.
struct Noise {
    power: Vec<f64>,
    sizes: Vec<f64>,
}

/// The answer of a round.
#[derive(Clone, Copy)]
struct Answer {
    unknowns: [f64; UNKNOWNS],
    errors: [f64; UNKNOWNS],
}

/// Estimates the unknowns; `None` where too few pieces have a change of speed.
pub(super) fn of(channels: &Channels) -> Option<Estimate> {
    let pieces = Pieces::of(&channels.kinetic)?;
    let height = channels.height(&pieces);
    let least = LEAST_NOISE_M2PS / channels.kinetic.step_s;
    let mut late_s =
        if channels.is_probe { 0.0 } else { first_lateness(channels, &pieces, &height) };
    let mut answer =
        Answer { unknowns: channels.prior.means, errors: channels.prior.deviations };
    let mut noise = Noise { power: Vec::new(), sizes: vec![1.0; pieces.count()] };
    let (mut misfit, mut explained) = (1.0, 0.0);
    for round in 0..ROUNDS {
        let gain = answer.unknowns[GAIN].clamp(GAINS.0, GAINS.1);
        let equation = channels.equation(&pieces, &height, gain, late_s);
        let mut known = answer.unknowns;
        if !channels.is_probe {
            known[LATE] = 0.0;
        }
        let rest = equation.rest(&known);
        noise.follow(&rest, least, round > 0);
        if round > 1 {
            misfit = noise.misfit(&rest, &height);
        }
        explained = 1.0 - noise.sum(&rest) / noise.sum(&equation.target);
        answer = solve(channels, &pieces, &equation, &noise, gain, misfit)?;
        if !channels.is_probe {
            let change_s = answer.unknowns[LATE].clamp(-MOST_CHANGE_S, MOST_CHANGE_S);
            late_s = (late_s + change_s).clamp(-MOST_LATE_S, MOST_LATE_S);
        }
    }
    Some(Estimate {
        gain: answer.unknowns[GAIN].clamp(GAINS.0, GAINS.1),
        gain_error: answer.errors[GAIN],
        late_s,
        late_error_s: answer.errors[LATE],
        manoeuvres: pieces.count(),
        explained,
        misfit,
    })
}

/// The lateness at which height and source mirror each other best.
fn first_lateness(channels: &Channels, pieces: &Pieces, height: &Spectra) -> f64 {
    let source = channels.source(pieces, 0.0);
    let cross: Vec<Complex64> = (0..pieces.omegas.len())
        .map(|place| height.iter().zip(&source).map(|(h, k)| k[place] * h[place].conj()).sum())
        .collect();
    let mirrored = |late_s: f64| -> f64 {
        let turned = |(omega, cross): (&f64, &Complex64)| {
            -(cross * Complex64::from_polar(1.0, omega * late_s)).re
        };
        pieces.omegas.iter().zip(&cross).map(turned).sum()
    };
    let steps = (LOOKED_FOR_S / LOOKED_FOR_STEP_S) as i32;
    (-steps..=steps)
        .map(|step| f64::from(step) * LOOKED_FOR_STEP_S)
        .max_by(|a, b| mirrored(*a).total_cmp(&mirrored(*b)))
        .unwrap_or(0.0)
}

impl Equation {
    /// What the unknowns leave of the target.
    fn rest(&self, unknowns: &[f64; UNKNOWNS]) -> Spectra {
        let mut rest = self.target.clone();
        for (column, unknown) in self.columns.iter().zip(unknowns) {
            for (rest, column) in rest.iter_mut().zip(column) {
                for (rest, of_one) in rest.iter_mut().zip(column) {
                    *rest -= of_one * unknown;
                }
            }
        }
        rest
    }
}

impl Noise {
    /// Takes the noise from what is left; without an answer yet, the same at all places.
    fn follow(&mut self, rest: &Spectra, least: f64, is_answered: bool) {
        let count = rest[0].len();
        let power: Vec<f64> = (0..count)
            .map(|place| {
                let sum: f64 = rest
                    .iter()
                    .zip(&self.sizes)
                    .map(|(piece, size)| piece[place].norm_sqr() / size)
                    .sum();
                sum / rest.len() as f64
            })
            .collect();
        let mean = power.iter().sum::<f64>() / count as f64;
        // The mean of five places; beyond the ends as at them.
        let near = |place: usize| {
            let at = |k: usize| power[(place + k).saturating_sub(2).min(count - 1)];
            (0..5).map(at).sum::<f64>() / 5.0
        };
        self.power = (0..count)
            .map(|place| least + if is_answered { near(place) } else { mean })
            .collect();
        if is_answered {
            self.follow_sizes(rest);
        }
    }

    fn follow_sizes(&mut self, rest: &Spectra) {
        let count = self.power.len() as f64;
        let places = count / PLACES_AS_ONE;
        let size = |piece: &Vec<Complex64>| {
            let sum: f64 =
                piece.iter().zip(&self.power).map(|(rest, power)| rest.norm_sqr() / power).sum();
            (places * sum / count + ALIKE) / (places + ALIKE)
        };
        let sizes: Vec<f64> = rest.iter().map(size).collect();
        let mut sorted = sizes.clone();
        sorted.sort_unstable_by(f64::total_cmp);
        let middle = sorted.len() / 2;
        let median = 0.5 * (sorted[middle] + sorted[(sorted.len() - 1) / 2]);
        self.sizes = sizes.into_iter().map(|size| size / median).collect();
    }

    fn weight(&self, piece: usize, place: usize) -> f64 {
        1.0 / (self.sizes[piece] * self.power[place])
    }

    /// The power of all pieces, by the size of their noise.
    fn sum(&self, spectra: &Spectra) -> f64 {
        let of_piece = |(piece, size): (&Vec<Complex64>, &f64)| {
            piece.iter().map(|value| value.norm_sqr() / size).sum::<f64>()
        };
        spectra.iter().zip(&self.sizes).map(of_piece).sum()
    }

    /// How much of the rest goes with the height at the single places, against what noise would: 1
    /// at least.
    fn misfit(&self, rest: &Spectra, height: &Spectra) -> f64 {
        let at = |place: usize| {
            let (mut cross, mut power) = (Complex64::ZERO, 0.0);
            for (piece, (rest, height)) in rest.iter().zip(height).enumerate() {
                let weight = self.weight(piece, place);
                cross += rest[place] * height[place].conj() * weight;
                power += height[place].norm_sqr() * weight;
            }
            cross.norm_sqr() / power
        };
        let count = self.power.len();
        ((0..count).map(at).sum::<f64>() / count as f64).max(1.0)
    }
}

/// The posterior about `gain`, with the likelihood tempered by the `misfit`.
fn solve(
    channels: &Channels,
    pieces: &Pieces,
    equation: &Equation,
    noise: &Noise,
    gain: f64,
    misfit: f64,
) -> Option<Answer> {
    let (mut information, mut right) = information(equation, noise, misfit);
    let prior = &channels.prior;
    for k in 0..UNKNOWNS {
        let weight = prior.deviations[k].powi(-2);
        information[k][k] += weight;
        right[k] += weight * prior.means[k];
    }
    let of_gusts = of_gusts(channels, pieces, equation.speed_mps, gain, misfit);
    let less = |share: f64| -> Square<UNKNOWNS> {
        let entry = |row: usize, column: usize| {
            information[row][column] - share * of_gusts[row][column]
        };
        std::array::from_fn(|row| std::array::from_fn(|column| entry(row, column)))
    };
    // Never more than half of the information: what is left must be able to lose it twice.
    let share = [1.0, 0.7, 0.5, 0.3, 0.2, 0.1]
        .into_iter()
        .find(|share| factor(&less(2.0 * share)).is_some())
        .unwrap_or(0.0);
    let lower = factor(&less(share))?;
    let unit = |k: usize| std::array::from_fn(|place| f64::from(u8::from(place == k)));
    let error = |k: usize| square_form(&information, &solved(&lower, &unit(k))).sqrt();
    Some(Answer {
        unknowns: solved(&lower, &right),
        errors: std::array::from_fn(error),
    })
}

/// The information of the recording on the unknowns, and the right side. Of a complex value the
/// real and the imaginary part have half of the noise each, and half-overlapping pieces count every
/// sample twice: both cancel.
fn information(
    equation: &Equation,
    noise: &Noise,
    misfit: f64,
) -> (Square<UNKNOWNS>, [f64; UNKNOWNS]) {
    let (mut matrix, mut right) = ([[0.0; UNKNOWNS]; UNKNOWNS], [0.0; UNKNOWNS]);
    for (piece, target) in equation.target.iter().enumerate() {
        for (place, target) in target.iter().enumerate() {
            let weight = noise.weight(piece, place) / misfit;
            let row: [Complex64; UNKNOWNS] =
                std::array::from_fn(|k| equation.columns[k][piece][place]);
            for a in 0..UNKNOWNS {
                let conjugate = row[a].conj() * weight;
                right[a] += (target * conjugate).re;
                for b in 0..=a {
                    matrix[a][b] += (row[b] * conjugate).re;
                }
            }
        }
    }
    for a in 0..UNKNOWNS {
        for b in 0..a {
            matrix[b][a] = matrix[a][b];
        }
    }
    (matrix, right)
}

/// What vertical gusts in the altitude's rate add to the information though they tell nothing: the
/// noise is that of the source, `(V omega / g)^2` of them, and what the gain makes of them.
fn of_gusts(
    channels: &Channels,
    pieces: &Pieces,
    speed_mps: f64,
    gain: f64,
    misfit: f64,
) -> Square<UNKNOWNS> {
    let mut matrix = [[0.0; UNKNOWNS]; UNKNOWNS];
    for &omega in &pieces.omegas {
        let row = channels.of_gusts(omega, gain);
        let share = gain * gain + (speed_mps * omega / G).powi(2);
        let weight = pieces.count() as f64 / (share * misfit);
        for a in 0..UNKNOWNS {
            for b in 0..UNKNOWNS {
                matrix[a][b] += (row[a] * row[b].conj()).re * weight;
            }
        }
    }
    matrix
}
