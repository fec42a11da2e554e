//! Judges readings against the truth: error, lag, noise, false beeps and missed climbs.
//! `tune` and `compare` judge by these, and the error is that of `replay`. Their definitions stand
//! in the book, docs/src/tuning.md, "What the figures mean".
//!
//! ```text
//! error       root mean square of reading - truth, both in means over a second
//! lag         the delay of the truth, 0 to 4 s, with which the reading agrees best
//! noise       the error that remains with that delay
//! false beep  a beep begins while the truth stays 0.3 m/s below `from` from a second before to a
//!             second after
//! missed      a climb that begins 0.3 m/s beyond `from`, stays beyond `from` for 3 s or more, and
//!             in whose first 3 s nothing beeps
//! cost        error + so much for each false beep a minute + so much for the share missed
//! ```
//!
//! `from` is where climb begins that is to be heard: the present threshold, for every candidate,
//! whatever its own is. If each were judged by its own, the one with the highest would miss the
//! least, because weak climbs would be none.
//!
//! Where the truth is estimated, each figure is the mean over the climbs that could be the true
//! one.

use super::phases::Phase;
use super::readings::Readings;
use super::score::{MOST_LAG, Sums};
use crate::recording::truth::{GRID_S, MEAN_S, Truth};

const MARGIN_MPS: f64 = 0.3;
const AROUND: usize = (1.0 / GRID_S) as usize;
const CLIMB: usize = (3.0 / GRID_S) as usize;
const HEARD_WITHIN: usize = (3.0 / GRID_S) as usize;
const HYSTERESIS_MPS: f64 = 0.1;
/// Readings are averaged over so many moments about each, as the truth is.
const MEAN_OF: usize = (MEAN_S / GRID_S) as usize;

/// Which block of the recording each moment is in, and which phase of the flight.
#[derive(Clone, Debug)]
pub struct Split {
    /// For each moment of the grid; `None` is not judged.
    pub of: Vec<Option<(usize, Phase)>>,
    /// Number of blocks.
    pub blocks: usize,
}

impl Split {
    /// Number of cells: each block has one for each phase.
    fn cells(&self) -> usize {
        self.blocks * Phase::ALL.len()
    }

    fn cell(&self, place: usize) -> Option<usize> {
        let (block, phase) = (*self.of.get(place)?)?;
        Some(block * Phase::ALL.len() + phase as usize)
    }
}

/// A recording's truth, made ready to judge many readings by.
pub struct Judge<'a> {
    truth: &'a Truth,
    split: &'a Split,
    /// Where beeps begin, m/s: the thresholds that each reading is judged with.
    thresholds_mps: Vec<f64>,
    /// Of each climb that could be the true one.
    draws: Vec<Marks>,
    /// Minutes of quiet in each cell, in the mean over the draws.
    quiet_min: Vec<f64>,
}

/// Where a climb could not be heard rightly, and where it begins.
struct Marks {
    is_quiet: Vec<bool>,
    climbs: Vec<usize>,
}

impl Marks {
    fn of(truth_mps: &[f64], from_mps: f64) -> Self {
        let low: Vec<bool> = truth_mps.iter().map(|truth| *truth < from_mps - MARGIN_MPS).collect();
        // How many of the moments up to each are low, so that a window is a difference.
        let mut counts = vec![0_usize];
        counts.extend(low.iter().scan(0, |count, low| {
            *count += usize::from(*low);
            Some(*count)
        }));
        let is_quiet = (0..low.len())
            .map(|place| {
                let (from, to) =
                    (place.saturating_sub(AROUND), (place + AROUND + 1).min(low.len()));
                counts[to] - counts[from] == to - from
            })
            .collect();
        Self { is_quiet, climbs: climbs(truth_mps, from_mps) }
    }
}

fn climbs(truth_mps: &[f64], from_mps: f64) -> Vec<usize> {
    let (mut climbs, mut began) = (Vec::new(), None);
    for (place, truth) in truth_mps.iter().copied().chain([f64::MIN]).enumerate() {
        match began {
            None if truth >= from_mps + MARGIN_MPS => began = Some(place),
            Some(start) if truth < from_mps => {
                if place - start >= CLIMB {
                    climbs.push(start);
                }
                began = None;
            }
            _ => {}
        }
    }
    climbs
}

impl<'a> Judge<'a> {
    /// Makes ready: climb beyond `from_mps` is to be heard, and readings are judged with beeps that
    /// begin at each of `thresholds_mps`.
    pub fn of(truth: &'a Truth, split: &'a Split, from_mps: f64, thresholds_mps: &[f64]) -> Self {
        let draws: Vec<Marks> =
            truth.could_be.iter().map(|draw| Marks::of(draw, from_mps)).collect();
        let share = GRID_S / 60.0 / draws.len() as f64;
        let mut quiet_min = vec![0.0; split.cells()];
        for draw in &draws {
            for (place, _) in draw.is_quiet.iter().enumerate().filter(|(_, quiet)| **quiet) {
                if let Some(cell) = split.cell(place) {
                    quiet_min[cell] += share;
                }
            }
        }
        Self { truth, split, thresholds_mps: thresholds_mps.to_vec(), draws, quiet_min }
    }

    /// The sums of a reading: for each threshold, those of each block and phase.
    pub fn sums(&self, readings: &Readings) -> Vec<Parts> {
        let mut plain = vec![Sums::default(); self.split.cells()];
        self.errors(readings, &mut plain);
        self.lags(readings, &mut plain);
        let with_threshold = |threshold_mps: &f64| {
            let mut sums = plain.clone();
            self.beeps(readings, *threshold_mps, &mut sums);
            self.missed(readings, *threshold_mps, &mut sums);
            Parts(sums)
        };
        self.thresholds_mps.iter().map(with_threshold).collect()
    }

    /// Errors of means over each second.
    fn errors(&self, readings: &Readings, sums: &mut [Sums]) {
        let seconds = &readings.seconds;
        for (place, second) in seconds.each.iter().enumerate() {
            let second_s = seconds.first_s + place as f64;
            let Some(mean_mps) = second.mean_mps() else { continue };
            let middle = ((second_s + 0.5 - self.truth.rate_mps.start_s) / GRID_S).max(0.0);
            let Some(cell) = self.split.cell(middle as usize) else { continue };
            let at = (second_s - self.truth.first_s) as usize;
            let truths = self.truth.seconds.iter().filter_map(|draw| draw.get(at));
            let (count, squares) = truths.fold((0.0, 0.0), |(count, sum), truth| {
                (count + 1.0, sum + (mean_mps - truth).powi(2))
            });
            if count > 0.0 {
                sums[cell].seconds += 1.0;
                sums[cell].squares += squares / count;
            }
        }
    }

    /// Errors with the truth delayed.
    fn lags(&self, readings: &Readings, sums: &mut [Sums]) {
        let truth_mps = &self.truth.rate_mps.values;
        let half = MEAN_OF / 2;
        for (middle, window) in readings.at.windows(MEAN_OF).enumerate() {
            let place = middle + half;
            let Some(cell) = self.split.cell(place).filter(|_| place >= MOST_LAG) else { continue };
            let mut total = 0.0;
            if !window.iter().all(|one| one.inspect(|value| total += f64::from(*value)).is_some()) {
                continue;
            }
            let mean_mps = total / MEAN_OF as f64;
            let sums = &mut sums[cell];
            sums.moments += 1.0;
            sums.open += self.truth.variance[place];
            for (sum, truth) in sums.lagged.iter_mut().zip(truth_mps[..=place].iter().rev()) {
                *sum += (mean_mps - truth).powi(2);
            }
        }
    }

    fn beeps(&self, readings: &Readings, threshold_mps: f64, sums: &mut [Sums]) {
        let draws = &self.draws;
        sums.iter_mut().zip(&self.quiet_min).for_each(|(sums, quiet)| sums.quiet_min += quiet);
        let mut is_beeping = false;
        for (place, reading) in readings.at.iter().enumerate() {
            let reading = reading.map_or(f64::MIN, f64::from);
            if !is_beeping && reading >= threshold_mps {
                is_beeping = true;
                let Some(cell) = self.split.cell(place) else { continue };
                let quiet = draws.iter().filter(|draw| draw.is_quiet[place]).count();
                sums[cell].false_beeps += quiet as f64 / draws.len() as f64;
            } else if reading < threshold_mps - HYSTERESIS_MPS {
                is_beeping = false;
            }
        }
    }

    fn missed(&self, readings: &Readings, threshold_mps: f64, sums: &mut [Sums]) {
        let draws = &self.draws;
        for draw in draws {
            for &start in &draw.climbs {
                let first = &readings.at[start..(start + HEARD_WITHIN).min(readings.at.len())];
                let Some(cell) = self.split.cell(start) else { continue };
                if first.iter().all(Option::is_some) {
                    let heard =
                        first.iter().flatten().any(|reading| f64::from(*reading) >= threshold_mps);
                    sums[cell].climbs += 1.0 / draws.len() as f64;
                    sums[cell].missed += if heard { 0.0 } else { 1.0 / draws.len() as f64 };
                }
            }
        }
    }
}

/// Sums of one reading over each block and phase.
#[derive(Clone, Debug, Default)]
pub struct Parts(Vec<Sums>);

impl Parts {
    /// Over each block.
    pub fn blocks(&self) -> impl Iterator<Item = Sums> + '_ {
        self.0.chunks(Phase::ALL.len()).map(Sums::all)
    }

    /// Over each phase, in the order of [`Phase::ALL`].
    pub fn phases(&self) -> [Sums; Phase::ALL.len()] {
        Phase::ALL
            .map(|phase| Sums::all(self.0.iter().skip(phase as usize).step_by(Phase::ALL.len())))
    }

    /// Over everything.
    pub fn all(&self) -> Sums {
        Sums::all(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::super::readings::{Second, Seconds};
    use super::super::score::{Score, Weights};
    use super::*;
    use crate::recording::series::Even;
    use approx::assert_abs_diff_eq;

    const MOMENTS: usize = 5_000;

    fn truth(of: impl Fn(f64) -> f64) -> Truth {
        let grid = |of: &dyn Fn(f64) -> f64| -> Vec<f64> {
            (0..MOMENTS).map(|place| of(place as f64 * GRID_S)).collect()
        };
        let fine = |second: usize, k: u32| of(second as f64 + 0.05 * f64::from(k));
        let mean = |second: usize| (0..20).map(|k| fine(second, k)).sum::<f64>() / 20.0;
        Truth {
            rate_mps: Even { start_s: 0.0, step_s: GRID_S, values: grid(&of) },
            variance: vec![0.0; MOMENTS],
            deviation_mps: 0.0,
            could_be: vec![grid(&of)],
            seconds: vec![(0..1_000).map(mean).collect()],
            first_s: 0.0,
            from: "recorded",
            interval_s: 0.05,
            reference: None,
        }
    }

    fn readings(of: impl Fn(f64) -> f64) -> Readings {
        let at = (0..MOMENTS).map(|place| Some(of(place as f64 * GRID_S) as f32)).collect();
        let second = |second: u32| {
            let sum_mps = (0..20).map(|k| of(f64::from(second) + 0.05 * f64::from(k))).sum();
            Second { sum_mps, count: 20 }
        };
        Readings { at, seconds: Seconds { first_s: 0.0, each: (0..1_000).map(second).collect() } }
    }

    fn score(truth: &Truth, reading: impl Fn(f64) -> f64) -> Score {
        let split = Split { of: vec![Some((0, Phase::Gliding)); MOMENTS], blocks: 1 };
        let judge = Judge::of(truth, &split, 0.2, &[0.2]);
        judge.sums(&readings(reading))[0].all().score(&Weights::default())
    }

    #[test]
    fn lag_and_noise_are_separated() {
        let wave = |t: f64| 2.0 * (t / 3.0).sin();
        let truth = truth(wave);
        let found =
            score(&truth, |t| wave(t - 0.7) + if (t / 5.0) as i64 % 2 == 0 { 0.1 } else { -0.1 });
        assert_abs_diff_eq!(found.lag_s, 0.7, epsilon = 0.02);
        // A noise that changes its sign every 5 s; in means over a second about each moment, every
        // fifth second holds the change.
        let noise = 0.1 * (0.8 + 0.2 / 3.0_f64).sqrt();
        assert_abs_diff_eq!(found.noise_mps, noise, epsilon = 0.01);
        // Two waves 0.7 s apart differ by 2 * 2 sin(0.7 / 6) at most, by 1 / sqrt 2 of it in the
        // mean square; and the noise, which changes between whole seconds.
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
        assert_abs_diff_eq!(found.missed_share, 0.5, epsilon = 1e-9);
        // 1000 s, of which 10 times 88 s are quiet within a second on both sides.
        assert_abs_diff_eq!(found.false_beeps_per_min, 10.0 / (10.0 * 88.0 / 60.0), epsilon = 0.02);
    }

    #[test]
    fn a_climb_that_falters_is_one_and_a_short_one_is_none() {
        // From the threshold of 0.2 m/s a climb begins at 0.5 m/s and ends below 0.2 m/s.
        let at = |t: f64| match t {
            10.0..12.0 | 50.0..52.5 => 1.0,
            12.0..13.0 => 0.3,
            13.0..15.0 => 0.8,
            _ => -0.5,
        };
        let values: Vec<f64> = (0..500).map(|place| at(f64::from(place) * GRID_S)).collect();
        assert_eq!(climbs(&values, 0.2), [50]);
    }

    #[test]
    fn an_open_truth_is_judged_by_all_that_it_could_be() {
        let mut open = truth(|_| -0.7);
        // Two climbs that could be: none, and one where the reading beeps.
        let climb = |place: usize| if (100..200).contains(&place) { 1.0 } else { -0.7 };
        open.could_be.push((0..MOMENTS).map(climb).collect());
        open.variance = vec![0.04; MOMENTS];
        let found = score(&open, |t| if (25.0..30.0).contains(&t) { 1.0 } else { -0.7 });
        let quiet_min = (1000.0 + 1000.0 - 22.0) / 2.0 / 60.0;
        assert_abs_diff_eq!(found.false_beeps_per_min, 0.5 / quiet_min, epsilon = 1e-3);
        let noise_mps = (0.04 + 1.7_f64.powi(2) * 5.0 / 1000.0_f64).sqrt();
        assert_abs_diff_eq!(found.noise_mps, noise_mps, epsilon = 0.01);
        // The climb that could be is heard 5 s late.
        assert_abs_diff_eq!(found.missed_share, 1.0);
    }
}
