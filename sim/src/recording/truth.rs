//! What the reading should have been: the climb that the glider made of the air.
//!
//! | `from` | where it is from |
//! |---|---|
//! | `recorded` | the trace says it: a simulated flight |
//! | `estimated` | from all of the recording, gusts told apart ([`chirrup_gusts`]), with a stated |
//! | | error, and as several climbs that could each be the true one |
//! | `smoothed` | without airspeed and probe: the smoothed vertical speed, for an instrument that |
//! | | does not compensate either |

use super::Recording;
use super::reference::{Agreement, agreement};
use super::series::Even;
use super::smoother::{Smoothed, smooth};
use super::track::Track;
use chirrup_core::stages::{AirData, Energy, EnergyState};
use chirrup_core::{EnergySettings, Micros};
use chirrup_gusts::{Beside, Climb, Flight, climb_of};

/// Spacing of everything that is compared.
pub const GRID_S: f64 = 0.2;
/// Errors, lags and noise are of means over this time, of the reading and of the truth alike:
/// turbulence is rougher than any reading can be, and a pilot hears about a second of it.
pub const MEAN_S: f64 = 1.0;
/// Heights are averaged to this before they are smoothed.
const SMOOTHED_EVERY_S: f64 = 0.1;
/// Heights are averaged to this before gusts are told apart.
const TOLD_APART_EVERY_S: f64 = 1.0;
/// With samples further apart, a gust, an entry and a pull-up look alike, and no filter can be
/// ranked.
pub const SLOWEST_S: f64 = 2.0;
/// So many climbs are drawn that could be the true one.
const DRAWS: usize = 8;
/// Least noise of a mean over a second: of a height, and of a kinetic height, m (guesses).
const LEAST_NOISE_M: [f64; 2] = [0.05, 0.1];

/// The truth on an even grid from the first sample on.
#[derive(Clone, Debug)]
pub struct Truth {
    /// True climb in m/s, or the likeliest, in the mean over a second about each moment.
    pub rate_mps: Even,
    /// How far those that could be are from it at each moment, (m/s)2; zero where it is recorded.
    pub variance: Vec<f64>,
    /// Its standard deviation as stated, m/s rms over the flight; zero where it is recorded.
    pub deviation_mps: f64,
    /// Climbs that could each be the true one, on the same grid; the one where it is recorded.
    pub could_be: Vec<Vec<f64>>,
    /// The mean of each of them over each whole second of the trace, from `first_s` on.
    pub seconds: Vec<Vec<f64>>,
    /// The first second, s of the trace; whole.
    pub first_s: f64,
    /// Where it is from: `recorded`, `estimated` or `smoothed`.
    pub from: &'static str,
    /// Time from one sample to the next, s.
    pub interval_s: f64,
    /// How it agrees with what the recorder itself read, where that is in the recording.
    pub reference: Option<Agreement>,
}

impl Truth {
    /// The truth of a recording, whose heights are `track` and whose lines are as late and as wrong
    /// as `energy` says.
    pub fn of(recording: &Recording, track: &Track, energy: &EnergySettings) -> Self {
        let mut truth = if let Some(rates_mps) = recording.truth() {
            recorded(&recording.times_s(), &rates_mps)
        } else {
            estimated(track, energy).unwrap_or_else(|| smoothed_only(track))
        };
        truth.interval_s = recording.duration_s() / (recording.samples.len() - 1) as f64;
        let recorded_mps = &recording.recorded_climb_mps;
        if !recorded_mps.is_empty() {
            truth.reference = agreement(&recording.times_s(), recorded_mps, &truth.rate_mps);
        }
        truth
    }

    /// How much the climb changes over the flight: its standard deviation, m/s.
    pub fn spread_mps(&self) -> f64 {
        let values = &self.rate_mps.values;
        let count = values.len().max(1) as f64;
        let mean = values.iter().sum::<f64>() / count;
        (values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / count).sqrt()
    }

    fn new(rate_mps: Even, from: &'static str) -> Self {
        let first_s = rate_mps.start_s.floor();
        Self {
            variance: vec![0.0; rate_mps.values.len()],
            deviation_mps: 0.0,
            could_be: vec![rate_mps.values.clone()],
            seconds: vec![over_seconds(&rate_mps)],
            first_s,
            from,
            interval_s: 0.0,
            reference: None,
            rate_mps,
        }
    }
}

fn recorded(times_s: &[f64], rates_mps: &[f64]) -> Truth {
    // A mean since the sample before belongs to the middle between the two.
    let middles: Vec<f64> = (0..times_s.len())
        .map(|place| 0.5 * (times_s[place.saturating_sub(1)] + times_s[place]))
        .collect();
    let even = Even::from(&middles, rates_mps, GRID_S, times_s[0]);
    let mut truth = Truth::new(even.averaged(MEAN_S), "recorded");
    // As `replay` compares: over the samples of each second.
    let mut sums = vec![(0.0, 0.0); truth.seconds[0].len() + 1];
    for (time_s, rate_mps) in times_s.iter().zip(rates_mps) {
        let second = &mut sums[(time_s.floor() - truth.first_s) as usize];
        (second.0, second.1) = (second.0 + rate_mps, second.1 + 1.0);
    }
    let means = &mut truth.seconds[0];
    for (mean, (sum, count)) in means.iter_mut().zip(sums).filter(|(_, (_, count))| *count > 0.0) {
        *mean = sum / count;
    }
    truth
}

/// `None` without an airspeed and a probe, or where samples are too far apart.
fn estimated(track: &Track, energy: &EnergySettings) -> Option<Truth> {
    let count = track.times_s.len();
    let lasts_s = track.times_s[count - 1] - track.times_s[0];
    let interval_s = lasts_s / (count - 1) as f64;
    let has_speed = !track.kinetic_m.is_empty();
    let beside = if has_speed { &track.kinetic_m } else { &track.probe_m };
    if beside.is_empty() || interval_s > SLOWEST_S || lasts_s < 2.0 * TOLD_APART_EVERY_S {
        return None;
    }
    let step_s = TOLD_APART_EVERY_S.max(interval_s);
    let late_s = 1e-3 * f64::from(energy.airspeed_delay_ms - energy.static_delay_ms);
    let earlier: Vec<f64> = track.times_s.iter().map(|time| time - late_s).collect();
    // Means over whole seconds of the trace, which readings are compared over.
    let start_s = track.times_s[0].floor() + 0.5 * step_s;
    let height = Even::from(&track.times_s, &track.altitude_m, step_s, start_s);
    let mut other = Even::from(&earlier, beside, step_s, height.start_s);
    let share = 0.01 * f64::from(energy.compensation_percent);
    for (other, height) in other.values.iter_mut().zip(&height.values) {
        *other = if has_speed { share * *other } else { height + share * (*other - height) };
    }
    let means = (step_s / interval_s).max(1.0);
    let noise = |values: &[f64], least: f64| (steps_of(values) / means.sqrt()).max(least);
    let climb = climb_of(
        &Flight {
            step_s,
            height_m: &height.values,
            beside: if has_speed {
                Beside::Kinetic(&other.values)
            } else {
                Beside::Energy(&other.values)
            },
            noise_m: [noise(&track.altitude_m, LEAST_NOISE_M[0]), noise(beside, LEAST_NOISE_M[1])],
        },
        DRAWS,
        1,
    );
    Some(on_the_grid(&climb, &height, (track.times_s[0], lasts_s)))
}

/// The truth from a climb on the coarser grid of `height`.
fn on_the_grid(climb: &Climb, height: &Even, (start_s, lasts_s): (f64, f64)) -> Truth {
    let count = (lasts_s / GRID_S) as usize + 1;
    let coarse = |values: &[f64]| Even { values: values.to_vec(), ..*height };
    let fine = |coarse: &Even| {
        let at = |place: usize| coarse.at(start_s + GRID_S * place as f64);
        Even { start_s, step_s: GRID_S, values: (0..count).map(at).collect() }
    };
    let rate_mps = fine(&coarse(&climb.climb_mps));
    let draws: Vec<Even> = climb.draws_mps.iter().map(|draw| fine(&coarse(draw))).collect();
    let open = |place: usize| {
        let apart = draws.iter().map(|draw| draw.values[place] - rate_mps.values[place]);
        apart.map(|apart| apart * apart).sum::<f64>() / draws.len() as f64
    };
    let is_in_seconds = height.step_s == 1.0;
    let seconds = |(draw, fine): (&Vec<f64>, &Even)| {
        if is_in_seconds { draw.clone() } else { over_seconds(fine) }
    };
    let squares: f64 = climb.deviation_mps.iter().map(|value| value * value).sum();
    Truth {
        variance: (0..count).map(open).collect(),
        seconds: climb.draws_mps.iter().zip(&draws).map(seconds).collect(),
        deviation_mps: (squares / climb.deviation_mps.len() as f64).sqrt(),
        could_be: draws.into_iter().map(|draw| draw.values).collect(),
        ..Truth::new(rate_mps, "estimated")
    }
}

fn smoothed_only(track: &Track) -> Truth {
    let (grid, smoothed) = smoothed_heights(&track.times_s, &track.altitude_m);
    let times_s: Vec<f64> =
        (0..grid.values.len()).map(|k| grid.start_s + k as f64 * grid.step_s).collect();
    Truth::new(Even::of(&times_s, &smoothed.speed_mps, GRID_S), "smoothed")
}

/// Standard deviation of a channel that comes in steps, from its least steps: 1 / sqrt(12) of one.
fn steps_of(values: &[f64]) -> f64 {
    /// Less is rounding.
    const LEAST_STEP_M: f64 = 0.02;
    let differences = values.windows(2).map(|pair| (pair[1] - pair[0]).abs());
    let mut steps: Vec<f64> = differences.filter(|step| *step > LEAST_STEP_M).collect();
    steps.sort_unstable_by(f64::total_cmp);
    steps.get(steps.len() / 20).map_or(0.0, |step| step / 12.0_f64.sqrt())
}

/// The mean over each whole second of the trace.
fn over_seconds(rate_mps: &Even) -> Vec<f64> {
    let first_s = rate_mps.start_s.floor();
    let end_s = rate_mps.start_s + rate_mps.step_s * rate_mps.values.len() as f64;
    (0..(end_s - first_s).ceil() as usize)
        .map(|second| {
            let from_s = first_s + second as f64 - rate_mps.start_s;
            let place = |time_s: f64| (time_s / rate_mps.step_s).ceil().max(0.0) as usize;
            let to = place(from_s + 1.0).min(rate_mps.values.len());
            let values = &rate_mps.values[place(from_s).min(to)..to];
            if values.is_empty() {
                rate_mps.at(from_s + 0.5 + rate_mps.start_s)
            } else {
                values.iter().sum::<f64>() / values.len() as f64
            }
        })
        .collect()
}

/// The energy heights of a recording on an even grid of at most 10 a second, and those smoothed.
pub fn smoothed_energy(recording: &Recording, energy: &Energy) -> (Even, Smoothed) {
    smoothed_heights(&recording.times_s(), &energy_heights(recording, energy))
}

fn smoothed_heights(times_s: &[f64], heights_m: &[f64]) -> (Even, Smoothed) {
    let mean_s = (times_s[times_s.len() - 1] - times_s[0]) / (times_s.len() - 1) as f64;
    let even = Even::of(times_s, heights_m, mean_s.max(SMOOTHED_EVERY_S));
    let grid: Vec<f64> =
        (0..even.values.len()).map(|k| even.start_s + k as f64 * even.step_s).collect();
    let smoothed = smooth(&grid, &even.values);
    (even, smoothed)
}

fn energy_heights(recording: &Recording, energy: &Energy) -> Vec<f64> {
    let mut state = EnergyState::default();
    let start = recording.samples.first().map_or(Micros(0), |sample| sample.time);
    let height = |sample: chirrup_core::Sample| {
        let (air, time) = (AirData::of(&sample)?, sample.time.since(start));
        let summed = energy.step(&mut state, time, &air, sample.usable_te_pressure());
        Some(f64::from(summed.height.0))
    };
    recording.samples.iter().filter_map(height).collect()
}
