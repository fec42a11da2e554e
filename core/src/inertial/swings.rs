//! Whether the axes are what they are said to be, from how a glider swings in flight, straight on
//! as well as in turns.
//!
//! - More load comes with a larger angle of attack, which tilts the lift forward against the body:
//!   the forward force grows with the load.
//! - Lift is at right angles to the flow: the forward force grows with the load times the angle at
//!   which the air meets the body, which the filter knows from the height.
//! - The load bends the path, and over seconds the nose follows the path: the pitch rate grows with
//!   the load, and the roll rate has nothing to do with it.
//!
//! All of it is looked at between 0.3 and 3 s: what is slower is trim, what is quicker is noise.
//! The physics is that of any glider; the bounds are guesses, tried on simulated flights and real
//! recordings.

use super::correlation::Correlation;
use super::vector::Vector;
use crate::units::limited;

/// The swings that are looked at, s.
const QUICK_S: f32 = 0.3;
const SLOW_S: f32 = 3.0;
/// It takes so long until all that is slow is known, s.
const SETTLED_S: f32 = 20.0;
/// Larger swings count as these, m/s2.
const MOST_FORCE: f32 = 0.3;
const MOST_LOAD: f32 = 0.7;
const MOST_LIFT: f32 = 0.15;
/// So much change of the load is enough, (m/s2)2 s, and below this coefficient the force is
/// reversed. Flights have 0.3 and more, reversed the opposite.
const ENOUGH_LOAD: f32 = 5.0;
const LOAD_REVERSED: f32 = -0.35;
/// ... with this slope: a sensor whose nose is 6 degrees low reads 0.105 of the load backward, and
/// a right one forward by 0.05 and more of it.
const LOAD_SLOPE: f32 = -0.12;
/// The same for the load times the angle of the flow. Flights have 0.4 and more.
const ENOUGH_FLOW: f32 = 0.2;
const FLOW_REVERSED: f32 = -0.5;
/// From so much of it on the coefficient must be beyond this, and once it is, beyond the second;
/// with so much more, what is not is no glider's (guesses). In 136 simulated flights right sensors
/// had 0.3 and more after a minute, a quarter turn 0.25 at most, and a reversed turn rate or force
/// less, but where it does no harm.
const SOME_FLOW: f32 = 0.1;
const FLOW_RIGHT: f32 = 0.25;
const STILL_RIGHT: f32 = 0.1;
const MUCH_FLOW: f32 = 0.5;
/// Or the load shows it: its coefficient's square times its amount, (m/s2)2 s. A quarter turn has 2
/// by chance at most. In circles in which the air rises and sinks by metres a second, the flow is
/// not what the filter takes it for (guesses).
const LOAD_RIGHT: f32 = 2.0;
/// Where all else is right, the forward force is unless it goes against the flow and not with the
/// load by this coefficient (a guess).
const WITH_LOAD: f32 = 0.1;
/// The pitch rate that the load brings is about this axis, if its coefficient is beyond the first,
/// and that of the other axis within the second; with so much change of the load, (m/s2)2 s.
const CLEAR: f32 = 0.75;
const NONE: f32 = 0.35;
const ENOUGH_PITCH: f32 = 0.4;
/// ... over so long, s: who rolls into a circle has roll rate and load together, once (a guess).
const LONG_S: f32 = 40.0;

/// State of the check.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Swings {
    seen_s: f32,
    /// Forward force, load, load times the flow's angle, roll rate, pitch rate.
    bands: [Band; 5],
    load: Correlation,
    flow: Correlation,
    roll: Correlation,
    pitch: Correlation,
    /// For how long they have been looked at, s.
    lasted_s: f32,
    /// The forward force has been found to be reversed, and nothing says otherwise since.
    is_reversed: bool,
    /// The forward force goes with the lift, by the last of the flow's coefficients.
    goes_with_lift: bool,
}

/// What is left of something without what is quick and what is slow.
#[derive(Clone, Copy, Debug, Default)]
struct Band {
    quick: f32,
    slow: f32,
}

impl Band {
    /// Takes the next value; both parts are the mean at first.
    fn pass(&mut self, [quick, slow]: [f32; 2], value: f32) -> f32 {
        self.quick += (value - self.quick) * quick;
        self.slow += (self.quick - self.slow) * slow;
        self.quick - self.slow
    }
}

impl Swings {
    /// Takes force and turn rate, means over `dt_s`, along what is taken for body axes, and the
    /// angle at which the air meets the body from below, rad, where that is known.
    pub(super) fn see(&mut self, dt_s: f32, force: Vector, turn: Vector, flow: Option<f32>) {
        self.seen_s += dt_s;
        let part =
            |pole_s: f32| dt_s / if self.seen_s < pole_s { self.seen_s } else { pole_s + dt_s };
        let parts = [part(QUICK_S), part(SLOW_S)];
        let ([forward, _, down], [roll, pitch, _]) = (force, turn);
        let lift = -down * flow.unwrap_or_default();
        let mut values = [forward, -down, lift, roll, pitch];
        for (value, band) in values.iter_mut().zip(&mut self.bands) {
            *value = band.pass(parts, *value);
        }
        if self.seen_s < SETTLED_S {
            return;
        }
        let [forward, load, lift, roll, pitch] = values;
        // One manoeuvre is not to outweigh the rest of the flight.
        let (forward, load) = (limited(forward, MOST_FORCE), limited(load, MOST_LOAD));
        let lift = limited(lift, MOST_LIFT);
        self.lasted_s += dt_s;
        self.load.add(dt_s, load, forward);
        self.roll.add(dt_s, load, roll);
        self.pitch.add(dt_s, load, pitch);
        if flow.is_some() {
            self.flow.add(dt_s, lift, forward);
        }
        let (by_load, by_flow) = (self.load.coefficient(), self.flow.coefficient());
        let is_reversed =
            self.is_behind() || (self.flow.amount() > ENOUGH_FLOW && by_flow < FLOW_REVERSED);
        let least = if self.goes_with_lift { STILL_RIGHT } else { FLOW_RIGHT };
        self.goes_with_lift = (self.flow.amount() > SOME_FLOW && by_flow > least)
            || (by_load > 0.0 && by_load * by_load * self.load.amount() > LOAD_RIGHT);
        let is_right = by_load > 0.0 && by_flow > 0.0;
        self.is_reversed = is_reversed || (self.is_reversed && !is_right);
    }

    /// Below flying speed there is nothing to see.
    pub(super) fn pause(&mut self) {
        self.seen_s = 0.0;
    }

    /// Whether the forward force is reversed.
    pub(super) fn is_force_reversed(&self) -> bool {
        self.is_reversed
    }

    /// Whether the forward force has not yet gone with the lift; where all else is known to be
    /// right, whether it has gone against it.
    pub(super) fn is_force_doubtful(&self, else_right: bool) -> bool {
        let with_load = self.load.coefficient() > WITH_LOAD;
        let is_against = !else_right || (self.flow.coefficient() < 0.0 && !with_load);
        self.flow.amount() > SOME_FLOW && !self.goes_with_lift && is_against
    }

    /// The same after enough of it.
    pub(super) fn is_force_unlike(&self, else_right: bool) -> bool {
        self.flow.amount() > MUCH_FLOW && self.is_force_doubtful(else_right)
    }

    /// Whether the load shows that the forward force is reversed: whatever the filter believes.
    pub(super) fn is_behind(&self) -> bool {
        self.load.amount() > ENOUGH_LOAD
            && self.load.coefficient() < LOAD_REVERSED
            && self.load.slope() < LOAD_SLOPE
    }

    /// Where right is, along body axes, if the load brings a turn rate that shows it.
    pub(super) fn right(&self) -> Option<[f32; 2]> {
        let (x, y) = (self.roll.coefficient(), self.pitch.coefficient());
        let is_clear = |one: f32, other: f32| one.abs() > CLEAR && other.abs() < NONE;
        let is_enough = self.pitch.amount() > ENOUGH_PITCH && self.lasted_s > LONG_S;
        (is_enough && (is_clear(x, y) || is_clear(y, x))).then_some([x, y])
    }
}

#[cfg(test)]
mod tests {
    use super::super::made_up::straight;
    use super::*;

    /// How a sensor reads a vector along body axes.
    type Reading = fn(Vector) -> Vector;

    /// Two minutes of pull-ups as a sensor reads them that turns each vector by `read`; `look` sees
    /// the state after each look.
    fn fly(read: Reading, forward: f32, knows_flow: bool, mut look: impl FnMut(&Swings)) {
        let mut swings = Swings::default();
        for step in 0..1200 {
            let felt = straight(0.1 * step as f32);
            let [x, y, z] = felt.force;
            let force = read([forward * x, y, z]);
            swings.see(0.1, force, read(felt.turn), knows_flow.then_some(felt.flow));
            look(&swings);
        }
    }

    #[test]
    fn pull_ups_show_a_reversed_forward_force_and_nothing_against_a_right_one() {
        for knows_flow in [false, true] {
            fly(|body| body, 1.0, knows_flow, |swings| assert!(!swings.is_force_reversed()));
            let mut is_reversed = false;
            fly(|body| body, -1.0, knows_flow, |swings| is_reversed = swings.is_force_reversed());
            assert!(is_reversed, "knows the flow: {knows_flow}");
        }
    }

    #[test]
    fn a_force_that_does_not_go_with_the_lift_is_doubtful_and_then_unlike_any_gliders() {
        let said =
            |swings: &Swings| (swings.is_force_doubtful(false), swings.is_force_unlike(false));
        fly(|body| body, 1.0, true, |swings| assert_eq!(said(swings), (false, false)));
        // Without the flow nothing can be said.
        fly(|[x, y, z]| [-y, x, z], 1.0, false, |swings| assert_eq!(said(swings), (false, false)));
        let mut all = std::vec::Vec::new();
        fly(|[x, y, z]| [-y, x, z], 1.0, true, |swings| all.push(said(swings)));
        all.dedup();
        assert_eq!(all, [(false, false), (true, false), (true, true)]);
    }

    #[test]
    fn a_force_that_goes_with_the_load_is_not_doubtful_where_the_flow_is_not_known_well() {
        for (forward, is_doubtful) in [(1.0, false), (0.0, true)] {
            let mut swings = Swings::default();
            for step in 0..1200 {
                let time = 0.1 * step as f32;
                let felt = straight(time);
                let [x, y, z] = felt.force;
                // A quarter of a swing late, the flow has nothing to do with the force.
                let flow = straight(time - 1.25).flow - 0.03;
                swings.see(0.1, [forward * x, y, z], felt.turn, Some(flow));
            }
            assert!(swings.flow.coefficient() < FLOW_RIGHT);
            assert_eq!(swings.is_force_doubtful(false), is_doubtful, "{forward}");
        }
    }

    #[test]
    fn pull_ups_show_where_right_is() {
        let readings: [(Reading, [f32; 2]); 4] = [
            (|[x, y, z]| [x, y, z], [0.0, 1.0]),
            (|[x, y, z]| [-y, x, z], [-1.0, 0.0]),
            (|[x, y, z]| [-x, -y, z], [0.0, -1.0]),
            (|[x, y, z]| [y, -x, z], [1.0, 0.0]),
        ];
        for (read, [x, y]) in readings {
            let mut right = None;
            fly(read, 1.0, true, |swings| right = swings.right());
            let [a, b] = right.expect("enough has been seen");
            assert!(a * x + b * y > CLEAR && (a * y - b * x).abs() < NONE, "{a}, {b}");
        }
    }
}
