//! How height, speed and gusts move.
//!
//! ```text
//! E  energy height of the glider relative to the mean air mass     E' = c
//! c  climb: a slow part (thermals) and a quick one (turbulence)    each first-order
//! K  kinetic height of that motion                                 K' = x
//! x  exchange: what the stick turns from height into speed         x' = -x/T - k (K + g - Ks) + n
//! n  noise: what the stick does
//! g  gust height V u / g of the gusts u along the path             first-order
//!
//! height  h = E - K          kinetic height of the airspeed = K + g          probe = E + g
//! ```
//!
//! The term with k is the phugoid: a glider that is faster than trimmed (Ks, the airspeed of the
//! half minute around) rises and slows down, whether it got faster by the stick or by a gust. For
//! a fixed stick k = 2 (g / V)^2 in textbooks of flight mechanics (Lanchester's phugoid, from
//! memory); with a pilot who holds the speed it is found from the recording.
//!
//! First-order gusts along the path are those of the Dryden spectrum (MIL-F-8785C).

use nalgebra::{SMatrix, SVector};

/// Number of states: E, both parts of c, K, x, g.
pub const STATES: usize = 6;
/// Their places.
pub const E: usize = 0;
/// The slow climb.
pub const SLOW: usize = 1;
/// The quick climb.
pub const QUICK: usize = 2;
/// Kinetic height.
pub const K: usize = 3;
/// Exchange.
pub const X: usize = 4;
/// Gust height.
pub const GUST: usize = 5;

/// A matrix of the states.
pub type Matrix = SMatrix<f64, STATES, STATES>;
/// A vector of the states.
pub type Vector = SVector<f64, STATES>;

/// Time in which a climb is forgotten, s: minutes make no difference (a guess).
const CLIMB_LASTS_S: f64 = 60.0;
/// A little noise of the kinetic height, m2/s, keeps its variance from becoming singular.
const KEEPS_REGULAR: f64 = 1e-5;

/// What moved, and how strongly.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strengths {
    /// How fast the climb wanders, m/s in the root of a second.
    pub thermals: f64,
    /// Turbulence up and down, m/s rms.
    pub turbulence_mps: f64,
    /// How long it lasts, s.
    pub turbulence_lasts_s: f64,
    /// What the stick exchanges, m/s rms, where it does little.
    pub stick_mps: f64,
    /// How long that lasts, s.
    pub stick_lasts_s: f64,
    /// Gust height, m rms.
    pub gusts_m: f64,
    /// How long a gust lasts, s.
    pub gusts_last_s: f64,
    /// k of the phugoid, 1/s2.
    pub phugoid_ps2: f64,
}

impl Default for Strengths {
    /// An ordinary day (guesses): where the search begins, and what it is drawn to.
    fn default() -> Self {
        Self {
            thermals: 0.4,
            turbulence_mps: 0.2,
            turbulence_lasts_s: 4.0,
            stick_mps: 0.5,
            stick_lasts_s: 2.0,
            gusts_m: 0.8,
            gusts_last_s: 6.0,
            phugoid_ps2: 0.1,
        }
    }
}

impl Strengths {
    /// Number of strengths.
    pub(crate) const COUNT: usize = 8;

    /// Their logarithms.
    pub(crate) fn logarithms(&self) -> [f64; Self::COUNT] {
        [
            self.thermals,
            self.turbulence_mps,
            self.turbulence_lasts_s,
            self.stick_mps,
            self.stick_lasts_s,
            self.gusts_m,
            self.gusts_last_s,
            self.phugoid_ps2,
        ]
        .map(f64::ln)
    }

    /// From their logarithms.
    pub(crate) fn from_logarithms(logarithms: &[f64]) -> Self {
        let at = |place: usize| logarithms.get(place).map_or(1.0, |value| value.exp());
        Self {
            thermals: at(0),
            turbulence_mps: at(1),
            turbulence_lasts_s: at(2),
            stick_mps: at(3),
            stick_lasts_s: at(4),
            gusts_m: at(5),
            gusts_last_s: at(6),
            phugoid_ps2: at(7),
        }
    }
}

/// One step of the model: `next = step * now + pull * Ks + noise`.
#[derive(Clone, Debug)]
pub struct Model {
    /// The step.
    pub step: Matrix,
    /// What the trimmed kinetic height adds, per m.
    pub pull: Vector,
    /// Covariance of the noise, without the stick's.
    pub noise: Matrix,
    /// Covariance of the stick's noise at a load of 1.
    pub stick: Matrix,
    /// Covariance at the beginning, about the first height and kinetic height.
    pub first: Matrix,
}

impl Model {
    /// The model with `strengths`, from one moment to the next `step_s` later.
    pub fn of(strengths: &Strengths, step_s: f64) -> Self {
        let s = strengths;
        let mut rates = Matrix::zeros();
        (rates[(E, SLOW)], rates[(E, QUICK)], rates[(K, X)]) = (1.0, 1.0, 1.0);
        rates[(SLOW, SLOW)] = -1.0 / CLIMB_LASTS_S;
        rates[(QUICK, QUICK)] = -1.0 / s.turbulence_lasts_s;
        rates[(X, X)] = -1.0 / s.stick_lasts_s;
        (rates[(X, K)], rates[(X, GUST)]) = (-s.phugoid_ps2, -s.phugoid_ps2);
        rates[(GUST, GUST)] = -1.0 / s.gusts_last_s;
        let mut stick = Vector::zeros();
        stick[X] = 2.0 * s.stick_mps.powi(2) / s.stick_lasts_s;
        let mut noise = Vector::zeros();
        noise[SLOW] = s.thermals.powi(2);
        noise[QUICK] = 2.0 * s.turbulence_mps.powi(2) / s.turbulence_lasts_s;
        noise[K] = KEEPS_REGULAR;
        noise[GUST] = 2.0 * s.gusts_m.powi(2) / s.gusts_last_s;
        let (step, noise) = discrete(&rates, &noise, step_s);
        let (_, stick) = discrete(&rates, &stick, step_s);
        Self { step, pull: pull(&rates, s.phugoid_ps2, step_s), noise, stick, first: first(s) }
    }
}

/// The step matrix and the noise gathered over a step, by Van Loan's method (1978, from memory).
fn discrete(rates: &Matrix, densities: &Vector, step_s: f64) -> (Matrix, Matrix) {
    const BOTH: usize = 2 * STATES;
    let mut both = SMatrix::<f64, BOTH, BOTH>::zeros();
    both.fixed_view_mut::<STATES, STATES>(0, 0).copy_from(&-rates);
    both.fixed_view_mut::<STATES, STATES>(0, STATES).copy_from(&Matrix::from_diagonal(densities));
    both.fixed_view_mut::<STATES, STATES>(STATES, STATES).copy_from(&rates.transpose());
    let both = (both * step_s).exp();
    let step = both.fixed_view::<STATES, STATES>(STATES, STATES).transpose();
    let noise = step * both.fixed_view::<STATES, STATES>(0, STATES);
    (step, 0.5 * (noise + noise.transpose()))
}

/// What an input of 1 to the exchange's rate, times `phugoid_ps2`, adds over a step.
fn pull(rates: &Matrix, phugoid_ps2: f64, step_s: f64) -> Vector {
    const MORE: usize = STATES + 1;
    let mut with_input = SMatrix::<f64, MORE, MORE>::zeros();
    with_input.fixed_view_mut::<STATES, STATES>(0, 0).copy_from(rates);
    with_input[(X, STATES)] = phugoid_ps2;
    (with_input * step_s).exp().fixed_view::<STATES, 1>(0, STATES).into()
}

fn first(s: &Strengths) -> Matrix {
    let gusts = s.gusts_m.powi(2);
    let mut first = Matrix::from_diagonal(&Vector::from([
        gusts + 1.0,
        9.0,
        s.turbulence_mps.powi(2),
        gusts + 1.0,
        s.stick_mps.powi(2),
        gusts,
    ]));
    // The first kinetic height is measured with its gust.
    (first[(E, K)], first[(K, E)]) = (gusts, gusts);
    for place in [E, K] {
        (first[(place, GUST)], first[(GUST, place)]) = (-gusts, -gusts);
    }
    first
}
