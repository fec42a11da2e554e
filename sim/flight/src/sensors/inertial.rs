//! A 6-axis inertial sensor, read once a tick (200 times a second), and what an instrument makes of
//! the readings between two samples: means and spread.
//!
//! ```text
//! truth    f = dv/dt - g, turn rate w, of the body axes, means over a tick
//! arm      f + w' x r + w x (w x r)
//! mounted  in the sensor's own axes
//! sensor   (1 + E) x + bias + drift (T - T0) + vibration + noise, clipped, in steps
//! delay    of whole ticks
//! ```
//!
//! E has an error of scale on its diagonal and cross-axis errors beside it, of random sign and the
//! size of the grade; so have the biases. T is the air's temperature, which the sensor follows
//! within ten minutes, and its own heat, reached in five (guesses). Vibration is noise about one
//! frequency; the gyroscopes feel 0.005 rad/s of each m/s2 of it (a guess).

use super::inertial_settings::{Errors, InertialSettings};
use super::noise::Noise;
use crate::physics::atmosphere::GRAVITY_MPS2;
use crate::physics::attitude::Attitude;
use crate::physics::moment::Moment;
use crate::physics::motion::TICK_S;
use crate::physics::vector::Vector;
use std::collections::VecDeque;
use std::f64::consts::TAU;

/// Time constants of the sensor's own heat and of its following the air's temperature, s.
const HEATS_S: f64 = 300.0;
const FOLLOWS_S: f64 = 600.0;
/// How much of the last reading the vibration keeps: a quality of about 6.
const RINGS: f64 = 0.9;
/// What the gyroscopes feel of a vibration of 1 m/s2, rad/s.
const TURNS_PER_MPS2: f64 = 0.005;

type Axes = [f64; 3];

/// What an inertial sensor has measured since the sample before, in its own axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Felt {
    /// Mean specific force, m/s2.
    pub force_mps2: Axes,
    /// Mean turn rate, rad/s.
    pub turn_rps: Axes,
    /// The largest magnitude of a single axis of the force, and the root of the summed variances of
    /// its axes, m/s2.
    pub force_spread_mps2: [f64; 2],
    /// The same of the turn rate, rad/s.
    pub turn_spread_rps: [f64; 2],
}

/// The sensor.
pub(super) struct Inertial<'a> {
    settings: &'a InertialSettings,
    mounting: Attitude,
    force: Triad,
    turn: Triad,
    vibration: [Vibration; 3],
    before: Option<(Vector, Attitude)>,
    turn_before: Option<Axes>,
    /// The air's temperature at the start, and as the sensor has followed it, K.
    air_k: Option<(f64, f64)>,
    late: VecDeque<(Axes, Axes)>,
    forces: Sums,
    turns: Sums,
}

impl<'a> Inertial<'a> {
    pub fn new(settings: &'a InertialSettings, seed: u64) -> Self {
        let [force, turn] = settings.grade.errors(1.0 / TICK_S);
        let largest = settings.largest_g.map(|largest_g| largest_g * GRAVITY_MPS2);
        let force = Errors { largest: largest.or(force.largest), ..force };
        let triad = |errors, stream| Triad::new(errors, settings.errors, Noise::new(seed, stream));
        Self {
            mounting: mounting(settings.mounted_deg),
            force: triad(force, 6),
            turn: triad(turn, 7),
            vibration: [8, 9, 10].map(|stream| Vibration::new(settings, Noise::new(seed, stream))),
            settings,
            before: None,
            turn_before: None,
            air_k: None,
            late: VecDeque::new(),
            forces: Sums::default(),
            turns: Sums::default(),
        }
    }

    /// Takes the moment of a tick.
    pub fn take(&mut self, moment: &Moment<'_>) {
        let (velocity, attitude) = (moment.velocity, moment.attitude);
        let warmer_k = self.warmer_k(moment);
        let Some((velocity_before, attitude_before)) = self.before.replace((velocity, attitude))
        else {
            return;
        };
        let turn = attitude_before.turn_to(&attitude).map(|angle| angle / TICK_S);
        let force = (velocity - velocity_before) * (1.0 / TICK_S) + Vector::UP * GRAVITY_MPS2;
        // In the axes of the middle of the tick.
        let [first, last] = [attitude_before, attitude].map(|axes| axes.to_body(force));
        let force = [0, 1, 2].map(|axis| 0.5 * (first[axis] + last[axis]));
        let faster = sum(turn, self.turn_before.replace(turn).unwrap_or(turn), -1.0);
        let force =
            sum(force, on_arm(turn, faster.map(|by| by / TICK_S), self.settings.lever_m), 1.0);
        let shaken = [0, 1, 2].map(|axis| self.vibration[axis].next());
        let force = sum(mounted(&self.mounting, force), shaken, 1.0);
        let turn = sum(mounted(&self.mounting, turn), shaken, TURNS_PER_MPS2);
        self.late.push_back((self.force.read(force, warmer_k), self.turn.read(turn, warmer_k)));
        let delay = libm::round(self.settings.delay_s / TICK_S) as usize;
        if self.late.len() > delay
            && let Some((force, turn)) = self.late.pop_front()
        {
            self.forces.add(force);
            self.turns.add(turn);
        }
    }

    /// What came since the last call; `None` where nothing has.
    pub fn read(&mut self) -> Option<Felt> {
        let (force_mps2, force_spread_mps2) = self.forces.take()?;
        let (turn_rps, turn_spread_rps) = self.turns.take()?;
        Some(Felt { force_mps2, turn_rps, force_spread_mps2, turn_spread_rps })
    }

    /// How much warmer the sensor is than at the start, K.
    fn warmer_k(&mut self, moment: &Moment<'_>) -> f64 {
        let now_k = moment.still.temperature_k;
        let (start_k, followed_k) = self.air_k.unwrap_or((now_k, now_k));
        let followed_k = followed_k + (now_k - followed_k) * (TICK_S / FOLLOWS_S);
        self.air_k = Some((start_k, followed_k));
        let heated = 1.0 - libm::exp(-moment.time_s / HEATS_S);
        followed_k - start_k + self.settings.self_heating_k * heated
    }
}

/// The acceleration at the end of an arm `r` of a body that turns at `w` and ever faster by
/// `faster`, beyond that of its other end.
fn on_arm(w: Axes, faster: Axes, r: Axes) -> Axes {
    sum(cross(faster, r), cross(w, cross(w, r)), 1.0)
}

fn cross(a: Axes, b: Axes) -> Axes {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn sum(a: Axes, b: Axes, times: f64) -> Axes {
    [0, 1, 2].map(|axis| a[axis] + times * b[axis])
}

/// The sensor's axes in those of the glider, as an attitude whose north is forward, east right and
/// down down: turned by yaw, then pitch, then roll.
fn mounting([roll_deg, pitch_deg, yaw_deg]: Axes) -> Attitude {
    let level = Attitude::along(Vector::on_course(0.0), Vector::UP);
    let turned = level.yawed(yaw_deg.to_radians()).pitched(pitch_deg.to_radians());
    turned.rolled(roll_deg.to_radians())
}

fn mounted(mounting: &Attitude, [forward, right, down]: Axes) -> Axes {
    mounting.to_body(Vector { east: right, north: forward, up: -down })
}

/// Three accelerometers or three gyroscopes.
struct Triad {
    errors: Errors,
    /// What an axis has of each axis.
    gains: [Axes; 3],
    bias: Axes,
    drift_per_k: Axes,
    noise: Noise,
}

impl Triad {
    fn new(errors: Errors, times: f64, mut noise: Noise) -> Self {
        let mut either =
            |size: f64| if noise.normal() < 0.0 { -times * size } else { times * size };
        let bias = [errors.bias; 3].map(&mut either);
        let drift_per_k = [errors.drift_per_k; 3].map(&mut either);
        let gains = [0, 1, 2].map(|axis| {
            [0, 1, 2].map(|of| {
                if of == axis { 1.0 + either(errors.scale) } else { either(errors.cross) }
            })
        });
        let errors = Errors { noise: times * errors.noise, ..errors };
        Self { errors, gains, bias, drift_per_k, noise }
    }

    fn read(&mut self, truth: Axes, warmer_k: f64) -> Axes {
        [0, 1, 2].map(|axis| {
            let gained: f64 = self.gains[axis].iter().zip(truth).map(|(gain, of)| gain * of).sum();
            let noise =
                if self.errors.noise > 0.0 { self.errors.noise * self.noise.normal() } else { 0.0 };
            let value = gained + self.bias[axis] + self.drift_per_k[axis] * warmer_k + noise;
            let Some(largest) = self.errors.largest else { return value };
            let step = largest / 32_768.0;
            step * libm::round(value.clamp(-largest, largest) / step)
        })
    }
}

/// Noise about one frequency: a second-order recursion, driven by white noise.
struct Vibration {
    rms_mps2: f64,
    keeps: [f64; 2],
    driven: f64,
    past: [f64; 2],
    noise: Noise,
}

impl Vibration {
    fn new(settings: &InertialSettings, noise: Noise) -> Self {
        let phase = TAU * settings.vibration_hz * TICK_S;
        let keeps = [2.0 * RINGS * libm::cos(phase), -RINGS * RINGS];
        // The variance of x[n] = a x[n-1] + b x[n-2] + e is
        // e^2 (1 - b) / ((1 + b) ((1 - b)^2 - a^2)).
        let [a, b] = keeps;
        let variance = (1.0 - b) / ((1.0 + b) * ((1.0 - b) * (1.0 - b) - a * a));
        let (rms_mps2, driven) = (settings.vibration_mps2, 1.0 / variance.sqrt());
        Self { rms_mps2, keeps, driven, past: [0.0; 2], noise }
    }

    fn next(&mut self) -> f64 {
        if self.rms_mps2 == 0.0 {
            return 0.0;
        }
        let kept = self.keeps[0] * self.past[0] + self.keeps[1] * self.past[1];
        let next = kept + self.driven * self.noise.normal();
        self.past = [next, self.past[0]];
        self.rms_mps2 * next
    }
}

/// Sums of the readings since the last sample.
#[derive(Default)]
struct Sums {
    count: f64,
    sum: Axes,
    squares: Axes,
    largest: f64,
}

impl Sums {
    fn add(&mut self, value: Axes) {
        self.count += 1.0;
        self.sum = sum(self.sum, value, 1.0);
        self.squares = sum(self.squares, value.map(|value| value * value), 1.0);
        self.largest = value.iter().fold(self.largest, |largest, value| largest.max(value.abs()));
    }

    /// Mean, and largest and deviation; begins anew.
    fn take(&mut self) -> Option<(Axes, [f64; 2])> {
        let Self { count, sum, squares, largest } = std::mem::take(self);
        if count == 0.0 {
            return None;
        }
        let mean = sum.map(|sum| sum / count);
        let variance: f64 =
            squares.iter().zip(mean).map(|(squares, mean)| squares / count - mean * mean).sum();
        Some((mean, [largest, variance.max(0.0).sqrt()]))
    }
}
