//! The figures of a reading, and the sums that they are made of. What they mean stands in
//! [`super::judge`] and in the book.

use crate::recording::truth::GRID_S;
use serde::Serialize;

/// Lags are tried up to this, in moments of the grid: 4 s.
pub(super) const MOST_LAG: usize = (4.0 / GRID_S) as usize;

/// What a false beep and a missed climb cost, to be added to the error: our choice (a guess).
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Weights {
    /// One false beep a minute, m/s.
    pub false_beep_mps: f64,
    /// All climbs missed, m/s.
    pub missed_mps: f64,
}

impl Default for Weights {
    fn default() -> Self {
        Self { false_beep_mps: 0.02, missed_mps: 0.5 }
    }
}

/// Sums over a part of a flight, to be added up.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sums {
    /// Seconds compared, and the sum of the squared errors of their means.
    pub(super) seconds: f64,
    pub(super) squares: f64,
    /// Moments compared, squared errors with the truth delayed by each lag, and the truth's own
    /// variance.
    pub(super) moments: f64,
    pub(super) lagged: [f64; MOST_LAG + 1],
    pub(super) open: f64,
    /// Minutes in which the truth was below the threshold's margin.
    pub(super) quiet_min: f64,
    pub(super) false_beeps: f64,
    pub(super) climbs: f64,
    pub(super) missed: f64,
}

/// The figures.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Score {
    /// Error, m/s rms.
    pub error_mps: f64,
    /// Lag, s.
    pub lag_s: f64,
    /// Noise, m/s rms.
    pub noise_mps: f64,
    /// False beeps a minute of air that does not climb.
    pub false_beeps_per_min: f64,
    /// Climbs.
    pub climbs: u64,
    /// Share of them that was missed, 0 to 1.
    pub missed_share: f64,
    /// All of it in one number, m/s.
    pub cost_mps: f64,
}

impl Score {
    /// What the cost is made of, m/s: error, false beeps, missed climbs.
    pub fn parts_mps(&self, weights: &Weights) -> [f64; 3] {
        [
            self.error_mps,
            weights.false_beep_mps * self.false_beeps_per_min,
            weights.missed_mps * self.missed_share,
        ]
    }
}

impl Sums {
    /// The sum of several.
    pub fn all<'a>(parts: impl IntoIterator<Item = &'a Sums>) -> Self {
        parts.into_iter().fold(Self::default(), |mut all, part| {
            all.add(part);
            all
        })
    }

    /// Adds another part.
    pub fn add(&mut self, other: &Self) {
        self.seconds += other.seconds;
        self.squares += other.squares;
        self.moments += other.moments;
        self.lagged.iter_mut().zip(other.lagged).for_each(|(sum, other)| *sum += other);
        self.open += other.open;
        self.quiet_min += other.quiet_min;
        self.false_beeps += other.false_beeps;
        self.climbs += other.climbs;
        self.missed += other.missed;
    }

    /// Whether anything was compared.
    pub fn is_empty(&self) -> bool {
        self.seconds == 0.0
    }

    /// False beeps.
    pub fn false_beeps(&self) -> f64 {
        self.false_beeps
    }

    /// Climbs missed.
    pub fn missed(&self) -> f64 {
        self.missed
    }

    /// Seconds that were compared.
    pub fn lasts_s(&self) -> f64 {
        self.seconds
    }

    /// The figures of all that was added up; zeros where nothing was.
    pub fn score(&self, weights: &Weights) -> Score {
        if self.is_empty() {
            return Score::default();
        }
        let share = |part: f64, of: f64| if of > 0.0 { part / of } else { 0.0 };
        let (lag_s, least) = self.best_lag();
        let mut score = Score {
            error_mps: (self.squares / self.seconds).sqrt(),
            lag_s,
            noise_mps: share(least + self.open, self.moments).sqrt(),
            false_beeps_per_min: share(self.false_beeps, self.quiet_min),
            climbs: self.climbs.round() as u64,
            missed_share: share(self.missed, self.climbs),
            cost_mps: 0.0,
        };
        score.cost_mps = score.parts_mps(weights).iter().sum();
        score
    }

    /// The lag of least error, by a parabola through the best and its neighbours, and that error's
    /// sum of squares.
    fn best_lag(&self) -> (f64, f64) {
        let best =
            (0..=MOST_LAG).min_by(|a, b| self.lagged[*a].total_cmp(&self.lagged[*b])).unwrap_or(0);
        if best == 0 || best == MOST_LAG {
            return (best as f64 * GRID_S, self.lagged[best]);
        }
        let (before, at, after) = (self.lagged[best - 1], self.lagged[best], self.lagged[best + 1]);
        let bend = before - 2.0 * at + after;
        let share = if bend > 0.0 { 0.5 * (before - after) / bend } else { 0.0 };
        ((best as f64 + share) * GRID_S, at - 0.25 * (before - after) * share)
    }
}
