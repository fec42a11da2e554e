//! The quality of a reading against the truth: error, lag, noise, false beeps and missed climbs.
//!
//! ```text
//! error       root mean square of reading - truth
//! lag         the delay of the truth, 0 to 4 s, with which the reading agrees best
//! noise       the error that remains with that delay
//! false beep  the reading reaches the threshold while the truth stays 0.3 m/s below it from a
//!             second before to a second after
//! missed      a climb of 0.3 m/s beyond the threshold for 3 s or more, in whose first 2 s the
//!             reading does not reach it
//! cost        error + 0.02 m/s for each false beep a minute + 0.5 m/s times the share of climbs
//!             missed
//! ```
//!
//! The weights of the cost are our choice (a guess; no source).

use crate::recording::truth::{GRID_S, Truth};
use serde::Serialize;

const MOST_LAG: usize = (4.0 / GRID_S) as usize;
const MARGIN_MPS: f64 = 0.3;
const AROUND: usize = (1.0 / GRID_S) as usize;
const CLIMB: usize = (3.0 / GRID_S) as usize;
const HEARD_WITHIN: usize = (2.0 / GRID_S) as usize;
const HYSTERESIS_MPS: f64 = 0.1;
const FALSE_BEEP_MPS: f64 = 0.02;
const MISSED_MPS: f64 = 0.5;

/// Sums over a part of a flight, to be added up.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sums {
    /// Moments compared, and the sum of the squared errors.
    moments: f64,
    squares: f64,
    /// Squared errors with the truth delayed by each lag.
    lagged: [f64; MOST_LAG + 1],
    /// Minutes in which the truth was below the threshold's margin.
    quiet_min: f64,
    false_beeps: f64,
    climbs: f64,
    missed: f64,
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

impl Sums {
    /// Of one part of a flight, its moments from `from` to `to`, with beeps that begin at
    /// `climb_from_mps`.
    pub fn of(
        truth: &Truth,
        readings: &[Option<f32>],
        (from, to): (usize, usize),
        climb_from_mps: f64,
    ) -> Self {
        let mut sums = Self::default();
        let true_mps = &truth.rate_mps.values;
        for place in from.max(MOST_LAG)..to {
            let Some(reading) = readings[place].map(f64::from) else { continue };
            sums.moments += 1.0;
            sums.squares += (reading - true_mps[place]).powi(2);
            for (lag, sum) in sums.lagged.iter_mut().enumerate() {
                *sum += (reading - true_mps[place - lag]).powi(2);
            }
        }
        sums.beeps(true_mps, readings, (from, to), climb_from_mps);
        sums.climbs(true_mps, readings, (from, to), climb_from_mps);
        sums
    }

    fn beeps(
        &mut self,
        true_mps: &[f64],
        readings: &[Option<f32>],
        (from, to): (usize, usize),
        climb_from_mps: f64,
    ) {
        let mut beeping = false;
        for place in from..to {
            let Some(reading) = readings[place].map(f64::from) else {
                beeping = false;
                continue;
            };
            let around =
                &true_mps[place.saturating_sub(AROUND)..(place + AROUND + 1).min(true_mps.len())];
            let quiet = around.iter().all(|truth| *truth < climb_from_mps - MARGIN_MPS);
            self.quiet_min += if quiet { GRID_S / 60.0 } else { 0.0 };
            if !beeping && reading >= climb_from_mps {
                beeping = true;
                self.false_beeps += if quiet { 1.0 } else { 0.0 };
            } else if reading < climb_from_mps - HYSTERESIS_MPS {
                beeping = false;
            }
        }
    }

    fn climbs(
        &mut self,
        true_mps: &[f64],
        readings: &[Option<f32>],
        (from, to): (usize, usize),
        climb_from_mps: f64,
    ) {
        let mut place = from;
        while place < to {
            let climbs =
                |place: usize| place < to && true_mps[place] >= climb_from_mps + MARGIN_MPS;
            let lasts = (0..).take_while(|after| climbs(place + after)).count();
            let first = &readings[place..(place + HEARD_WITHIN).min(to)];
            if lasts >= CLIMB && first.iter().all(Option::is_some) {
                self.climbs += 1.0;
                let heard =
                    first.iter().flatten().any(|reading| f64::from(*reading) >= climb_from_mps);
                self.missed += if heard { 0.0 } else { 1.0 };
            }
            place += lasts.max(1);
        }
    }

    /// Adds another part.
    pub fn add(&mut self, other: &Self) {
        self.moments += other.moments;
        self.squares += other.squares;
        self.lagged.iter_mut().zip(other.lagged).for_each(|(sum, other)| *sum += other);
        self.quiet_min += other.quiet_min;
        self.false_beeps += other.false_beeps;
        self.climbs += other.climbs;
        self.missed += other.missed;
    }

    /// Whether anything was compared.
    pub fn is_empty(&self) -> bool {
        self.moments == 0.0
    }

    /// The figures of all that was added up; zeros where nothing was.
    pub fn score(&self) -> Score {
        if self.is_empty() {
            return Score::default();
        }
        let error_mps = (self.squares / self.moments).sqrt();
        let (lag_s, least) = self.best_lag();
        let false_beeps_per_min =
            if self.quiet_min > 0.0 { self.false_beeps / self.quiet_min } else { 0.0 };
        let missed_share = if self.climbs > 0.0 { self.missed / self.climbs } else { 0.0 };
        Score {
            error_mps,
            lag_s,
            noise_mps: (least / self.moments).sqrt(),
            false_beeps_per_min,
            climbs: self.climbs as u64,
            missed_share,
            cost_mps: error_mps + FALSE_BEEP_MPS * false_beeps_per_min + MISSED_MPS * missed_share,
        }
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::recording::series::Even;
    use approx::assert_abs_diff_eq;

    fn truth(of: impl Fn(f64) -> f64) -> Truth {
        let values = (0..5_000).map(|place| of(f64::from(place) * GRID_S)).collect();
        Truth { rate_mps: Even { start_s: 0.0, step_s: GRID_S, values }, from: "recorded" }
    }

    fn score(truth: &Truth, reading: impl Fn(f64) -> f64) -> Score {
        let readings = (0..5_000).map(|place| Some(reading(f64::from(place) * GRID_S) as f32));
        let readings: Vec<Option<f32>> = readings.collect();
        Sums::of(truth, &readings, (0, 5_000), 0.2).score()
    }

    #[test]
    fn lag_and_noise_are_separated() {
        let wave = |t: f64| 2.0 * (t / 3.0).sin();
        let truth = truth(wave);
        let found = score(&truth, |t| {
            wave(t - 0.7) + if (t / GRID_S) as i64 % 2 == 0 { 0.1 } else { -0.1 }
        });
        assert_abs_diff_eq!(found.lag_s, 0.7, epsilon = 0.01);
        assert_abs_diff_eq!(found.noise_mps, 0.1, epsilon = 0.01);
        // Two waves 0.7 s apart differ by 2 * 2 sin(0.7 / 6) at most, by 1 / sqrt 2 of it in the
        // mean square; and the noise.
        let expected = (0.5 * (4.0 * (0.7_f64 / 6.0).sin()).powi(2) + 0.01).sqrt();
        assert_abs_diff_eq!(found.error_mps, expected, epsilon = 0.005);
    }

    #[test]
    fn false_beeps_and_missed_climbs_are_counted() {
        // Ten climbs of 10 s, one each 100 s; the reading answers every other, and pipes up once in
        // the still air between.
        let climbing = |t: f64| t % 100.0 >= 50.0 && t % 100.0 < 60.0;
        let truth = truth(|t| if climbing(t) { 1.0 } else { -0.7 });
        let found = score(&truth, |t| {
            let answered = climbing(t) && (t / 100.0) as i64 % 2 == 0;
            let pipes = (20.0..20.5).contains(&(t % 100.0));
            if answered || pipes { 1.0 } else { -0.7 }
        });
        assert_eq!(found.climbs, 10);
        assert_abs_diff_eq!(found.missed_share, 0.5);
        // 1000 s, of which 10 times 88 s are quiet within a second on both sides.
        assert_abs_diff_eq!(found.false_beeps_per_min, 10.0 / (10.0 * 88.0 / 60.0), epsilon = 0.02);
    }
}
