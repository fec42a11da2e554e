//! How the glider is handled: turns the pilot's wanted path and bank into lift and roll.
//!
//! ```text
//! path wanted -> rate of the path, within load factors -> stick -> lift
//! bank wanted -> rate of roll -> stick -> roll
//! ```
//!
//! The lift also answers gusts, as a stable glider does by itself: the path through the air returns
//! to the pilot's angle with the time constant of the glider's heave, within what the wing can
//! carry. Time constants are guesses at an unhurried pilot.

use crate::physics::atmosphere::GRAVITY_MPS2;
use crate::physics::glider::Glider;
use crate::physics::motion::TICK_S;
use crate::physics::vector::Vector;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Time constant of the stick following the pilot's intent, s.
pub const STICK_S: f64 = 0.3;
/// Time constant of bank corrections, s.
pub const BANK_S: f64 = 0.6;
/// Time constant of the lift following the stick, s.
const LIFT_S: f64 = 0.08;
/// Time constant of the roll following the stick, s.
const ROLL_S: f64 = 0.25;

/// The state of the flight, as the pilot uses it.
#[derive(Clone, Copy, Debug)]
pub struct Flown<'a> {
    /// The glider.
    pub glider: &'a Glider,
    /// Motion through the air, m/s.
    pub through_air: Vector,
    /// True airspeed, m/s: the length of that.
    pub airspeed_mps: f64,
    /// Ratio of true to equivalent airspeeds.
    pub speed_ratio: f64,
    /// Direction of the lift, of length 1.
    pub lift: Vector,
}

impl Flown<'_> {
    /// Equivalent airspeed, m/s.
    pub fn equivalent_mps(&self) -> f64 {
        self.airspeed_mps / self.speed_ratio
    }

    /// Angle of the path through the air above the horizon, rad.
    pub fn path_rad(&self) -> f64 {
        path_angle(self.through_air)
    }

    /// Bank of the lift about the direction of flight, positive to the right, rad.
    pub fn bank_rad(&self) -> f64 {
        let ahead = self.through_air.unit_or(Vector::on_course(0.0));
        let right = ahead.cross(Vector::UP).unit_or(Vector::on_course(FRAC_PI_2));
        libm::atan2(self.lift.dot(right), self.lift.dot(right.cross(ahead)))
    }
}

/// How briskly a pilot flies.
#[derive(Clone, Copy, Debug)]
pub struct Manner {
    /// Time constant of corrections of the path's angle, s.
    pub path_s: f64,
    /// Least load factor of a push, on top of the turn's.
    pub least_load: f64,
    /// Greatest load factor of a pull, likewise.
    pub most_load: f64,
    /// Greatest rate of roll, rad/s.
    pub roll_rps: f64,
}

/// The stick and the pilot's targets.
#[derive(Clone, Copy, Debug)]
pub struct Stick {
    /// Angle of the path through the air that the pilot holds, rad.
    pub path_rad: f64,
    /// Its rate, rad/s.
    pub path_rps: f64,
    /// Rate of roll to the right, rad/s.
    pub roll_rps: f64,
    /// Lift, m/s2.
    pub lift_mps2: f64,
}

impl Default for Stick {
    /// Straight and level.
    fn default() -> Self {
        Self { path_rad: 0.0, path_rps: 0.0, roll_rps: 0.0, lift_mps2: GRAVITY_MPS2 }
    }
}

impl Stick {
    /// Load factor of the lift.
    #[cfg(feature = "plan")]
    pub fn load_factor(&self) -> f64 {
        self.lift_mps2 / GRAVITY_MPS2
    }

    /// Continues on the present path.
    pub fn take_up(&mut self, path_rad: f64) {
        (self.path_rad, self.path_rps) = (path_rad, 0.0);
    }

    /// The lift for the next tick towards the path `wanted_rad`, with the pull `pull` of a cable or
    /// a tug; m/s2.
    pub fn pull(
        &mut self,
        flown: &Flown<'_>,
        manner: &Manner,
        wanted_rad: f64,
        pull: Vector,
    ) -> f64 {
        let speed = flown.airspeed_mps.max(5.0);
        let path = flown.path_rad();
        let weight = GRAVITY_MPS2 * libm::cos(self.path_rad);
        let bend = |load: f64| (load * GRAVITY_MPS2 - weight) / speed;
        // Where the path already curves, as at the bottom of a dive, both limits may have the same
        // sign.
        let (least, most) = (bend(manner.least_load).min(0.0), bend(manner.most_load).max(0.0));
        let wish = ((wanted_rad - self.path_rad) / manner.path_s).clamp(least, most);
        self.path_rps = nearer(self.path_rps, wish, STICK_S);
        self.path_rad = (self.path_rad + self.path_rps * TICK_S).clamp(path - 0.3, path + 0.3);
        let heave_s = flown.glider.heave_s(flown.equivalent_mps(), flown.speed_ratio);
        let vertical = weight + speed * (self.path_rps + (self.path_rad - path) / heave_s.max(0.1));
        let wanted = vertical / libm::cos(flown.bank_rad()).max(0.25) - pull.dot(flown.lift);
        let most = GRAVITY_MPS2 * flown.glider.stall_load_factor(flown.equivalent_mps());
        self.lift_mps2 = nearer(self.lift_mps2, wanted.clamp(-most, most), LIFT_S);
        self.lift_mps2
    }

    /// The rate of roll for the next tick towards the bank `wanted_rad`, rad/s.
    pub fn roll(&mut self, flown: &Flown<'_>, manner: &Manner, wanted_rad: f64) -> f64 {
        let bank = flown.bank_rad();
        let most = manner.roll_rps;
        let rate = (wrapped(wanted_rad - bank) / BANK_S).clamp(-most, most);
        // A descending turn rolls out by itself, at the rate of turn times the sine of the slope.
        let path = flown.path_rad();
        let turn = self.lift_mps2 * libm::sin(bank)
            / (flown.airspeed_mps.max(5.0) * libm::cos(path).max(0.3));
        self.roll_rps = nearer(self.roll_rps, rate - turn * libm::sin(path), ROLL_S);
        self.roll_rps
    }
}

/// The angle of the path, rad, at which the weight balances a drag and an acceleration along the
/// path, both m/s2.
pub fn path_for(drag_mps2: f64, acceleration_mps2: f64) -> f64 {
    libm::asin((-(drag_mps2 + acceleration_mps2) / GRAVITY_MPS2).clamp(-0.95, 0.95))
}

/// Angle of a motion above the horizon, rad.
pub fn path_angle(through_air: Vector) -> f64 {
    libm::atan2(through_air.up, through_air.level().length())
}

/// An angle from -pi to pi.
pub fn wrapped(angle_rad: f64) -> f64 {
    let turned = angle_rad - TAU * libm::floor(angle_rad / TAU);
    if turned > PI { turned - TAU } else { turned }
}

/// A first-order approach to `wanted` in a tick.
pub fn nearer(value: f64, wanted: f64, time_constant_s: f64) -> f64 {
    value + (wanted - value) * (TICK_S / time_constant_s)
}
