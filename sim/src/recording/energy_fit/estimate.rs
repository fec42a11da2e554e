//! The posterior of the unknowns: the equation is linear but for gain and lateness, so it is solved
//! a few times about the last answer, with the noise that the last answer left.

use super::model::{Channels, Equation, GAIN, LATE, Prior, UNKNOWNS};
use super::pieces::{Pieces, Spectra};
use super::sink::G;
use super::solve::{Square, factor, solved, square_form};
use realfft::num_complex::Complex64;

/// Least noise of a rate, as a density over both signs of frequency, m2/s2 a Hz: air is never
/// calmer, nor a glider's sink better known (a guess; 0.1 m/s rms at the periods that count).
const LEAST_NOISE_M2PS: f64 = 0.0097;
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
/// A pilot who chases the airspeed in gusts, or a glider that is trimmed to it, turns this share of
/// their kinetic height into height a second, and what is not known of it (guesses: a speed comes
/// back in some ten seconds; flights in gusts of up to 1.2 m/s agree).
const CHASED_PS: f64 = 0.1;
const CHASED_ERROR_PS: f64 = 0.06;
/// Hann's window makes neighbouring places alike: so many count as one.
const PLACES_AS_ONE: f64 = 1.5;
/// A fit that is off by more than so many times the noise is not one law (a guess: up to 1.6 in
/// planted flights, 37 where a recorder of one sample a second smooths the pressure).
pub const MOST_MISFIT: f64 = 4.0;

/// What is known in the end.
pub(super) struct Estimate {
    /// How much of the speed changes the source gives, and its error.
    pub gain: f64,
    pub gain_error: Error,
    /// How late it is, s, and the error.
    pub late_s: f64,
    pub late_error_s: Error,
    /// Pieces used.
    pub manoeuvres: usize,
    /// See [`super::EnergyFit`].
    pub explained: f64,
    pub misfit: f64,
}

/// A standard error and the part of it that all recordings of a glider have in common: what is not
/// known of its drag, in the unknowns and in the least noise, and of how its pilot chases gusts.
#[derive(Clone, Copy)]
pub(super) struct Error {
    pub whole: f64,
    pub shared: f64,
}

impl Error {
    fn of(whole: f64, own: f64) -> Self {
        Self { whole, shared: (whole * whole - own * own).max(0.0).sqrt() }
    }
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
    let mut answer = Answer { unknowns: channels.prior.means, errors: channels.prior.deviations };
    let mut noise = Noise { power: Vec::new(), sizes: vec![1.0; pieces.count()] };
    let (mut misfit, mut explained) = (1.0, 0.0);
    let mut own = answer;
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
        let asked = Asked { channels, pieces: &pieces, equation: &equation, gain, misfit };
        answer = asked.solve(&noise, &channels.prior, CHASED_ERROR_PS)?;
        if round + 1 == ROUNDS {
            own = asked.solve(&noise.without(least), &channels.prior.with_known_drag(), 0.0)?;
        }
        if !channels.is_probe {
            let change_s = answer.unknowns[LATE].clamp(-MOST_CHANGE_S, MOST_CHANGE_S);
            late_s = (late_s + change_s).clamp(-MOST_LATE_S, MOST_LATE_S);
        }
    }
    Some(Estimate {
        gain: answer.unknowns[GAIN].clamp(GAINS.0, GAINS.1),
        gain_error: Error::of(answer.errors[GAIN], own.errors[GAIN]),
        late_s,
        late_error_s: Error::of(answer.errors[LATE], own.errors[LATE]),
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
        self.power =
            (0..count).map(|place| least + if is_answered { near(place) } else { mean }).collect();
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

    /// The same without the least noise.
    fn without(&self, least: f64) -> Self {
        let power = self.power.iter().map(|power| (power - least).max(0.01 * least)).collect();
        Self { power, sizes: self.sizes.clone() }
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

/// What is to be solved: the equation about `gain`, its likelihood tempered by the `misfit`.
struct Asked<'a> {
    channels: &'a Channels,
    pieces: &'a Pieces,
    equation: &'a Equation,
    gain: f64,
    misfit: f64,
}

impl Asked<'_> {
    /// The posterior; `None` where numbers fail.
    fn solve(&self, noise: &Noise, prior: &Prior, chased_error_ps: f64) -> Option<Answer> {
        let (mut information, mut right) = information(self.equation, noise, self.misfit);
        for k in 0..UNKNOWNS {
            let weight = prior.deviations[k].powi(-2);
            information[k][k] += weight;
            right[k] += weight * prior.means[k];
        }
        let chased = self.of_chasing();
        for (right, chased) in right.iter_mut().zip(chased) {
            *right -= CHASED_PS * chased;
        }
        let of_gusts = self.of_gusts();
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
        let by_chasing = solved(&lower, &chased).map(|by| chased_error_ps * by);
        let error = |k: usize| {
            square_form(&information, &solved(&lower, &unit(k))).sqrt().hypot(by_chasing[k])
        };
        Some(Answer { unknowns: solved(&lower, &right), errors: std::array::from_fn(error) })
    }

    /// What a pilot who chases the airspeed in gusts puts into the right side, of one part of the
    /// gust's kinetic height turned into height a second: the noise of the source then comes back
    /// in the altitude's rate, a quarter of a wave later, and looks like lateness.
    fn of_chasing(&self) -> [f64; UNKNOWNS] {
        let mut right = [0.0; UNKNOWNS];
        for &omega in &self.pieces.omegas {
            let row = self.channels.of_gusts(omega, self.gain);
            let of_source = (self.equation.speed_mps * omega / G).powi(2);
            let share = of_source / (of_source + self.gain.powi(2));
            let weight = self.pieces.count() as f64 * share / self.misfit;
            for (right, of_height) in right.iter_mut().zip(row) {
                *right += (of_height / Complex64::new(0.0, omega)).re * weight;
            }
        }
        right
    }

    /// What vertical gusts in the altitude's rate add to the information though they tell nothing:
    /// the noise is that of the source, `(V omega / g)^2` of them, and what the gain makes of them.
    fn of_gusts(&self) -> Square<UNKNOWNS> {
        let mut matrix = [[0.0; UNKNOWNS]; UNKNOWNS];
        for &omega in &self.pieces.omegas {
            let row = self.channels.of_gusts(omega, self.gain);
            let share = self.gain.powi(2) + (self.equation.speed_mps * omega / G).powi(2);
            let weight = self.pieces.count() as f64 / (share * self.misfit);
            for a in 0..UNKNOWNS {
                for b in 0..UNKNOWNS {
                    matrix[a][b] += (row[a] * row[b].conj()).re * weight;
                }
            }
        }
        matrix
    }
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
    let matrix =
        std::array::from_fn(|a: usize| std::array::from_fn(|b: usize| matrix[a.max(b)][a.min(b)]));
    (matrix, right)
}
