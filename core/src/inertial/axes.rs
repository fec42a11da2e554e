//! The sensor's axes: given or learnt, and checked in flight.

use super::launch::Launch;
use super::mounting::{FirstForce, Mounting};
use super::trust::Trust;
use super::turns::{Shown, Turns};
use super::vector::{Vector, scaled, sum};

/// A launch shows by the time the airspeed is above this, m/s.
const LAUNCHED_MPS: f32 = 10.0;
/// The turns are looked at so often, s.
const LOOK_S: f32 = 0.1;

/// What is known of the axes.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Axes {
    mounting: Option<Mounting>,
    first: FirstForce,
    /// Sums of force and turn rate since the turns were last looked at, and for how long, s.
    felt: (Vector, Vector, f32),
    launch: Launch,
    turns: Turns,
}

impl Axes {
    /// Force and turn rate along body axes, from those along the sensor's. `given` is the mounting
    /// of the settings, and `flow` the angle at which the air meets the body, if it is known.
    ///
    /// # Errors
    /// Why there is none: the mounting is not known yet, has just been found to be another, or is
    /// not the given one.
    pub(super) fn body(
        &mut self,
        given: Option<Mounting>,
        dt_s: f32,
        (force, turn): (Vector, Vector),
        (airspeed, flow): (Option<f32>, Option<f32>),
        is_at_rest: bool,
    ) -> Result<(Vector, Vector), Trust> {
        let Some(mounting) = given.or(self.mounting) else {
            self.mounting = self.first.see(dt_s, force).map(Mounting::hanging);
            return Err(Trust::Settling);
        };
        let (force, turn) = (mounting.to_body(force), mounting.to_body(turn));
        if given.is_none() && is_at_rest && self.launch.hangs_otherwise() {
            // It was held in a hand when it began.
            *self = Self::default();
            return Err(Trust::Settling);
        }
        let Some(airspeed) = airspeed else { return Ok((force, turn)) };
        self.see_turns(dt_s, (force, turn), airspeed, flow);
        let launched = self.launch.see(dt_s, force, is_at_rest, airspeed > LAUNCHED_MPS);
        let forward = match self.turns.shown() {
            Shown::Turned(forward) => Some(forward),
            _ => launched,
        };
        let turned = forward.map(|forward| mounting.turned_to(forward));
        match turned.filter(|turned| *turned != mounting) {
            None => Ok((force, turn)),
            Some(_) if given.is_some() => Err(Trust::Turned),
            Some(turned) => {
                self.mounting = Some(turned);
                self.turns = self.turns.of_another_mounting();
                Err(Trust::Settling)
            }
        }
    }

    /// Looks at the turns, a few times a second.
    fn see_turns(
        &mut self,
        dt_s: f32,
        (force, turn): (Vector, Vector),
        airspeed: f32,
        flow: Option<f32>,
    ) {
        let (forces, turns, lasted_s) = &mut self.felt;
        *forces = sum(*forces, scaled(dt_s, force));
        *turns = sum(*turns, scaled(dt_s, turn));
        *lasted_s += dt_s;
        if *lasted_s >= LOOK_S {
            let (forces, turns, lasted_s) = core::mem::take(&mut self.felt);
            let mean = |sum: Vector| scaled(1.0 / lasted_s, sum);
            self.turns.see(lasted_s, (mean(forces), mean(turns)), airspeed, flow);
        }
    }

    /// After a gap: what came before it is no way to what comes after it.
    pub(super) fn interrupt(&mut self) {
        self.felt = Default::default();
        self.launch = Launch::default();
        self.turns.pause();
    }

    /// What is felt now shows nothing of the axes.
    pub(super) fn pause(&mut self) {
        self.turns.pause();
    }

    /// The bank of the turn that is being flown, rad; 0 where nothing is known of it.
    pub(super) fn bank(&self) -> f32 {
        self.turns.bank()
    }

    /// Whether a filter had better start when the bank is known.
    pub(super) fn waits_for_bank(&self, airspeed: f32) -> bool {
        self.turns.waits_for_bank(airspeed)
    }

    /// What the turns so far show.
    pub(super) fn shown(&self) -> Shown {
        self.turns.shown()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::air::atmosphere::GRAVITY_MPS2;

    const DT_S: f32 = 0.02;

    /// Feels one force for `seconds`, along the sensor's axes.
    fn feel(axes: &mut Axes, seconds: f32, force: Vector, (airspeed, is_at_rest): (f32, bool)) {
        for _ in 0..(seconds / DT_S) as u32 {
            let _ = axes.body(None, DT_S, (force, [0.0; 3]), (Some(airspeed), None), is_at_rest);
        }
    }

    /// Parked nose up, so that x feels 2.5 m/s2.
    const PARKED: Vector = [2.5, 0.0, -9.5];
    const FLYING: Vector = [-0.5, 0.0, -GRAVITY_MPS2];

    #[test]
    fn a_rest_before_a_gap_makes_no_launch_of_the_flight_after_it() {
        for (is_told, is_turned) in [(true, false), (false, true)] {
            let mut axes = Axes::default();
            feel(&mut axes, 10.0, PARKED, (0.0, true));
            let first = axes.mounting;
            if is_told {
                axes.interrupt();
            }
            feel(&mut axes, 20.0, FLYING, (30.0, false));
            assert_eq!(axes.mounting != first, is_turned, "told of the gap: {is_told}");
        }
    }

    #[test]
    fn a_sensor_that_was_held_otherwise_at_first_is_learnt_anew_at_rest() {
        let mut axes = Axes::default();
        feel(&mut axes, 5.0, [0.0, -GRAVITY_MPS2, 0.0], (0.0, false));
        assert_eq!(axes.mounting, Some(Mounting::hanging([0.0, -GRAVITY_MPS2, 0.0])));
        // Carried to its place, and then at rest there.
        feel(&mut axes, 2.0, PARKED, (0.0, false));
        feel(&mut axes, 5.0, PARKED, (0.0, true));
        assert_eq!(axes.mounting, Some(Mounting::default()));
    }
}
