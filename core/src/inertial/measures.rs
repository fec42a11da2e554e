//! What static height, airspeed and the absence of slip say of the states, and standing still.

use super::errors::Errors;
use super::filter::Filter;
use super::noise::Noise;
use super::rest::NO_SPEED_MPS;
use super::seen::Sensor;
use super::vector::{Vector, cross, dot, length, minus, scaled};
use crate::motion::estimator::ORIGIN_REACH_M;
use crate::units::larger;

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

    /// Whether the glider flies, over `dt_s`; if it does not, or has just taken off, what that says
    /// has been used.
    pub(super) fn flies(&mut self, noise: &Noise, dt_s: f32) -> bool {
        if self.rest.is() {
            self.stand(noise, dt_s);
        }
        let was_slow = self.rest.is_slow();
        self.rest.pass(dt_s, self.seen.airspeed, self.felt.roughness.variance());
        let is_slow = self.rest.is_slow();
        if is_slow {
            self.slow(noise, CRAWL_MPS * CRAWL_MPS / dt_s);
        } else if was_slow {
            self.take_off();
        }
        if is_slow || was_slow {
            self.seen.speeds.take();
        }
        !is_slow && !was_slow
    }

    pub(super) fn use_height(&mut self, noise: &Noise, dt_s: f32) {
        if let Some((surprise, count)) = self.seen.heights.take() {
            // The mean belongs to the middle of its time: what the velocity is wrong by has not
            // yet come to as much there.
            let middle_s = 0.5 * larger(dt_s - self.sample_s, 0.0);
            let velocity = scaled(middle_s, self.rotation.down);
            let parts = Errors { height: 1.0, velocity, ..Errors::default() };
            let deviation = noise.height * self.seen.height_deviation();
            let seen = (surprise, deviation * deviation, count);
            self.correct_by_mean(noise, (Sensor::Height, parts), dt_s, seen);
        }
        let whole = libm::floorf(self.height);
        if whole.abs() > ORIGIN_REACH_M {
            self.height -= whole;
            self.origin += whole;
        }
    }

    pub(super) fn use_airspeed(&mut self, noise: &Noise, dt_s: f32) {
        let Some((surprise, count)) = self.seen.speeds.take() else { return };
        let through = self.through_air();
        let along = scaled(
            1.0 / larger(length(through), f32::MIN_POSITIVE),
            self.rotation.to_body(through),
        );
        let parts = Errors { velocity: along, gust: -1.0, ..Errors::default() };
        let variance = noise.airspeed * noise.airspeed;
        let seen = (surprise, variance, count);
        self.correct_by_mean(noise, (Sensor::Airspeed, parts), dt_s, seen);
    }

    /// Takes the mean surprise of `count` measurements over `dt_s`, each with this variance. It
    /// contradicts the filter if it is beyond what a single one may be: their errors are not quite
    /// independent of one another.
    fn correct_by_mean(
        &mut self,
        noise: &Noise,
        (by, parts): (Sensor, Errors),
        dt_s: f32,
        (surprise, variance, count): (f32, f32, f32),
    ) {
        let expected = self.covariance.expect(parts, variance / count);
        let most = noise.most * noise.most * (expected.variance + variance);
        if by == Sensor::Height {
            self.seen.strain(surprise * surprise / expected.variance, dt_s);
        }
        self.seen.judge(by, surprise * surprise > most, dt_s);
        self.take(noise, &expected, surprise);
    }

    /// The air meets the glider from ahead. A slip lasts, so that one look in a while counts, or
    /// all of them with so much more noise.
    pub(super) fn use_slip(&mut self, noise: &Noise, dt_s: f32) {
        let [x, y, z] = self.through_body();
        let parts =
            Errors { velocity: [0.0, 1.0, 0.0], tilt: [z, 0.0, -x], slip: -x, ..Errors::default() };
        // Of no airspeed the slip would be known exactly, which leaves the covariance no digits.
        let deviation = noise.slip * larger(self.seen.airspeed, NO_SPEED_MPS);
        let variance = deviation * deviation * 2.0 * noise.slip_lasts / dt_s;
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
    fn stand(&mut self, noise: &Noise, dt_s: f32) {
        self.slow(noise, REST_MPS * REST_MPS / dt_s);
        let variance = REST_RADPS * REST_RADPS / dt_s;
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::air::atmosphere::GRAVITY_MPS2;
    use approx::assert_abs_diff_eq;

    const DT_S: f32 = 0.02;

    /// One sample of a flight: what the sensors read.
    #[derive(Clone, Copy)]
    struct Read {
        force: Vector,
        turn: Vector,
        height: f32,
        airspeed: f32,
    }

    /// Flies `seconds` of it; `look` sees the time and the filter after each sample.
    fn fly(seconds: f32, read: impl Fn(f32) -> Read, mut look: impl FnMut(f32, &Filter)) {
        let noise = Noise::USUAL;
        let first = read(0.0);
        let mut filter = Filter::start(&noise, first.force, first.height, first.airspeed);
        for step in 1..=(seconds / DT_S) as u32 {
            let time = step as f32 * DT_S;
            let Read { force, turn, height, airspeed } = read(time);
            filter.predict(&noise, (DT_S, 1.0), (force, 0.0), turn);
            filter.see_height(height, 0.0);
            filter.see_airspeed(airspeed, 0.0);
            filter.settle(&noise);
            look(time, &filter);
        }
    }

    fn straight(height: f32, airspeed: f32) -> Read {
        Read { force: [0.0, 0.0, -GRAVITY_MPS2], turn: [0.0; 3], height, airspeed }
    }

    #[test]
    fn in_rising_air_the_climb_is_the_airs() {
        // Level to the air, which rises at 2 m/s: f . v / g is 2 m/s.
        fly(
            60.0,
            |time| straight(1000.0 + 2.0 * time, 25.0),
            |time, filter| {
                if time > 30.0 {
                    assert_abs_diff_eq!(filter.climb(), 2.0, epsilon = 0.05);
                    assert_abs_diff_eq!(filter.vertical_speed(), 2.0, epsilon = 0.05);
                    assert_abs_diff_eq!(filter.load_factor(), 1.0, epsilon = 0.01);
                }
            },
        );
    }

    #[test]
    fn a_gust_at_the_pitot_is_no_climb() {
        // 1.5 m/s of headwind for 3 s at 30 m/s are 4.7 m of kinetic height, there and back.
        fly(
            90.0,
            |time| {
                let gust = if (60.0..63.0).contains(&time) { 1.5 } else { 0.0 };
                straight(1000.0, 30.0 + gust)
            },
            |time, filter| {
                if time > 40.0 {
                    assert_abs_diff_eq!(filter.climb(), 0.0, epsilon = 0.25);
                }
            },
        );
    }

    #[test]
    fn a_steady_turn_has_its_bank_its_load_and_no_climb() {
        // 40 degrees at 25 m/s: n = 1 / cos 40 = 1.305, turn rate g tan(bank) / V about the
        // vertical.
        let bank = 40.0_f32.to_radians();
        let rate = GRAVITY_MPS2 * bank.tan() / 25.0;
        let turning = Read {
            force: [0.0, 0.0, -GRAVITY_MPS2 / bank.cos()],
            turn: [0.0, rate * bank.sin(), rate * bank.cos()],
            height: 1500.0,
            airspeed: 25.0,
        };
        fly(
            120.0,
            |_| turning,
            |time, filter| {
                if time > 60.0 {
                    assert_abs_diff_eq!(filter.bank(), bank, epsilon = 0.05);
                    assert_abs_diff_eq!(filter.load_factor(), 1.0 / bank.cos(), epsilon = 0.01);
                    assert_abs_diff_eq!(filter.climb(), 0.0, epsilon = 0.05);
                }
            },
        );
    }

    #[test]
    fn a_filter_that_starts_in_a_turn_with_its_bank_has_no_climb_to_unlearn() {
        let bank = 40.0_f32.to_radians();
        let rate = GRAVITY_MPS2 * bank.tan() / 25.0;
        let force = [0.0, 0.0, -GRAVITY_MPS2 / bank.cos()];
        let worst = |known: f32| {
            let noise = Noise::USUAL;
            let mut filter = Filter::start_banked(&noise, (force, known), 1500.0, 25.0);
            let mut worst = 0.0_f32;
            for _ in 0..1000 {
                let turn = [0.0, rate * bank.sin(), rate * bank.cos()];
                filter.predict(&noise, (DT_S, 1.0), (force, 0.0), turn);
                filter.see_height(1500.0, 0.0);
                filter.see_airspeed(25.0, 0.0);
                filter.settle(&noise);
                worst = worst.max(filter.climb().abs());
            }
            worst
        };
        let (with, without) = (worst(bank), worst(0.0));
        assert!(with < 0.1 && without > 1.0, "{with}, {without}");
    }

    #[test]
    fn a_zoom_trades_speed_for_height_and_is_no_climb() {
        // Without drag: V' = -g sin(path), V path' = (n - cos(path)) g, from 40 m/s, with the path
        // swinging to 17 degrees up and down every 12 s. Integrated in steps of 1 ms.
        let path = |time: f32| {
            let swing = 0.3 * (core::f32::consts::TAU * (time - 30.0) / 12.0).sin();
            if time > 30.0 { swing } else { 0.0 }
        };
        let mut flight = std::vec::Vec::new();
        let (mut height, mut speed) = (1000.0_f64, 40.0_f64);
        let mut felt = ([0.0, 0.0, -GRAVITY_MPS2], [0.0; 3]);
        for step in 0..66_000 {
            let time = step as f32 * 1.0e-3;
            let (angle, rate) = (path(time), (path(time + 1.0e-3) - path(time)) / 1.0e-3);
            if step % 20 == 10 {
                // What is felt in the middle of a sample is nearly its mean.
                let load = angle.cos() + speed as f32 * rate / GRAVITY_MPS2;
                felt = ([0.0, 0.0, -GRAVITY_MPS2 * load], [0.0, rate, 0.0]);
            } else if step % 20 == 0 {
                let (height, airspeed) = (height as f32, speed as f32);
                flight.push(Read { force: felt.0, turn: felt.1, height, airspeed });
            }
            height += 1.0e-3 * speed * f64::from(angle.sin());
            speed -= 1.0e-3 * f64::from(GRAVITY_MPS2 * angle.sin());
        }
        let mut fastest = 0.0_f32;
        let read = |time: f32| flight[((time / DT_S).round() as usize).min(flight.len() - 1)];
        fly(65.0, read, |time, filter| {
            if time > 30.0 {
                assert_abs_diff_eq!(filter.climb(), 0.0, epsilon = 0.3);
                fastest = fastest.max(filter.vertical_speed());
            }
        });
        assert!(fastest > 8.0, "it rises at {fastest} m/s meanwhile");
    }

    #[test]
    fn at_rest_it_learns_the_gyros_bias_and_does_not_move() {
        let bias = [0.01, -0.008, 0.006];
        let slope = 10.0_f32.to_radians();
        let parked = Read {
            force: [GRAVITY_MPS2 * slope.sin(), 0.0, -GRAVITY_MPS2 * slope.cos()],
            turn: bias,
            height: 300.0,
            airspeed: 0.0,
        };
        fly(
            60.0,
            |_| parked,
            |time, filter| {
                if time > 20.0 {
                    assert!(filter.is_at_rest());
                    assert_abs_diff_eq!(filter.climb(), 0.0, epsilon = 0.05);
                    assert_abs_diff_eq!(filter.pitch(), slope, epsilon = 0.02);
                    for (found, true_bias) in filter.gyro_bias().into_iter().zip(bias) {
                        assert_abs_diff_eq!(found, true_bias, epsilon = 1.0e-3);
                    }
                }
            },
        );
    }
}
