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
                self.turns = Turns::default();
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

    /// What the turns so far show.
    pub(super) fn shown(&self) -> Shown {
        self.turns.shown()
    }
}
