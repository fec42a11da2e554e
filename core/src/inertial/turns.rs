//! Whether the axes are what they are said to be, from how a glider turns.
//!
//! In a steady turn without slip at load factor n and airspeed V, about body axes,
//!
//! ```text
//! pitch rate   (g / V) (n - 1 / n)        always nose up, in turns to either side
//! yaw rate     (g / V) sin(bank)
//! roll rate    bank'                      none on the whole
//! ```
//!
//! so that the level part of the turn rate points along the right wing: to any other quarter, and
//! the sensor is turned; and a roll to the right is followed by yaw to the right, or one of the two
//! is reversed. The specific force shows n. More load comes with a larger angle of attack, which
//! tilts the lift forward against the body: the forward force grows with the load, or its axis is
//! reversed.
//!
//! Source: the turn is mechanics; the bounds are guesses, tried on simulated flights and real
//! recordings.

use super::vector::{Vector, length};
use crate::air::atmosphere::GRAVITY_MPS2;
use crate::units::{larger, limited};

/// Everything is looked at through one pole of this, s.
const POLE_S: f32 = 1.0;
/// The load's slow part has this time, s.
const SLOW_S: f32 = 8.0;
/// Slower than this nothing is looked at, m/s.
const SLOWEST_MPS: f32 = 12.0;
/// A turn: this much yaw rate, rad/s, and load.
const TURN_RADPS: f32 = 0.08;
const TURN_LOAD: f32 = 1.05;
/// So much turning is enough to judge, rad: about two thirds of a circle.
const ENOUGH_RAD: f32 = 2.5;
/// The turn rate must be this share of what the load says, to point anywhere.
const CLEAR: f32 = 0.5;
/// And two quarters must differ by this much of it.
const UNCLEAR: f32 = 0.3;
/// Correlation of roll and yaw beyond which they agree, or are reversed; and so much roll is
/// enough, rad2/s.
const AGREE: f32 = 0.15;
const REVERSED: f32 = -0.3;
const ENOUGH_ROLL: f32 = 0.15;
/// The same for the forward force and the load: reversed, with a slope of this, or doubtful; and
/// so much change of the load is enough, (m/s2)2 s.
const FORCE_REVERSED: f32 = -0.6;
const FORCE_DOUBTFUL: f32 = -0.5;
const FORCE_SLOPE: f32 = -0.1;
const ENOUGH_LOAD: f32 = 10.0;
/// The oldest turns are forgotten over this, s.
const FORGET_S: f32 = 300.0;

/// What the turns so far show.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Shown {
    /// Not enough yet.
    Little,
    /// The axes are right.
    Right,
    /// Forward is to this side of what was taken for it, along body axes.
    Turned(Vector),
    /// A turn rate is reversed, or on another axis.
    TurnReversed,
    /// The forward force is reversed.
    ForceReversed,
}

/// State of the check.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Turns {
    force: Vector,
    turn: Vector,
    airspeed: f32,
    bank: f32,
    slow: [f32; 2],
    seen_s: f32,
    level: [f32; 2],
    expected: f32,
    turned_rad: f32,
    roll: Correlation,
    load: Correlation,
}

/// Sums of squares and of products.
#[derive(Clone, Copy, Debug, Default)]
struct Correlation {
    xx: f32,
    yy: f32,
    xy: f32,
}

impl Correlation {
    fn add(&mut self, dt_s: f32, x: f32, y: f32) {
        let keep = FORGET_S / (FORGET_S + dt_s);
        self.xx = keep * self.xx + dt_s * x * x;
        self.yy = keep * self.yy + dt_s * y * y;
        self.xy = keep * self.xy + dt_s * x * y;
    }

    fn coefficient(&self) -> f32 {
        self.xy / larger(libm::sqrtf(self.xx * self.yy), 1.0e-9)
    }

    /// Of y on x.
    fn slope(&self) -> f32 {
        self.xy / larger(self.xx, 1.0e-9)
    }
}

impl Turns {
    /// Takes force and turn rate along what is taken for body axes, and the airspeed.
    pub(super) fn see(&mut self, dt_s: f32, force: Vector, turn: Vector, airspeed: f32) {
        let part = dt_s / (POLE_S + dt_s);
        let follow = |old: f32, new: f32| old + part * (new - old);
        let ([a, b, c], [x, y, z]) = (self.force, force);
        self.force = [follow(a, x), follow(b, y), follow(c, z)];
        let ([a, b, c], [x, y, z]) = (self.turn, turn);
        self.turn = [follow(a, x), follow(b, y), follow(c, z)];
        self.airspeed = follow(self.airspeed, airspeed);
        if airspeed < SLOWEST_MPS {
            self.seen_s = 0.0;
            return;
        }
        self.seen_s += dt_s;
        let [_, _, yaw] = self.turn;
        let bank = libm::asinf(limited(self.airspeed * yaw / GRAVITY_MPS2, 0.95));
        let banked = (bank - self.bank) / larger(dt_s, 1.0e-3);
        self.bank = bank;
        if self.seen_s > 3.0 * POLE_S {
            self.see_turn(dt_s);
            self.see_roll(dt_s, banked);
            self.see_load(dt_s);
        }
    }

    fn see_turn(&mut self, dt_s: f32) {
        let [roll, pitch, yaw] = self.turn;
        let load = length(self.force) / GRAVITY_MPS2;
        if yaw.abs() < TURN_RADPS || load < TURN_LOAD {
            return;
        }
        let expected = GRAVITY_MPS2 / self.airspeed * (load - 1.0 / load);
        let keep = FORGET_S / (FORGET_S + dt_s);
        let [x, y] = self.level;
        self.level = [keep * x + dt_s * roll * expected, keep * y + dt_s * pitch * expected];
        self.expected = keep * self.expected + dt_s * expected * expected;
        self.turned_rad += dt_s * expected;
    }

    fn see_roll(&mut self, dt_s: f32, banked: f32) {
        let [roll, ..] = self.turn;
        self.roll.add(dt_s, banked, roll);
    }

    fn see_load(&mut self, dt_s: f32) {
        let [forward, _, down] = self.force;
        let is_early = self.seen_s < SLOW_S;
        let part = dt_s / (SLOW_S + dt_s);
        let part = if is_early { larger(part, dt_s / self.seen_s) } else { part };
        let [slow_forward, slow_down] = &mut self.slow;
        *slow_forward += (forward - *slow_forward) * part;
        *slow_down += (down - *slow_down) * part;
        if !is_early {
            self.load.add(dt_s, *slow_down - down, forward - *slow_forward);
        }
    }

    /// What all that shows.
    pub(super) fn shown(&self) -> Shown {
        if self.turned_rad > ENOUGH_RAD {
            let [x, y] = self.level.map(|sum| sum / self.expected);
            if x * x + y * y < CLEAR * CLEAR {
                return Shown::TurnReversed;
            }
            // Between two quarters nothing is clear.
            let is_clear = (x.abs() - y.abs()).abs() > UNCLEAR;
            if is_clear && y < x.abs() {
                // Right is at (x, y), and forward a quarter to the left of it.
                return Shown::Turned([y, -x, 0.0]);
            }
        }
        let (force, roll) = (self.load.coefficient(), self.roll.coefficient());
        if self.load.xx > ENOUGH_LOAD && force < FORCE_REVERSED && self.load.slope() < FORCE_SLOPE {
            Shown::ForceReversed
        } else if self.turned_rad < ENOUGH_RAD {
            Shown::Little
        } else if self.roll.xx > ENOUGH_ROLL && roll < REVERSED {
            Shown::TurnReversed
        } else if roll > AGREE && force > FORCE_DOUBTFUL {
            Shown::Right
        } else {
            Shown::Little
        }
    }
}
