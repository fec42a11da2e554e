//! An inertial sensor and a satellite receiver in a recording: how shaken, clipped, biased and how
//! mounted the one is, and how late and noisy the other.
//!
//! ```text
//! vibration   what is left of the force above about 5 Hz, all three axes together, and the
//!             deviation of what was averaged where the recording has it; the middle of all seconds
//! clipping    the largest force of an axis, if it is reached again and again
//! at rest     the longest 3 s or more without airspeed in which nothing turns or shakes much: the
//!             usual turn rate there is the gyroscopes' bias, the force is gravity
//! mounting    the axis nearest to gravity: at rest, else in the mean of the flight, in which the
//!             load is along the same axis
//! delay       of the receiver's rate of descent against that of the pressure altitude: the one with
//!             the least squares
//! ```

use crate::recording::samples::Samples;
use crate::recording::series::Even;
use crate::recording::track::Track;
use chirrup_core::stages::NO_SPEED;
use chirrup_core::{GroundVelocity, Inertial, Sample};
use serde::Serialize;

const GRAVITY_MPS2: f64 = 9.80665;
/// Half the width of the mean that is taken off the force before what is left counts as vibration.
const AROUND_S: f64 = 0.1;
/// A largest force counts as clipped if so many samples come within this share of it.
const CLIPPED_SAMPLES: usize = 3;
const CLIPPED_SHARE: f64 = 2e-3;
/// Deviations within a second at rest, rad/s and m/s2, and how far the force may be from gravity
/// (guesses: gusts rocked a parked model of 9 kg by 0.14 rad/s and 1.1 m/s2).
const RESTS_RADPS: f64 = 0.15;
const RESTS_MPS2: f64 = 1.5;
const NEAR_GRAVITY_MPS2: f64 = 1.5;
/// Rest must last so many seconds.
const RESTS_S: usize = 3;
/// The grid of the delay, and the longest, s.
const GRID_S: f64 = 0.02;
const LONGEST_S: f64 = 2.0;
/// The delay is found where the squares at the best are this share of those of no rate at all.
const EXPLAINED: f64 = 0.15;

/// The inertial sensor.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct InertialSensor {
    /// Samples a second.
    pub rate_hz: f64,
    /// Vibration above 5 Hz, all axes together, m/s2 rms: the middle of all seconds.
    pub vibration_mps2: f64,
    /// The largest force along an axis, m/s2.
    pub largest_mps2: f64,
    /// Samples at the largest force, where it is the end of the sensor's range.
    pub clipped_samples: usize,
    /// The longest time at rest.
    pub at_rest: Option<AtRest>,
    /// The sensor's axis that points down or nearest to it.
    pub down: &'static str,
    /// How far that axis is from straight down, degrees; in the mean of the flight where it is
    /// never at rest.
    pub down_off_deg: f64,
}

/// A time at rest.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AtRest {
    /// When it begins, s.
    pub from_s: f64,
    /// How long it lasts, s.
    pub for_s: f64,
    /// Bias of the gyroscopes, degrees a second.
    pub gyro_bias_dps: [f64; 3],
    /// The force less gravity, m/s2: how much the accelerometers read too much.
    pub too_much_mps2: f64,
}

/// The satellite receiver.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SatelliteReceiver {
    /// Velocities a second.
    pub rate_hz: f64,
    /// How late they are against the pressure, s; `None` where the recording does not show it.
    pub delay_s: Option<f64>,
    /// What its rate of descent and that of the pressure differ by then, m/s rms.
    pub differs_mps: Option<f64>,
}

/// Force and turn rate at a time.
struct Felt {
    time_s: f64,
    force: [f64; 3],
    turn: [f64; 3],
    spread: f64,
    largest: f64,
}

impl Felt {
    fn of(sample: &Sample) -> Option<Self> {
        let Inertial { specific_force, turn_rate, spread } = sample.usable_inertial()?;
        let force = specific_force.as_array().map(|axis| f64::from(axis.0));
        let single = force.iter().fold(0.0_f64, |largest, axis| largest.max(axis.abs()));
        Some(Self {
            time_s: sample.time.0 as f64 * 1e-6,
            force,
            turn: turn_rate.as_array().map(|axis| f64::from(axis.0)),
            spread: spread.map_or(0.0, |spread| f64::from(spread.force_deviation.0)),
            largest: spread.map_or(single, |spread| f64::from(spread.largest_force.0)),
        })
    }
}

impl InertialSensor {
    /// Of all samples of a recording; `None` where no or hardly any have an inertial part.
    pub fn of(samples: &Samples) -> Option<Self> {
        let felt: Vec<Felt> = samples.iter().filter_map(|sample| Felt::of(&sample)).collect();
        let lasts_s = felt.last()?.time_s - felt.first()?.time_s;
        if lasts_s < 1.0 {
            return None;
        }
        let seconds: Vec<&[Felt]> =
            felt.chunk_by(|a, b| a.time_s.floor() == b.time_s.floor()).collect();
        let largest_mps2 = felt.iter().map(|it| it.largest).fold(0.0, f64::max);
        let at_end = |it: &&Felt| it.largest >= (1.0 - CLIPPED_SHARE) * largest_mps2;
        let reached = felt.iter().filter(at_end).count();
        let rest = longest_rest(&seconds, &airspeeds(samples));
        let mean_force = match rest {
            Some((from, count)) => {
                mean(seconds[from..from + count].iter().copied().flatten(), force)
            }
            None => mean(felt.iter(), force),
        };
        let (down, down_off_deg) = nearest_axis(mean_force.map(|axis| -axis));
        Some(Self {
            rate_hz: (felt.len() - 1) as f64 / lasts_s,
            vibration_mps2: vibration(&felt),
            largest_mps2,
            clipped_samples: if reached >= CLIPPED_SAMPLES { reached } else { 0 },
            at_rest: rest.map(|(from, count)| {
                let rest = &seconds[from..from + count];
                AtRest {
                    from_s: seconds[from][0].time_s,
                    for_s: count as f64,
                    gyro_bias_dps: usual_turn(rest).map(f64::to_degrees),
                    too_much_mps2: length(mean_force) - GRAVITY_MPS2,
                }
            }),
            down,
            down_off_deg,
        })
    }
}

impl SatelliteReceiver {
    /// Of all samples of a recording and its heights; `None` where no sample has a velocity.
    pub fn of(samples: &Samples, track: &Track) -> Option<Self> {
        let fixes: Vec<(f64, f64)> = samples
            .iter()
            .filter_map(|sample| {
                let GroundVelocity { down, age, .. } = sample.usable_ground_velocity()?;
                // What the receiver says of its age is taken off: what is left has to be learnt.
                Some(((sample.time.0 - age.0) as f64 * 1e-6, -f64::from(down.0)))
            })
            .collect();
        let lasts_s = fixes.last()?.0 - fixes.first()?.0;
        let found = delay(&fixes, track);
        Some(Self {
            rate_hz: if lasts_s > 0.0 { (fixes.len() - 1) as f64 / lasts_s } else { 0.0 },
            delay_s: found.map(|(delay_s, _)| delay_s),
            differs_mps: found.map(|(_, differs_mps)| differs_mps),
        })
    }
}

fn force(felt: &Felt) -> [f64; 3] {
    felt.force
}

fn mean<'a>(felt: impl Iterator<Item = &'a Felt>, of: fn(&Felt) -> [f64; 3]) -> [f64; 3] {
    let (mut sum, mut count) = ([0.0; 3], 0.0);
    for it in felt {
        let value = of(it);
        sum = [0, 1, 2].map(|axis| sum[axis] + value[axis]);
        count += 1.0;
    }
    sum.map(|sum| sum / f64::max(count, 1.0))
}

/// The middle of the seconds' mean turn rates: who pushes the glider round for a while does not
/// bend it.
fn usual_turn(seconds: &[&[Felt]]) -> [f64; 3] {
    let means: Vec<[f64; 3]> =
        seconds.iter().map(|second| mean(second.iter(), |it| it.turn)).collect();
    [0, 1, 2].map(|axis| {
        let mut of_axis: Vec<f64> = means.iter().map(|mean| mean[axis]).collect();
        of_axis.sort_by(f64::total_cmp);
        of_axis.get(of_axis.len() / 2).copied().unwrap_or_default()
    })
}

fn length(axes: [f64; 3]) -> f64 {
    axes.iter().map(|axis| axis * axis).sum::<f64>().sqrt()
}

/// The root of the summed variances of the three axes.
fn deviation(felt: &[Felt], of: fn(&Felt) -> [f64; 3]) -> f64 {
    let mean = mean(felt.iter(), of);
    let square = |it: &Felt| {
        let value = of(it);
        [0, 1, 2].map(|axis| (value[axis] - mean[axis]).powi(2)).iter().sum::<f64>()
    };
    (felt.iter().map(square).sum::<f64>() / felt.len() as f64).sqrt()
}

/// Mean true airspeed of each whole second that has one.
fn airspeeds(samples: &Samples) -> Vec<(f64, f64)> {
    samples
        .iter()
        .filter_map(|sample| {
            let speed = chirrup_core::stages::AirData::of(&sample)?.true_airspeed?;
            Some(((sample.time.0 as f64 * 1e-6).floor(), f64::from(speed.0)))
        })
        .collect()
}

/// Place and length of the longest run of seconds at rest.
fn longest_rest(seconds: &[&[Felt]], airspeeds: &[(f64, f64)]) -> Option<(usize, usize)> {
    let is_slow = |second: f64| {
        let first = airspeeds.partition_point(|(at, _)| *at < second);
        let speeds = airspeeds[first..].iter().take_while(|(at, _)| *at == second);
        let (sum, count) =
            speeds.fold((0.0, 0), |(sum, count), (_, speed)| (sum + speed, count + 1));
        count > 0 && sum / f64::from(count) < f64::from(NO_SPEED.0)
    };
    let rests = |second: &[Felt]| {
        second.len() > 2
            && deviation(second, |it| it.turn) < RESTS_RADPS
            && deviation(second, force) < RESTS_MPS2
            && (length(mean(second.iter(), force)) - GRAVITY_MPS2).abs() < NEAR_GRAVITY_MPS2
            && is_slow(second[0].time_s.floor())
    };
    let (mut best, mut run) = (None, 0);
    for (place, second) in seconds.iter().enumerate() {
        run = if rests(second) { run + 1 } else { 0 };
        if run >= RESTS_S && best.is_none_or(|(_, longest)| run > longest) {
            best = Some((place + 1 - run, run));
        }
    }
    best
}

/// What is left of the force less its mean of a fifth of a second, with the spread of what was
/// averaged; the middle of all samples' squares over seconds.
fn vibration(felt: &[Felt]) -> f64 {
    let (mut from, mut to) = (0, 0);
    let mut squares: Vec<(f64, f64)> = Vec::with_capacity(felt.len());
    for it in felt {
        while felt[from].time_s < it.time_s - AROUND_S {
            from += 1;
        }
        while to < felt.len() && felt[to].time_s <= it.time_s + AROUND_S {
            to += 1;
        }
        let around = mean(felt[from..to].iter(), force);
        let left = length([0, 1, 2].map(|axis| it.force[axis] - around[axis]));
        squares.push((it.time_s.floor(), left * left + it.spread * it.spread));
    }
    let of_second = |second: &[(f64, f64)]| {
        second.iter().map(|(_, square)| square).sum::<f64>() / second.len() as f64
    };
    let mut seconds: Vec<f64> = squares.chunk_by(|a, b| a.0 == b.0).map(of_second).collect();
    seconds.sort_by(f64::total_cmp);
    seconds.get(seconds.len() / 2).copied().unwrap_or_default().sqrt()
}

/// The axis nearest to a direction, and the angle between, degrees.
fn nearest_axis(direction: [f64; 3]) -> (&'static str, f64) {
    const NAMES: [[&str; 2]; 3] = [["x", "-x"], ["y", "-y"], ["z", "-z"]];
    let whole = length(direction).max(1e-9);
    let largest = (0..3).max_by(|a, b| direction[*a].abs().total_cmp(&direction[*b].abs()));
    let axis = largest.unwrap_or(2);
    let name = NAMES[axis][usize::from(direction[axis] < 0.0)];
    (name, (direction[axis].abs() / whole).min(1.0).acos().to_degrees())
}

/// The delay of rates of climb against the heights, and what they then differ by; `None` where no
/// delay makes them agree.
fn delay(fixes: &[(f64, f64)], track: &Track) -> Option<(f64, f64)> {
    if track.times_s.len() < 2 {
        return None;
    }
    let heights = Even::of(&track.times_s, &track.altitude_m, GRID_S);
    let rates = heights.smoothed(1.0).rate();
    let at = |time_s: f64| {
        let place = (time_s - rates.start_s) / rates.step_s;
        (place >= 0.0).then(|| rates.values.get(place.round() as usize).copied()).flatten()
    };
    let squares = |delay_s: f64| {
        let pairs: Vec<(f64, f64)> = fixes
            .iter()
            .filter(|(time_s, _)| *time_s >= rates.start_s + LONGEST_S)
            .filter_map(|(time_s, rate)| Some((*rate, at(time_s - delay_s)?)))
            .collect();
        let count = pairs.len() as f64;
        let mean = pairs.iter().map(|(rate, other)| rate - other).sum::<f64>() / count;
        let own = pairs.iter().map(|(rate, _)| rate).sum::<f64>() / count;
        let left = pairs.iter().map(|(rate, other)| (rate - other - mean).powi(2)).sum::<f64>();
        let whole = pairs.iter().map(|(rate, _)| (rate - own).powi(2)).sum::<f64>();
        (count > 20.0).then_some((left / count, whole / count))
    };
    let steps = (LONGEST_S / GRID_S) as usize;
    let all: Vec<(f64, f64)> =
        (0..=steps).map_while(|step| squares(step as f64 * GRID_S)).collect();
    let best = (0..all.len()).min_by(|a, b| all[*a].0.total_cmp(&all[*b].0))?;
    let (left, whole) = all[best];
    (left < EXPLAINED * whole && best < steps).then(|| (best as f64 * GRID_S, left.sqrt()))
}
