//! Whether the glider stands still.

use super::vector::{Vector, length, minus, scaled, sum};
use crate::air::atmosphere::GRAVITY_MPS2;

/// Below this airspeed it may stand: as for total energy.
const NO_SPEED_MPS: f32 = 8.0;
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
    /// The static height at its beginning.
    height: Option<f32>,
    /// The mean force.
    force: Vector,
    /// The mean turn rate, as read.
    pub(super) turn: Vector,
    slow_s: f32,
}

impl Rest {
    /// Takes what was felt over `dt_s`.
    pub(super) fn feel(&mut self, dt_s: f32, force: Vector, turn: Vector, shaken: f32) {
        let off = minus(turn, self.turn);
        self.turn = sum(self.turn, scaled(dt_s / (MEAN_S + dt_s), off));
        let off = minus(force, self.force);
        self.force = sum(self.force, scaled(dt_s / (MEAN_S + dt_s), off));
        let is_still = length(turn) < TURN_RADPS
            && length(self.turn) < MEAN_TURN_RADPS
            && (length(self.force) - GRAVITY_MPS2).abs() < PUSH_MPS2
            && shaken < SHAKE_MPS2;
        self.lasted_s = if is_still { self.lasted_s + dt_s } else { 0.0 };
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

    /// Passes a step at this airspeed.
    pub(super) fn pass(&mut self, dt_s: f32, airspeed: f32) {
        self.slow_s = if airspeed < NO_SPEED_MPS { self.slow_s + dt_s } else { 0.0 };
    }

    /// Whether it has been too slow to fly for a while.
    pub(super) fn is_slow(&self) -> bool {
        self.slow_s > SLOW_S
    }

    pub(super) fn is(&self) -> bool {
        self.lasted_s > REST_S
    }
}
