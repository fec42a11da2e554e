//! The filter's states and how they move: an extended Kalman filter of errors.
//!
//! ```text
//! attitude' = attitude x turn rate        velocity' = attitude (force) + gravity
//! height'   = -velocity down              gust'     = -gust V / length
//! ```
//!
//! The velocity is the one through the mean air, along earth axes; without a satellite receiver
//! nobody knows where north is, and x is just some level direction. What a measurement says of the
//! states is in `measures` and `ground`.

use super::covariance::{Covariance, Expectation, Step};
use super::errors::Errors;
use super::noise::Noise;
use super::rest::Rest;
use super::roughness::Roughness;
use super::seen::{Round, Seen, Waiting};
use super::vector::{
    Attitude, Rotation, Vector, cross, dot, is_within, length, minus, scaled, sum,
};
use crate::air::atmosphere::GRAVITY_MPS2;
use crate::units::{larger, smaller};

/// The reading passes one pole of this time; with half a sample of 20 ms it is 0.09 s late (the
/// requirement says about 0.1 s).
const POLE_S: f32 = 0.08;
/// A rough force makes the pole longer: the reading's noise from it is to be no more than this.
const ROUGH_MPS: f32 = 0.2;
/// How slowly the rise of the air is followed (a guess).
const RISE_S: f32 = 3.0;
/// The sink of a glider in straight flight, roughly, and the most load that counts (guesses; they
/// only say how steeply the air meets it).
const SINK_MPS: f32 = 0.8;
const MOST_LOAD: f32 = 4.0;
/// For a gust's time, no glider flies slower.
const SLOWEST_MPS: f32 = 10.0;
/// The acceleration that a late satellite receiver has missed is a mean over this.
const ACCELERATION_S: f32 = 0.1;
/// How late a satellite receiver is before anything is known of it (a guess).
pub(super) const FIRST_DELAY_S: f32 = 0.1;

/// No sensor that works is so wrong: in its gain, its turn rate and its force; and no glider flies
/// so fast (guesses).
const ABSURD_GAIN: f32 = 0.25;
const ABSURD_RADPS: f32 = 0.15;
const ABSURD_MPS2: f32 = 3.0;
const ABSURD_MPS: f32 = 150.0;

/// What the filter believes.
#[derive(Clone, Copy, Debug)]
pub struct Filter {
    pub(super) attitude: Attitude,
    pub(super) rotation: Rotation,
    /// Through the mean air, along earth axes.
    pub(super) velocity: Vector,
    /// Above the origin, which is a whole number of metres.
    pub(super) height: f32,
    pub(super) origin: f32,
    gyro: Vector,
    accel: Vector,
    pub(super) gust: f32,
    gain: f32,
    pub(super) slip: f32,
    pub(super) wind: [f32; 2],
    pub(super) delay: f32,
    pub(super) covariance: Covariance,
    /// What happened since the covariance was last brought up to date.
    pub(super) pending: Step,
    pub(super) round: Round,
    is_absurd: bool,
    pub(super) felt: Felt,
    pub(super) seen: Seen,
    pub(super) rest: Rest,
    /// Whether north is known, and the time since the last velocity over the ground that was used;
    /// without, since the start.
    pub(super) heading_known: bool,
    pub(super) since_ground_s: f32,
    /// Velocities over the ground that were beyond belief, less those that were not.
    pub(super) refused: u8,
    /// Time since the unknown heading was last forgotten, s.
    pub(super) unforgotten_s: f32,
    /// A velocity over the ground that waits to be taken.
    pub(super) ground: Option<Waiting>,
    /// The time step of the last sample.
    pub(super) sample_s: f32,
}

/// What is known of the sensor.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Learnt {
    pub(super) gyro: Vector,
    pub(super) accel: Vector,
    pub(super) gain: f32,
    pub(super) slip: f32,
}

/// What the last samples felt like.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Felt {
    /// Specific force without its bias, along body axes.
    force: Vector,
    /// Acceleration along earth axes, over the last moments.
    pub(super) acceleration: Vector,
    /// How fast the air rises, slowly.
    pub(super) rise: f32,
    climb: f32,
    load: f32,
    /// Standard deviation of the climb's error.
    deviation: f32,
    bank: f32,
    /// The pole in use.
    pole_s: f32,
    pub(super) roughness: Roughness,
}

/// Variances at the start in flight: its bank is unknown.
fn at_first(noise: &Noise) -> Errors {
    Errors {
        height: 1.0,
        velocity: [1.0, 4.0, 9.0],
        tilt: [0.16, 0.04, 0.04],
        gyro: [1.0e-4; 3],
        accel: [0.04; 3],
        gust: 0.5 * noise.gust * noise.gust,
        gain: noise.gain * noise.gain,
        slip: 0.01,
        ..Errors::default()
    }
}

/// A vector along body axes in the middle of a turn, along those at its beginning, to the second
/// order of the turn: at 3 rad/s and 50 samples a second a two-hundred-thousandth is missing.
fn halfway(turned: Vector, body: Vector) -> Vector {
    let half = scaled(0.5, turned);
    let once = cross(half, body);
    sum(body, sum(once, scaled(0.5, cross(half, once))))
}

impl Filter {
    /// Starts from the specific force of one sample, its height in the standard atmosphere and its
    /// true airspeed.
    pub fn start(noise: &Noise, force: Vector, altitude: f32, airspeed: f32) -> Self {
        Self::start_banked(noise, (force, 0.0), altitude, airspeed)
    }

    /// The same in a turn, in which the force alone does not show this bank, rad.
    pub(super) fn start_banked(
        noise: &Noise,
        (force, bank): (Vector, f32),
        altitude: f32,
        airspeed: f32,
    ) -> Self {
        let attitude = Attitude::level(force).turned([bank, 0.0, 0.0]);
        let origin = libm::floorf(altitude);
        let mut new = Self {
            attitude,
            rotation: attitude.rotation(),
            velocity: [airspeed, 0.0, 0.0],
            height: altitude - origin,
            origin,
            gyro: [0.0; 3],
            accel: [0.0; 3],
            gust: 0.0,
            gain: 0.0,
            slip: 0.0,
            wind: [0.0; 2],
            delay: FIRST_DELAY_S,
            covariance: Covariance::of(at_first(noise)),
            pending: Step::default(),
            round: Round::default(),
            is_absurd: false,
            felt: Felt { force, load: 1.0, ..Felt::default() },
            seen: Seen::of(airspeed),
            rest: Rest::default(),
            heading_known: false,
            since_ground_s: 0.0,
            refused: 0,
            unforgotten_s: 0.0,
            ground: None,
            sample_s: 0.0,
        };
        new.forget_heading();
        new.weigh_errors();
        new
    }

    /// Moves the states over `dt_s` by the mean force and turn rate; `metre` is how many metres of
    /// the standard atmosphere a true one is, and `spread` how the single readings of the force lay
    /// about their mean.
    pub fn predict(
        &mut self,
        noise: &Noise,
        (dt_s, metre): (f32, f32),
        (felt, spread): (Vector, f32),
        turn: Vector,
    ) {
        let force = minus(felt, self.accel);
        let turned = scaled(dt_s, minus(scaled(1.0 + self.gain, turn), self.gyro));
        let pushed = self.rotation.to_earth(halfway(turned, force));
        self.attitude = self.attitude.turned(turned);
        self.rotation = self.attitude.rotation();
        let acceleration = sum(pushed, [0.0, 0.0, GRAVITY_MPS2]);
        let mean = sum(self.velocity, scaled(0.5 * dt_s, acceleration));
        self.velocity = sum(self.velocity, scaled(dt_s, acceleration));
        let [.., down] = mean;
        self.height -= metre * dt_s * down;
        self.gust *= self.gust_left(noise, dt_s);
        self.pending.pass(dt_s, metre, turned, force);
        self.seen.pass(dt_s);
        self.since_ground_s += dt_s;
        self.sample_s = dt_s;
        if let Some(waiting) = &mut self.ground {
            waiting.pass(dt_s);
        }
        let climb = dot(pushed, mean) * (1.0 / GRAVITY_MPS2);
        self.felt.roughness.see(dt_s, felt, climb, spread);
        self.rest.feel(felt, turn);
        self.feel(dt_s, force, acceleration, climb);
    }

    /// Follows the reading and what else comes of the force.
    fn feel(&mut self, dt_s: f32, force: Vector, acceleration: Vector, raw: f32) {
        let felt = &mut self.felt;
        felt.force = force;
        let off = minus(acceleration, felt.acceleration);
        felt.acceleration =
            sum(felt.acceleration, scaled(smaller(dt_s / ACCELERATION_S, 1.0), off));
        // White noise of deviation r through one pole of time T has deviation r sqrt(dt / 2 T).
        let rough = felt.roughness.climb_variance(self.seen.airspeed * self.seen.airspeed)
            * (0.5 / (ROUGH_MPS * ROUGH_MPS));
        felt.pole_s = larger(POLE_S, dt_s * rough);
        let part = dt_s / (felt.pole_s + dt_s);
        felt.climb += (raw - felt.climb) * part;
        let [.., down] = force;
        felt.load += (down * (-1.0 / GRAVITY_MPS2) - felt.load) * part;
    }

    /// Follows the rise of the air over a step.
    pub(super) fn follow_rise(&mut self, dt_s: f32) {
        let felt = &mut self.felt;
        let load = larger(smaller(felt.load, MOST_LOAD), 0.0);
        let air = felt.climb + SINK_MPS * load * libm::sqrtf(load);
        felt.rise += (air - felt.rise) * (dt_s / (RISE_S + dt_s));
    }

    /// How much of a gust is left after `dt_s`.
    pub(super) fn gust_left(&self, noise: &Noise, dt_s: f32) -> f32 {
        larger(1.0 - dt_s / self.gust_time_s(noise), 0.0)
    }

    fn gust_time_s(&self, noise: &Noise) -> f32 {
        noise.gust_length / larger(self.seen.airspeed, SLOWEST_MPS)
    }

    /// What it has learnt of the sensor.
    pub(super) fn learnt(&self) -> Learnt {
        Learnt { gyro: self.gyro, accel: self.accel, gain: self.gain, slip: self.slip }
    }

    /// With what an earlier filter has learnt of the sensor.
    pub(super) fn knowing(self, learnt: &Learnt) -> Self {
        let Learnt { gyro, accel, gain, slip } = *learnt;
        Self { gyro, accel, gain, slip, ..self }
    }

    /// Begins to doubt all that it believes, but goes on from there.
    pub(super) fn doubt(&mut self, noise: &Noise) {
        self.covariance.add(at_first(noise));
    }

    /// Adds what became uncertain over a step.
    pub(super) fn wander(&mut self, noise: &Noise, step: &Step) {
        let square = |value: f32| value * value;
        let dt_s = step.dt_s;
        let turned = scaled(1.0 / dt_s, step.turned);
        let turn = square(noise.turn) + square(noise.turn_scale) * dot(turned, turned);
        let beside = length(self.felt.force) - GRAVITY_MPS2;
        let force = square(noise.force)
            + square(noise.rough) * self.felt.roughness.variance()
            + square(noise.force_scale * beside);
        self.covariance.add(Errors {
            velocity: [force * dt_s; 3],
            tilt: [turn * dt_s; 3],
            gyro: [square(noise.gyro_walk) * dt_s; 3],
            accel: [square(noise.accel_walk) * dt_s; 3],
            gust: 2.0 * square(noise.gust) * dt_s / self.gust_time_s(noise),
            slip: square(noise.slip_walk) * dt_s,
            wind: [square(noise.wind_walk) * dt_s; 2],
            ..Errors::default()
        });
    }

    /// Takes a measurement; see [`Covariance::correct`].
    pub(super) fn correct(&mut self, noise: &Noise, parts: Errors, surprise: f32, variance: f32) {
        let expected = self.covariance.expect(parts, variance);
        self.take(noise, &expected, surprise);
    }

    /// The same for a measurement that has been looked at.
    pub(super) fn take(&mut self, noise: &Noise, expected: &Expectation, surprise: f32) {
        let errors = self.covariance.correct(expected, surprise, noise.most);
        self.velocity = sum(self.velocity, self.rotation.to_earth(errors.velocity));
        self.attitude = self.attitude.turned(errors.tilt);
        self.rotation = self.attitude.rotation();
        self.height += errors.height;
        self.gyro = sum(self.gyro, errors.gyro);
        self.accel = sum(self.accel, errors.accel);
        self.gust += errors.gust;
        self.gain += errors.gain;
        self.slip += errors.slip;
        let ([north, east], [more_north, more_east]) = (self.wind, errors.wind);
        self.wind = [north + more_north, east + more_east];
        self.delay += errors.delay;
    }

    /// Takes the heading out of the covariance.
    pub(super) fn forget_heading(&mut self) {
        let down = self.rotation.down;
        self.covariance.forget_heading(down, cross(down, self.through_body()));
    }

    /// The velocity through the mean air along body axes.
    pub(super) fn through_body(&self) -> Vector {
        self.rotation.to_body(self.velocity)
    }

    /// The angle at which the mean air meets the body from below, rad.
    pub(super) fn flow(&self) -> f32 {
        let [forward, _, down] = self.through_body();
        down / larger(forward, SLOWEST_MPS)
    }

    /// What the gyro reads too much.
    pub(super) fn gyro_bias(&self) -> Vector {
        self.gyro
    }

    /// Height and kinetic height together, m of the standard atmosphere, of which `metre` are a
    /// true one.
    pub(super) fn energy(&self, metre: f32) -> f32 {
        let kinetic = 0.5 / GRAVITY_MPS2 * dot(self.velocity, self.velocity);
        self.origin + self.height + metre * kinetic
    }

    /// Whether the satellite receiver is in use.
    pub(super) fn knows_heading(&self) -> bool {
        self.heading_known
    }

    /// Compensated climb, true m/s.
    pub fn climb(&self) -> f32 {
        self.felt.climb
    }

    /// How long the pole of the reading is, s: longer where the force is rough.
    pub fn pole_s(&self) -> f32 {
        self.felt.pole_s
    }

    /// How rough the force is from sample to sample: its variance, m2/s4.
    pub(super) fn roughness_variance(&self) -> f32 {
        self.felt.roughness.variance()
    }

    /// How much more the heights surprise it than they should: their mean square.
    pub(super) fn strain(&self) -> f32 {
        self.seen.strained()
    }

    /// For how long height or airspeed have contradicted it, s.
    pub(super) fn contradicted_s(&self) -> f32 {
        self.seen.contradicted_s()
    }

    /// Whether it believes what cannot be, having lost its way.
    pub(super) fn is_lost(&self) -> bool {
        self.is_absurd || !is_within(self.velocity, ABSURD_MPS)
    }

    /// Looks at what it believes of the sensor: once a round, since it moves slowly. What is not a
    /// number there makes the velocity none with the next sample.
    pub(super) fn look_for_the_absurd(&mut self) {
        let is_sane = self.gain.abs() < ABSURD_GAIN
            && is_within(self.gyro, ABSURD_RADPS)
            && is_within(self.accel, ABSURD_MPS2);
        self.is_absurd = !is_sane;
    }

    /// Whether the glider is too slow to fly, and yet moves.
    pub(super) fn crawls(&self) -> bool {
        self.rest.is_slow() && !self.rest.is()
    }

    /// Whether the glider stands still.
    pub(super) fn is_at_rest(&self) -> bool {
        self.rest.is()
    }

    /// Vertical speed, true m/s, positive upward.
    pub fn vertical_speed(&self) -> f32 {
        let [.., down] = self.velocity;
        -down
    }

    /// Specific force along the lift, in g, through the same pole: 1 in straight flight.
    pub fn load_factor(&self) -> f32 {
        self.felt.load
    }

    /// Bank, rad, right wing down positive; brought up to date with the deviation.
    pub fn bank(&self) -> f32 {
        self.felt.bank
    }

    /// Pitch, rad, nose up positive.
    pub fn pitch(&self) -> f32 {
        let [forward, right, down] = self.rotation.down;
        libm::atan2f(-forward, libm::sqrtf(right * right + down * down))
    }

    /// What the gyro's gain was found to be wrong by, as a share, and the variance of that.
    pub fn gain_error(&self) -> (f32, f32) {
        (-self.gain, self.covariance.gain_variance())
    }

    /// What the accelerometer was found to read too much along each axis, m/s2.
    pub fn force_error(&self) -> [f32; 3] {
        self.accel
    }

    /// Standard deviation of the climb's error as the filter sees it, m/s.
    pub fn deviation(&self) -> f32 {
        self.felt.deviation
    }

    /// Works it out anew, and the bank: once a step, since it takes half of the covariance.
    pub(super) fn weigh_errors(&mut self) {
        let through = self.through_body();
        let by = |vector| scaled(1.0 / GRAVITY_MPS2, vector);
        let parts = Errors {
            velocity: by(self.felt.force),
            tilt: by(cross(self.felt.force, through)),
            accel: scaled(-1.0, by(through)),
            ..Errors::default()
        };
        let variance = larger(self.covariance.variance(parts), 0.0);
        self.felt.deviation = libm::sqrtf(variance);
        let [_, right, down] = self.rotation.down;
        self.felt.bank = libm::atan2f(right, down);
    }
}
