//! Which way is forward, from the launch: whatever pulls or throws a glider pushes it forward.

use super::vector::{Vector, dot, minus, scaled, sum};
use crate::units::larger;

/// Everything is looked at through one pole of this, s.
const POLE_S: f32 = 1.0;
/// A push along the level of at least this is a launch, m/s2 (a guess: an aerotow has 1.5 to 3, a
/// winch more, common practice, no source).
const PUSH_MPS2: f32 = 2.0;
/// It comes within this time after the rest, s (a guess).
const SOON_S: f32 = 30.0;

/// State of the look-out for a launch.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Launch {
    /// The mean force at rest, and the mean force.
    at_rest: Option<Vector>,
    felt: Vector,
    since_rest_s: f32,
}

impl Launch {
    /// Takes the force along what is taken for body axes. `is_fast` is whether the airspeed shows a
    /// launch. Returns where forward is, once.
    pub(super) fn see(
        &mut self,
        dt_s: f32,
        force: Vector,
        is_at_rest: bool,
        is_fast: bool,
    ) -> Option<Vector> {
        let part = dt_s / (POLE_S + dt_s);
        self.felt = sum(self.felt, scaled(part, minus(force, self.felt)));
        if is_at_rest {
            self.at_rest = Some(self.felt);
            self.since_rest_s = 0.0;
        }
        self.since_rest_s += dt_s;
        let at_rest = self.at_rest.filter(|_| is_fast && self.since_rest_s < SOON_S)?;
        let [x, y, _] = minus(self.felt, at_rest);
        let push = [x, y, 0.0];
        if dot(push, push) < PUSH_MPS2 * PUSH_MPS2 {
            return None;
        }
        self.at_rest = None;
        Some(push)
    }

    /// Whether the mean force at rest comes from another side than down.
    pub(super) fn hangs_otherwise(&self) -> bool {
        let [x, y, z] = self.at_rest.unwrap_or([0.0, 0.0, -1.0]);
        -z < larger(x.abs(), y.abs())
    }
}
