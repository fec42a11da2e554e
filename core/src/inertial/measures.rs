//! What static height, airspeed and the absence of slip say of the states, and standing still.

use super::covariance::Step;
use super::errors::Errors;
use super::filter::Filter;
use super::noise::Noise;
use super::vector::{Vector, cross, dot, length, minus, scaled};

/// The covariance takes steps of at least this; the states move with every sample.
const STEP_S: f32 = 0.035;
/// The height is kept relative to a whole number of metres no further away than this, since an
/// `f32` near 5000 m has steps of 0.5 mm.
const ORIGIN_REACH_M: f32 = 64.0;
/// At rest: deviation of the velocity and of the turn rate, over a second (guesses).
const REST_MPS: f32 = 0.3;
const REST_RADPS: f32 = 0.01;
/// Below flying speed nobody is faster than this, over a second (a guess).
const CRAWL_MPS: f32 = 10.0;
/// Variances of the velocity along body axes at take-off (guesses).
const TAKE_OFF_M2PS2: Vector = [1.0, 4.0, 9.0];
/// Unit vectors.
const AXES: [Vector; 3] = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];

impl Filter {
    /// Takes a static height, in the standard atmosphere's metres, that is `late_s` old.
    pub fn see_height(&mut self, altitude: f32, late_s: f32) {
        let then = self.height - late_s * self.vertical_speed();
        self.seen.height(altitude, altitude - self.origin - then);
        self.rest.see(altitude, self.seen.airspeed);
    }

    /// Takes a true airspeed that is `late_s` old.
    pub fn see_airspeed(&mut self, airspeed: f32, late_s: f32) {
        self.seen.airspeed = airspeed;
        let then = minus(self.through_air(), scaled(late_s, self.felt.acceleration));
        let expected = length(then) - self.gust;
        self.seen.speeds.add(airspeed - expected);
    }

    /// The velocity through the air, gusts aside: the air rises.
    fn through_air(&self) -> Vector {
        let [x, y, down] = self.velocity;
        [x, y, down + self.felt.rise]
    }

    /// Uses what was seen, once enough time has passed.
    pub fn settle(&mut self, noise: &Noise) {
        if self.pending.dt_s < STEP_S {
            return;
        }
        let mut step = core::mem::take(&mut self.pending);
        step.down = self.rotation.down;
        step.gust_left = self.gust_left(noise, step.dt_s);
        self.covariance.advance(&step);
        self.wander(noise, &step);
        if !self.heading_known {
            self.forget_heading();
        }
        self.use_height(noise, step.dt_s);
        let speeds = self.seen.speeds.take();
        if self.rest.is() {
            self.stand(noise, &step);
        }
        let was_slow = self.rest.is_slow();
        self.rest.pass(step.dt_s, self.seen.airspeed);
        if self.rest.is_slow() {
            self.slow(noise, CRAWL_MPS * CRAWL_MPS / step.dt_s);
            return;
        }
        if was_slow {
            self.take_off();
            return;
        }
        if let Some((surprise, count)) = speeds {
            self.use_airspeed(noise, step.dt_s, (surprise, count));
        }
        self.use_slip(noise, &step);
    }

    fn use_height(&mut self, noise: &Noise, dt_s: f32) {
        if let Some((surprise, count)) = self.seen.heights.take() {
            let parts = Errors { height: 1.0, ..Errors::default() };
            let deviation = noise.height * self.seen.height_deviation();
            let beyond = self.correct(noise, parts, surprise, deviation * deviation / count);
            self.seen.judge(beyond, noise.most, dt_s);
        }
        let whole = libm::floorf(self.height);
        if whole.abs() > ORIGIN_REACH_M {
            self.height -= whole;
            self.origin += whole;
        }
    }

    fn use_airspeed(&mut self, noise: &Noise, dt_s: f32, (surprise, count): (f32, f32)) {
        let through = self.through_air();
        let along = scaled(1.0 / length(through), self.rotation.to_body(through));
        let parts = Errors { velocity: along, gust: -1.0, ..Errors::default() };
        let variance = noise.airspeed * noise.airspeed / count;
        let beyond = self.correct(noise, parts, surprise, variance);
        self.seen.judge(beyond, noise.most, dt_s);
    }

    /// The air meets the glider from ahead. A slip lasts, so that one look in a while counts, or
    /// all of them with so much more noise.
    fn use_slip(&mut self, noise: &Noise, step: &Step) {
        let [x, y, z] = self.through_body();
        let parts =
            Errors { velocity: [0.0, 1.0, 0.0], tilt: [z, 0.0, -x], slip: -x, ..Errors::default() };
        let deviation = noise.slip * self.seen.airspeed;
        let variance = deviation * deviation * 2.0 * noise.slip_lasts / step.dt_s;
        self.correct(noise, parts, self.slip * x - y, variance);
    }

    /// The air meets the glider from ahead, which is all that is known of the velocity now: on the
    /// ground it was not the one through the air.
    fn take_off(&mut self) {
        self.velocity = self.rotation.to_earth([self.seen.airspeed, 0.0, 0.0]);
        self.covariance.forget_velocity(TAKE_OFF_M2PS2);
        self.gust = 0.0;
    }

    /// At rest there is no velocity, and the gyro reads its bias.
    fn stand(&mut self, noise: &Noise, step: &Step) {
        self.slow(noise, REST_MPS * REST_MPS / step.dt_s);
        let variance = REST_RADPS * REST_RADPS / step.dt_s;
        for gyro in AXES {
            let surprise = dot(gyro, minus(self.rest.turn, self.gyro_bias()));
            self.correct(noise, Errors { gyro, ..Errors::default() }, surprise, variance);
        }
    }

    /// The velocity is nothing, with this variance along each axis.
    fn slow(&mut self, noise: &Noise, variance: f32) {
        for velocity in AXES {
            let through = self.through_body();
            let parts = Errors { velocity, tilt: cross(velocity, through), ..Errors::default() };
            self.correct(noise, parts, -dot(velocity, through), variance);
        }
    }
}
