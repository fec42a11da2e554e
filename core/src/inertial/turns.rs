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
//! is reversed. The specific force shows n. What straight flight shows is in `swings`.
//!
//! Source: the turn is mechanics; the bounds are guesses, tried on simulated flights and real
//! recordings.

use super::correlation::{Correlation, kept};
use super::swings::Swings;
use super::vector::{Vector, length};
use crate::air::atmosphere::GRAVITY_MPS2;
use crate::units::{larger, limited};

/// Everything is looked at through one pole of this, s.
const POLE_S: f32 = 1.0;
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
/// So much of it, and so clear a correlation, make it doubtful before the first turn has shown it.
const SOME_ROLL: f32 = 0.1;
const DOUBTFUL: f32 = -0.45;

/// What the turns so far show.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) enum Shown {
    /// Not enough yet.
    #[default]
    Little,
    /// The axes are right.
    Right,
    /// Forward is to this side of what was taken for it, along body axes.
    Turned(Vector),
    /// A turn rate is reversed, or on another axis.
    TurnReversed,
    /// The forward force is reversed.
    ForceReversed,
    /// Something may be wrong: a turn rate, or the forward force, which does not yet go with the
    /// lift.
    Doubtful,
    /// The forward force does not go with the lift as any glider's does.
    Unlike,
}

/// State of the check.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Turns {
    force: Vector,
    turn: Vector,
    airspeed: f32,
    bank: f32,
    seen_s: f32,
    level: [f32; 2],
    expected: f32,
    turned_rad: f32,
    roll: Correlation,
    swings: Swings,
    shown: Shown,
}

impl Turns {
    /// Takes force and turn rate, means over `dt_s`, along what is taken for body axes, the
    /// airspeed, and the angle at which the air meets the body, where that is known.
    pub(super) fn see(
        &mut self,
        dt_s: f32,
        (force, turn): (Vector, Vector),
        airspeed: f32,
        flow: Option<f32>,
    ) {
        let part = dt_s / (POLE_S + dt_s);
        let follow = |old: f32, new: f32| old + part * (new - old);
        let ([a, b, c], [x, y, z]) = (self.force, force);
        self.force = [follow(a, x), follow(b, y), follow(c, z)];
        let ([a, b, c], [x, y, z]) = (self.turn, turn);
        self.turn = [follow(a, x), follow(b, y), follow(c, z)];
        self.airspeed = follow(self.airspeed, airspeed);
        if airspeed < SLOWEST_MPS {
            self.pause();
            return;
        }
        self.seen_s += dt_s;
        self.swings.see(dt_s, force, turn, flow);
        let [_, _, yaw] = self.turn;
        let bank = libm::asinf(limited(self.airspeed * yaw / GRAVITY_MPS2, 0.95));
        let banked = (bank - self.bank) / larger(dt_s, 1.0e-3);
        self.bank = bank;
        if self.seen_s > 3.0 * POLE_S {
            self.see_turn(dt_s);
            self.see_roll(dt_s, banked);
        }
        self.shown = self.conclude();
    }

    /// What follows has nothing to do with what was felt just before; what has been found stays.
    pub(super) fn pause(&mut self) {
        (self.force, self.turn, self.seen_s) = ([0.0; 3], [0.0; 3], 0.0);
        self.swings.pause();
    }

    /// After another forward has been found: about the vertical it goes on as it did.
    pub(super) fn of_another_mounting(&self) -> Self {
        let vertical = |[.., z]: Vector| [0.0, 0.0, z];
        let Self { airspeed, bank, seen_s, .. } = *self;
        let (force, turn) = (vertical(self.force), vertical(self.turn));
        Self { force, turn, airspeed, bank, seen_s, ..Self::default() }
    }

    /// The bank of a turn without slip, rad; 0 where it is not known.
    pub(super) fn bank(&self) -> f32 {
        if self.seen_s > 3.0 * POLE_S { self.bank } else { 0.0 }
    }

    /// Whether the bank will be known soon, and is worth waiting for: it flies, and has circled
    /// before.
    pub(super) fn waits_for_bank(&self, airspeed: f32) -> bool {
        airspeed > SLOWEST_MPS && self.turned_rad > 0.0 && self.seen_s <= 3.0 * POLE_S
    }

    fn see_turn(&mut self, dt_s: f32) {
        let [roll, pitch, yaw] = self.turn;
        let load = length(self.force) / GRAVITY_MPS2;
        if yaw.abs() < TURN_RADPS || load < TURN_LOAD {
            return;
        }
        let expected = GRAVITY_MPS2 / self.airspeed * (load - 1.0 / load);
        let keep = kept(dt_s);
        let [x, y] = self.level;
        self.level = [keep * x + dt_s * roll * expected, keep * y + dt_s * pitch * expected];
        self.expected = keep * self.expected + dt_s * expected * expected;
        self.turned_rad += dt_s * expected;
    }

    fn see_roll(&mut self, dt_s: f32, banked: f32) {
        let [roll, ..] = self.turn;
        self.roll.add(dt_s, banked, roll);
    }

    /// What all that shows.
    pub(super) fn shown(&self) -> Shown {
        self.shown
    }

    fn conclude(&self) -> Shown {
        let (is_reversed, roll) = (self.swings.is_force_reversed(), self.roll.coefficient());
        let rolled = self.roll.amount();
        let has_turned = self.turned_rad > ENOUGH_RAD;
        let right = if has_turned {
            let right = self.level.map(|sum| sum / self.expected);
            let [x, y] = right;
            if x * x + y * y < CLEAR * CLEAR {
                return Shown::TurnReversed;
            }
            // Between two quarters nothing is clear.
            ((x.abs() - y.abs()).abs() > UNCLEAR).then_some(right)
        } else {
            self.swings.right()
        };
        // A turn that shows where right is leaves only the forward force in doubt.
        let turns_right = has_turned && right.is_some();
        match right {
            // Forward is a quarter to the left of right. Back to front, the forward force is
            // reversed as well; otherwise a force or a turn rate is. A gust from below may turn the
            // nose down, so that only a turn shows that.
            Some([x, y]) if y < x.abs() && (y > -x.abs() || self.swings.is_behind()) => {
                Shown::Turned([y, -x, 0.0])
            }
            Some([_, y]) if y < 0.0 && has_turned => Shown::ForceReversed,
            _ if is_reversed => Shown::ForceReversed,
            _ if has_turned && rolled > ENOUGH_ROLL && roll < REVERSED => Shown::TurnReversed,
            _ if self.swings.is_force_unlike(turns_right) => Shown::Unlike,
            _ if self.swings.is_force_doubtful(turns_right) => Shown::Doubtful,
            _ if rolled > SOME_ROLL && roll < DOUBTFUL => Shown::Doubtful,
            _ if has_turned && roll > AGREE => Shown::Right,
            _ => Shown::Little,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::made_up::{AIRSPEED_MPS, Feeling, circles};
    use super::*;

    /// Four minutes of circles to either side; what is shown after each look.
    fn fly(read: impl Fn(Feeling) -> Feeling, mut look: impl FnMut(f32, Shown)) {
        let mut turns = Turns::default();
        for step in 0..2400 {
            let time = 0.1 * step as f32;
            let Feeling { force, turn, flow } = read(circles(time));
            turns.see(0.1, (force, turn), AIRSPEED_MPS, Some(flow));
            look(time, turns.shown());
        }
    }

    #[test]
    fn the_bank_is_known_after_3_s_and_goes_on_with_another_mounting() {
        let mut turns = Turns::default();
        for step in 0..400 {
            let time = 0.1 * step as f32;
            let Feeling { force, turn, flow } = circles(time);
            turns.see(0.1, (force, turn), AIRSPEED_MPS, Some(flow));
            if time < 2.9 {
                assert!(turns.bank() == 0.0 && !turns.waits_for_bank(AIRSPEED_MPS));
            }
        }
        // The circles are of 0.61 rad.
        assert!((turns.bank() - 0.61).abs() < 0.03, "{}", turns.bank());
        assert_eq!(turns.of_another_mounting().bank(), turns.bank());
        turns.pause();
        assert_eq!(turns.bank(), 0.0);
        assert!(turns.waits_for_bank(AIRSPEED_MPS) && !turns.waits_for_bank(5.0));
    }

    #[test]
    fn a_reversed_roll_rate_is_doubtful_before_it_is_refused() {
        let mut all = std::vec::Vec::new();
        let read = |felt: Feeling| {
            let [x, y, z] = felt.turn;
            Feeling { turn: [-x, y, z], ..felt }
        };
        fly(read, |_, shown| all.push(shown));
        all.dedup();
        assert!(all.starts_with(&[Shown::Little, Shown::Doubtful]), "{all:?}");
        assert_eq!(all.last(), Some(&Shown::TurnReversed));
    }

    fn both(felt: Feeling, read: impl Fn(Vector) -> Vector) -> Feeling {
        Feeling { force: read(felt.force), turn: read(felt.turn), ..felt }
    }

    #[test]
    fn right_axes_are_never_refused_and_found_right() {
        let mut last = Shown::Little;
        fly(
            |felt| felt,
            |time, shown| {
                assert!(matches!(shown, Shown::Little | Shown::Right), "{shown:?} at {time} s");
                last = shown;
            },
        );
        assert_eq!(last, Shown::Right);
    }

    #[test]
    fn quarter_turns_are_learnt_within_a_minute() {
        let readings: [fn(Vector) -> Vector; 3] =
            [|[x, y, z]| [-y, x, z], |[x, y, z]| [-x, -y, z], |[x, y, z]| [y, -x, z]];
        for read in readings {
            let mut first = None;
            fly(
                |felt| both(felt, read),
                |time, shown| match shown {
                    Shown::Turned(forward) if first.is_none() => first = Some((time, forward)),
                    _ => {}
                },
            );
            let (time, [x, y, _]) = first.expect("found");
            let [a, b, _] = read([1.0, 0.0, 0.0]);
            assert!(time < 60.0, "{time} s");
            assert!(a * x + b * y > (a * y - b * x).abs(), "{x}, {y}");
        }
    }

    #[test]
    fn one_reversed_axis_is_refused_by_name() {
        let reversed = |axis: usize, mut vector: Vector| {
            vector[axis] = -vector[axis];
            vector
        };
        for axis in 0..3 {
            let mut last = Shown::Little;
            let read = |felt: Feeling| Feeling { turn: reversed(axis, felt.turn), ..felt };
            fly(read, |_, shown| last = shown);
            assert!(matches!(last, Shown::TurnReversed | Shown::ForceReversed), "{axis}: {last:?}");
        }
        let mut last = Shown::Little;
        let read = |felt: Feeling| Feeling { force: reversed(0, felt.force), ..felt };
        fly(read, |_, shown| last = shown);
        assert_eq!(last, Shown::ForceReversed);
    }
}
