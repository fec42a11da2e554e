//! Whether the glider stands still.

use super::vector::{Vector, is_within, minus, scaled, sum};
use crate::air::atmosphere::GRAVITY_MPS2;
use crate::air::energy::NO_SPEED;
use crate::units::larger;

/// Below this airspeed it may stand: as for total energy.
pub(super) const NO_SPEED_MPS: f32 = NO_SPEED.0;
/// It stands if for this long it turns less, now and in the mean, is pushed less beside its weight,
/// is shaken less and rises less than this (guesses; a crew at the wing tip rocks it more).
const REST_S: f32 = 2.0;
const TURN_RADPS: f32 = 0.2;
const MEAN_TURN_RADPS: f32 = 0.04;
const PUSH_MPS2: f32 = 1.0;
const SHAKE_MPS2: f32 = 1.0;
const RISE_M: f32 = 3.0;
/// It is too slow to fly after this long without airspeed (a guess: not in a gust).
const SLOW_S: f32 = 1.0;
/// The means are over this.
const MEAN_S: f32 = 0.5;

/// State of the watch.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Rest {
    lasted_s: f32,
    /// Sums of the forces and turn rates of a step's samples, and how many there are.
    sums: (Vector, Vector),
    count: f32,
    /// The static height at its beginning.
    height: Option<f32>,
    /// The mean force.
    force: Vector,
    /// The mean turn rate, as read.
    pub(super) turn: Vector,
    slow_s: f32,
}

impl Rest {
    /// Takes the force and turn rate of a sample.
    pub(super) fn feel(&mut self, force: Vector, turn: Vector) {
        self.sums = (sum(self.sums.0, force), sum(self.sums.1, turn));
        self.count += 1.0;
    }

    /// Takes a static height, and the last airspeed.
    pub(super) fn see(&mut self, height: f32, airspeed: f32) {
        let begun = *self.height.get_or_insert(height);
        if (height - begun).abs() > RISE_M || airspeed >= NO_SPEED_MPS {
            self.lasted_s = 0.0;
        }
        if self.lasted_s == 0.0 {
            self.height = None;
        }
    }

    /// Passes a step of `dt_s` at this airspeed; `shaken` is the variance of the force from sample
    /// to sample, m2/s4.
    pub(super) fn pass(&mut self, dt_s: f32, airspeed: f32, shaken: f32) {
        self.slow_s = if airspeed < NO_SPEED_MPS { self.slow_s + dt_s } else { 0.0 };
        let (force, turn) = core::mem::take(&mut self.sums);
        let by = 1.0 / larger(core::mem::take(&mut self.count), 1.0);
        let (force, turn) = (scaled(by, force), scaled(by, turn));
        let part = dt_s / (MEAN_S + dt_s);
        self.turn = sum(self.turn, scaled(part, minus(turn, self.turn)));
        self.force = sum(self.force, scaled(part, minus(force, self.force)));
        // A barometer that repeats itself says nothing new, and yet the glider may fly.
        let is_still = airspeed < NO_SPEED_MPS
            && is_within(turn, TURN_RADPS)
            && is_within(self.turn, MEAN_TURN_RADPS)
            && is_within(self.force, GRAVITY_MPS2 + PUSH_MPS2)
            && !is_within(self.force, GRAVITY_MPS2 - PUSH_MPS2)
            && shaken < SHAKE_MPS2 * SHAKE_MPS2;
        self.lasted_s = if is_still { self.lasted_s + dt_s } else { 0.0 };
    }

    /// Whether it has been too slow to fly for a while.
    pub(super) fn is_slow(&self) -> bool {
        self.slow_s > SLOW_S
    }

    pub(super) fn is(&self) -> bool {
        self.lasted_s > REST_S
    }
}
