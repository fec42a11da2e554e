//! A point mass in moving air: the equations of motion, and their integration.
//!
//! ```text
//! dx/dt = v
//! dv/dt = L l - D a + Y a x l + pull - g up
//! a = (v - w) / |v - w|, direction of flight through the air; l across it, direction of the lift;
//! Y the side force of a gust
//! ```
//!
//! Forces are per mass, w is the air's motion. The lift is always at a right angle to the motion
//! through the air, so it does no work in still air, and a gust does the same work as on a real
//! glider: a vertical one tilts the lift, a horizontal one changes the airspeed at once and the
//! path later. How much lift and side force there is in a gust is in [`super::gust_response`]. The
//! lift's direction is carried along as the path bends and is rolled by the pilot; no angle is
//! singular, so that a loop passes through the vertical and the inverted.
//!
//! Scheme: fourth-order Runge-Kutta (Kutta 1901), 1 ms a step. The pilot's inputs, and the motion
//! of the air, linear in time between its values at both ends, are fixed for a tick of five steps.
//! The density follows its slope in between.

use super::atmosphere::{GRAVITY_MPS2, SEA_LEVEL_DENSITY_KGPM3, StillAir};
use super::glider::{Configuration, Glider};
use super::vector::Vector;

/// Time between two updates of the pilot, the air and the sensors, s.
pub const TICK_S: f64 = 0.005;
/// Steps of the integration a tick.
const STEPS: u32 = 5;
/// A step of the integration, s.
const STEP_S: f64 = TICK_S / STEPS as f64;

/// Position and motion of the glider.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    /// Place: m east and north of the origin, m above the sea.
    pub place: Vector,
    /// Velocity over the ground, m/s.
    pub velocity: Vector,
    /// Direction of the lift, of length 1.
    pub lift: Vector,
}

/// The inputs held for a tick.
#[derive(Clone, Copy, Debug, Default)]
pub struct Held {
    /// Lift in m/s2; negative when pushed.
    pub lift_mps2: f64,
    /// Side force to the right, m/s2.
    pub side_mps2: f64,
    /// Roll to the right, rad/s.
    pub roll_rps: f64,
    /// Additions to the drag.
    pub configuration: Configuration,
    /// Pull of the cable or the tug, m/s2.
    pub pull: Vector,
}

/// The air's motion at both ends of a tick, m/s.
#[derive(Clone, Copy, Debug)]
pub struct Gust {
    /// At its beginning.
    pub before: Vector,
    /// At its end.
    pub after: Vector,
}

impl Gust {
    fn at(&self, share: f64) -> Vector {
        self.before + (self.after - self.before) * share
    }
}

impl Motion {
    /// Advances by a tick through air whose state at rest is `still` at the beginning.
    pub fn advance(&mut self, glider: &Glider, held: &Held, still: &StillAir, gust: &Gust) {
        let forces = Forces { glider, held, still, height_m: self.place.up };
        for step in 0..STEPS {
            let share = |part: f64| (f64::from(step) + part) / f64::from(STEPS);
            let winds = [share(0.0), share(0.5), share(1.0)].map(|share| gust.at(share));
            self.step(&forces, winds);
            let ahead = (self.velocity - winds[2]).unit_or(Vector::UP);
            let rolled = self.lift + ahead.cross(self.lift) * (held.roll_rps * STEP_S);
            self.lift = rolled.without(ahead).unit_or(self.lift);
        }
    }

    fn step(&mut self, forces: &Forces<'_>, [first, middle, last]: [Vector; 3]) {
        let (velocity, up, half) = (self.velocity, self.place.up, 0.5 * STEP_S);
        let at = |velocity: Vector, up: f64, wind: Vector| {
            forces.acceleration(velocity, wind, up, self.lift)
        };
        let a1 = at(velocity, up, first);
        let v2 = velocity + a1 * half;
        let a2 = at(v2, up + velocity.up * half, middle);
        let v3 = velocity + a2 * half;
        let a3 = at(v3, up + v2.up * half, middle);
        let v4 = velocity + a3 * STEP_S;
        let a4 = at(v4, up + v3.up * STEP_S, last);
        self.place += (velocity + (v2 + v3) * 2.0 + v4) * (STEP_S / 6.0);
        self.velocity += (a1 + (a2 + a3) * 2.0 + a4) * (STEP_S / 6.0);
    }
}

/// The values that do not change within a tick.
struct Forces<'a> {
    glider: &'a Glider,
    held: &'a Held,
    still: &'a StillAir,
    /// Height at which the air has the given state.
    height_m: f64,
}

impl Forces<'_> {
    #[inline]
    fn acceleration(&self, velocity: Vector, wind: Vector, up: f64, lift: Vector) -> Vector {
        let through = velocity - wind;
        let squared = through.dot(through);
        let ahead = through * (1.0 / squared.sqrt().max(0.1));
        let rising = 1.0 + self.still.density_slope_pm * (up - self.height_m);
        let density = self.still.density_kgpm3 * rising / SEA_LEVEL_DENSITY_KGPM3;
        let load_factor = self.held.lift_mps2 / GRAVITY_MPS2;
        let drag = self.glider.drag_mps2(squared * density, load_factor, self.held.configuration);
        let sideways = ahead.cross(lift) * self.held.side_mps2;
        lift.without(ahead) * self.held.lift_mps2 - ahead * drag + self.held.pull
            - Vector::UP * GRAVITY_MPS2
            + sideways
    }
}
