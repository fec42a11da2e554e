//! How far each turn was off the core's middle, what that cost, and when it was first centred.

use super::air::{Piece, Turn};
use super::bell::Bell;
use super::bell_fit::Fit;

/// A core whose middle is less certain is none, m.
const LEAST_CERTAIN_M: f64 = 60.0;
/// Whether a turn is within 25 m is said only of a core that is more certain, m.
const CERTAIN_M: f64 = 40.0;
/// And so is one that is weaker, m/s.
const WEAKEST_MPS: f64 = 0.7;
/// Where the bell explains a climb no better than by this chi-square, three deviations, than lift
/// that is the same everywhere, the climb does not show where the middle is. Of 102 climbs in lift
/// that is the same everywhere, most of them in gusts of 0.7 m/s, six are beyond it; of a hundred
/// made thermals 89 (`tests/centring`).
const UNEVEN: f64 = 9.0;
/// Who is no further off is centred, m.
pub const CENTRED_M: f64 = 25.0;
/// Beyond this the loss reads about half of what it is, m.
pub const FAR_M: f64 = 80.0;
/// What a round bell cannot show of a thermal that is not round and wanders: chosen so that two
/// thirds of the errors on made thermals are within what is stated (`tests/centring`).
const NOT_ROUND_M: f64 = 6.0;
const NOT_ROUND_MPS: f64 = 0.03;

/// A piece of a climb with its core.
#[derive(Clone, Debug)]
pub struct Core {
    pub(super) piece: Piece,
    pub(super) fit: Fit,
    /// Of each turn of the piece.
    pub(super) off: Vec<Off>,
}

/// How far a turn was off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Off {
    /// Distance of its middle from the core's, m, and the error by the fit.
    pub off_m: f64,
    pub error_m: f64,
    /// The climb that it lost by that, m/s, and the error by the fit.
    pub lost_mps: f64,
    pub lost_error_mps: f64,
}

impl Core {
    /// The core of a piece with energy heights of its path, m; `None` where none shows.
    pub fn of(piece: &Piece, energy_m: &[f64]) -> Option<Self> {
        let fit = Fit::of(piece, energy_m)?;
        let shows =
            fit.bell.strength_mps() >= WEAKEST_MPS && fit.middle_error_m() <= LEAST_CERTAIN_M;
        let mut core = shows.then(|| Self { piece: piece.clone(), fit, off: Vec::new() })?;
        core.off = core.offs();
        Some(core)
    }

    /// Where a place is at a second of the piece, m east and north of the core's middle.
    pub(super) fn off_middle_m(&self, place_m: [f64; 2], second: f64) -> [f64; 2] {
        let middle = self.middle_m(second);
        [place_m[0] - middle[0], place_m[1] - middle[1]]
    }

    /// Where the glider is at a second of the piece, m east and north of the core's middle.
    pub(super) fn seen_m(&self, second: f64) -> [f64; 2] {
        self.off_middle_m(self.piece.place_m(second), second)
    }

    /// Whether the climb shows that the lift has a middle.
    pub(super) fn is_uneven(&self) -> bool {
        self.clarity() >= UNEVEN
    }

    /// How much better it explains the climb than lift that is the same everywhere, in chi-square.
    pub(super) fn clarity(&self) -> f64 {
        self.fit.better_than_even
    }

    /// Whether a turn can be said to be within 25 m.
    pub(super) fn is_certain(&self) -> bool {
        self.fit.middle_error_m() <= CERTAIN_M
    }

    /// Where the core's middle is at a second of the piece, m.
    pub fn middle_m(&self, second: f64) -> [f64; 2] {
        self.fit.bell.middle_m(second - self.fit.middle_s)
    }

    /// Seconds of the path at which the first whole turn begins that is centred.
    pub fn centred_from(&self) -> Option<f64> {
        let off = |turn: &Turn| {
            let [east, north] = self.off_middle_m(turn.middle_m, turn.middle_s());
            east.hypot(north) <= CENTRED_M
        };
        let turn = self.piece.sliding().find(off)?;
        Some(self.piece.seconds.start as f64 + turn.from)
    }

    fn offs(&self) -> Vec<Off> {
        let spread = self.fit.spread();
        let circle_m = self.piece.radius_m();
        let of = |turn: &Turn| {
            let by = |bell: &Bell| {
                let middle = bell.middle_m(turn.middle_s() - self.fit.middle_s);
                let off_m = distance_m(turn.middle_m, middle);
                [off_m, bell.lost_mps(off_m, circle_m)]
            };
            let [off_m, lost_mps] = by(&self.fit.bell);
            let mut squares = [0.0; 2];
            for bell in &spread {
                let [off, lost] = by(bell);
                squares[0] += (off - off_m).powi(2) / spread.len() as f64;
                squares[1] += (lost - lost_mps).powi(2) / spread.len() as f64;
            }
            let [error_m, lost_error_mps] = squares.map(f64::sqrt);
            Off { off_m, error_m, lost_mps, lost_error_mps }
        };
        self.piece.turns.iter().map(of).collect()
    }
}

/// The errors of a mean over the turns of some cores: those of one core's turns go together, those
/// of different cores do not; and what no bell shows.
pub(super) fn errors(cores: &[Core]) -> [f64; 2] {
    let turns = cores.iter().map(|core| core.off.len()).sum::<usize>().max(1) as f64;
    let mut squares = [0.0; 2];
    for core in cores {
        let mean = |of: fn(&Off) -> f64| core.off.iter().map(of).sum::<f64>() / turns;
        squares[0] += mean(|off| off.error_m).powi(2);
        squares[1] += mean(|off| off.lost_error_mps).powi(2);
    }
    [(squares[0] + NOT_ROUND_M.powi(2)).sqrt(), (squares[1] + NOT_ROUND_MPS.powi(2)).sqrt()]
}

fn distance_m(one: [f64; 2], other: [f64; 2]) -> f64 {
    (one[0] - other[0]).hypot(one[1] - other[1])
}
