//! What a velocity over the ground says: heading, wind, and how late the receiver is.
//!
//! ```text
//! ground = velocity - delay x acceleration + wind
//! ```

use super::errors::Errors;
use super::filter::{FIRST_DELAY_S, Filter};
use super::noise::Noise;
use super::seen::Waiting;
use super::vector::{Vector, cross, minus, scaled};

/// The first heading is taken from the way over the ground: above this speed, over the ground and
/// through the air, and with this variance, rad2 (guesses).
const LEAST_MPS: f32 = 15.0;
const HEADING_RAD2: f32 = 0.1;
/// ... and this long after the start, when the attitude is known better.
const FIRST_S: f32 = 5.0;
/// Without a velocity for this long, the heading is no longer known (a guess).
const FORGET_S: f32 = 30.0;
/// A surprise beyond so many deviations is not taken, and so many velocities with one, less those
/// without, end the use of the receiver (guesses).
const BELIEVED: f32 = 5.0;
const ENOUGH_REFUSED: u8 = 10;
/// Variances of the wind and the delay when the heading becomes known, m2/s2 and s2 (guesses; real
/// recordings were 0.1 and 0.3 s late).
const WIND_M2PS2: f32 = 36.0;
const DELAY_S2: f32 = 0.09;
/// A receiver later than this is of no use: in turns the acceleration does not stay the same for so
/// long (a guess).
const LATEST_S: f32 = 0.5;

impl Filter {
    /// Keeps a velocity over the ground toward north, east and down, `age_s` old as far as that is
    /// known, to be taken with the next samples.
    pub fn see_ground(&mut self, ground: Vector, age_s: f32) {
        let [north, east, _] = ground;
        if !self.heading_known {
            let slowest = LEAST_MPS * LEAST_MPS;
            let is_slow = north * north + east * east < slowest || self.seen.airspeed < LEAST_MPS;
            if is_slow || self.since_ground_s < FIRST_S {
                return;
            }
        }
        self.since_ground_s = 0.0;
        self.ground = Some(Waiting { velocity: ground, age_s, along: 0, is_refused: false });
    }

    /// Takes one part of the velocity that waits, if one does, or turns to its heading before the
    /// first; returns whether it did.
    ///
    /// One at a time, in samples in which the covariance is not brought up to date: on a small
    /// processor all three at once beside that made a sample late.
    pub(super) fn take_ground(&mut self, noise: &Noise) -> bool {
        let Some(waiting) = self.ground else { return false };
        let Waiting { velocity: [north, east, down], age_s, along, .. } = waiting;
        if !self.heading_known {
            self.align(north, east);
            return true;
        }
        let rotation = self.rotation;
        let [x, y, z] = self.over_ground(age_s);
        let [late_north, late_east, late_down] = self.felt.acceleration;
        let (surprise, velocity, wind, late) = match along {
            0 => (north - x, rotation.north, [1.0, 0.0], late_north),
            1 => (east - y, rotation.east, [0.0, 1.0], late_east),
            _ => (down - z, rotation.down, [0.0, 0.0], late_down),
        };
        let parts = Errors { velocity, wind, delay: -late, ..Errors::default() };
        let expected = self.covariance.expect(parts, noise.ground * noise.ground);
        let is_refused = surprise * surprise > BELIEVED * BELIEVED * expected.variance;
        if !is_refused {
            self.take(noise, &expected, surprise);
        }
        let is_refused = is_refused || waiting.is_refused;
        self.ground = (along < 2).then_some(Waiting { along: along + 1, is_refused, ..waiting });
        if self.ground.is_none() {
            self.refused = if is_refused {
                self.refused.saturating_add(1)
            } else {
                self.refused.saturating_sub(1)
            };
        }
        true
    }

    /// Whether the receiver has been beyond belief for too long, or is too late.
    pub(super) fn refuses_ground(&self) -> bool {
        self.refused >= ENOUGH_REFUSED || self.delay > LATEST_S
    }

    /// Goes on without the receiver.
    pub(super) fn leave_ground(&mut self) {
        self.heading_known = false;
        self.covariance.end_ground();
        self.ground = None;
        self.refused = 0;
        self.delay = FIRST_DELAY_S;
    }

    /// What the receiver should say now.
    fn over_ground(&self, age_s: f32) -> Vector {
        let late = scaled(self.delay + age_s, self.felt.acceleration);
        let ([x, y, z], [north, east]) = (minus(self.velocity, late), self.wind);
        [x + north, y + east, z]
    }

    /// Turns the earth axes so that x is north, as well as the way over the ground shows it.
    fn align(&mut self, north: f32, east: f32) {
        let [x, y, _] = self.velocity;
        let by = libm::atan2f(east, north) - libm::atan2f(y, x);
        let through = self.through_body();
        let force = self.rotation.to_body(self.felt.acceleration);
        self.attitude = self.attitude.headed(by);
        self.rotation = self.attitude.rotation();
        self.velocity = self.rotation.to_earth(through);
        self.felt.acceleration = self.rotation.to_earth(force);
        self.wind = [0.0; 2];
        let down = self.rotation.down;
        self.covariance.doubt_heading(down, cross(down, through), HEADING_RAD2);
        let wind = [WIND_M2PS2; 2];
        self.covariance.begin_ground(Errors { wind, delay: DELAY_S2, ..Errors::default() });
        self.heading_known = true;
    }

    /// Ends the use of a receiver that has been silent for too long.
    pub(super) fn miss_ground(&mut self) {
        if self.heading_known && self.since_ground_s > FORGET_S {
            self.leave_ground();
        }
    }
}
