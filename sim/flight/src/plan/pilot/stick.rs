//! What the pilot does with the stick: lift, roll and the pull of a launch for a leg.

use super::{BANK_S, Pilot, SPIN_S, nearer};
use crate::physics::atmosphere::GRAVITY_MPS2;
use crate::physics::moment::Moment;
use crate::physics::motion::{Held, TICK_S};
use crate::physics::vector::Vector;
use crate::plan::launch::tow_mps2;
use crate::plan::leg::{How, Leg};
use crate::plan::steering;
use crate::plan::view::View;
use std::f64::consts::TAU;

/// In this time a wrong speed is put right, s.
const SPEED_S: f64 = 2.5;
/// In this time a wrong angle of the path is, s.
const PATH_S: f64 = 0.8;
/// The stick follows the wish in this time, s.
const STICK_S: f64 = 0.3;
/// The lift follows the stick in this time, s.
const LIFT_S: f64 = 0.08;
/// The glider rolls at most at this rate, rad/s: 45 to 45 degrees in about 4 s.
const ROLL_RPS: f64 = 0.45;
const ROLL_S: f64 = 0.25;
/// Lift in a spin, in units of the weight: most of the wing is stalled.
const SPIN_LOAD: f64 = 0.35;
/// Share of what the wing carries that a pilot uses in a loop.
const STALL_MARGIN: f64 = 0.9;
/// The round-out begins here, m above the ground, and sinks by so many m/s, and by so much for
/// every metre.
const FLARE_M: f64 = 7.0;
const FLARE_MPS: f64 = 0.35;
const FLARE_PER_S: f64 = 0.4;

impl Pilot<'_> {
    /// By the stick: the wanted speed or path, the wanted bank.
    pub(super) fn fly(&mut self, leg: &Leg, view: &View<'_>) -> Held {
        let Moment { airspeed_mps, still, .. } = *view.moment;
        let load = self.lift_mps2 / GRAVITY_MPS2;
        let speed_mps = view.equivalent_mps();
        let drag = view.glider.drag_mps2(speed_mps * speed_mps, load, self.configuration);
        let slower = (self.speed_mps * still.speed_ratio() - airspeed_mps) / SPEED_S;
        let accelerate = slower.clamp(-leg.acceleration_mps2, leg.acceleration_mps2);
        let path_rad = self.wanted_path(leg, view, drag, accelerate);
        let pull = self.pull(leg, view, drag, accelerate);
        self.roll_rps = self.rolled(leg, view);
        let lift_mps2 = self.lift(leg, view, path_rad, pull);
        Held { lift_mps2, roll_rps: self.roll_rps, configuration: self.configuration, pull }
    }

    /// The angle of the path through the air that the leg asks for, rad.
    fn wanted_path(&self, leg: &Leg, view: &View<'_>, drag: f64, accelerate: f64) -> f64 {
        let above_m = view.moment.place.up - self.scenario.start.ground_m;
        let climbing = |rate_mps: f64| {
            libm::asin((rate_mps / view.moment.airspeed_mps.max(1.0)).clamp(-0.9, 0.9))
        };
        match leg.how {
            How::Winch => {
                let cable = self.cable.as_ref();
                cable.map_or(0.0, |cable| cable.path_rad(leg, view.moment.place, self.airborne_s))
            }
            // The tug is still on the ground while it gathers speed.
            How::Aerotow if above_m < 3.0 && view.equivalent_mps() < 0.9 * self.speed_mps => 0.01,
            How::Aerotow => climbing(leg.climb_mps * (self.airborne_s / 12.0).min(1.0)),
            How::Land if above_m < FLARE_M => climbing(-(FLARE_MPS + FLARE_PER_S * above_m)),
            _ => libm::asin((-(drag + accelerate) / GRAVITY_MPS2).clamp(-0.95, 0.95)),
        }
    }

    fn pull(&mut self, leg: &Leg, view: &View<'_>, drag: f64, accelerate: f64) -> Vector {
        let needed = drag + accelerate + GRAVITY_MPS2 * libm::sin(self.path_rad);
        match (leg.how, &mut self.cable) {
            (How::Winch, Some(cable)) => cable.pull(view, self.heading, needed),
            (How::Aerotow, _) if view.is_on_ground => self.heading * tow_mps2(f64::INFINITY),
            (How::Aerotow, _) => view.through_air().unit_or(self.heading) * tow_mps2(needed),
            _ => Vector::default(),
        }
    }

    fn lift(&mut self, leg: &Leg, view: &View<'_>, path_rad: f64, pull: Vector) -> f64 {
        if view.is_on_ground {
            (self.path_rad, self.path_rps, self.lift_mps2) = (0.0, 0.0, GRAVITY_MPS2);
            return self.lift_mps2;
        }
        let speed = view.moment.airspeed_mps.max(5.0);
        let flown = steering::path_angle(view.through_air());
        let weight = GRAVITY_MPS2 * libm::cos(self.path_rad);
        let bend = |load: f64| (load * GRAVITY_MPS2 - weight) / speed;
        // Where the path is bent already, as at the foot of a dive, the limits may lie on one side
        // of nothing.
        let (least, most) = (bend(leg.least_load).min(0.0), bend(leg.most_load).max(0.0));
        let wish = ((path_rad - self.path_rad) / PATH_S).clamp(least, most);
        self.path_rps = nearer(self.path_rps, wish, STICK_S);
        self.path_rad = (self.path_rad + self.path_rps * TICK_S).clamp(flown - 0.3, flown + 0.3);
        let heave_s = view.glider.heave_s(view.equivalent_mps(), view.moment.still.speed_ratio());
        let vertical =
            weight + speed * (self.path_rps + (self.path_rad - flown) / heave_s.max(0.1));
        let wanted = vertical / libm::cos(self.bank(view)).max(0.25) - pull.dot(view.motion.lift);
        let most = GRAVITY_MPS2 * view.glider.stall_load_factor(view.equivalent_mps());
        self.lift_mps2 = nearer(self.lift_mps2, wanted.clamp(-most, most), LIFT_S);
        self.lift_mps2
    }

    fn rolled(&self, leg: &Leg, view: &View<'_>) -> f64 {
        if view.is_on_ground {
            return 0.0;
        }
        let wanted = steering::wanted_bank(leg, self.goal(), &self.scenario.thermal, view);
        let bank = self.bank(view);
        let rate = (steering::wrapped(wanted - bank) / BANK_S).clamp(-ROLL_RPS, ROLL_RPS);
        // A turn down a slope unrolls by itself, by the rate of turn times the sine of the slope.
        let path = steering::path_angle(view.through_air());
        let turn = self.lift_mps2 * libm::sin(bank)
            / (view.moment.airspeed_mps.max(5.0) * libm::cos(path).max(0.3));
        nearer(self.roll_rps, rate - turn * libm::sin(path), ROLL_S)
    }

    /// Stalled and turning: little lift, much drag, rolling about a steep path.
    pub(super) fn spin(&mut self, leg: &Leg, view: &View<'_>) -> Held {
        let side = if leg.bank_deg < 0.0 { -1.0 } else { 1.0 };
        self.roll_rps = nearer(self.roll_rps, side * TAU / leg.spin_turn_s, SPIN_S);
        self.lift_mps2 = nearer(self.lift_mps2, SPIN_LOAD * GRAVITY_MPS2, SPIN_S);
        self.path_rad = steering::path_angle(view.through_air());
        self.path_rps = 0.0;
        self.held()
    }

    /// A pull of the leg's load factor all the way round, or of what the wing carries.
    pub(super) fn looping(&mut self, leg: &Leg, view: &View<'_>) -> Held {
        let most = STALL_MARGIN * view.glider.stall_load_factor(view.equivalent_mps());
        self.lift_mps2 = nearer(self.lift_mps2, leg.most_load.min(most) * GRAVITY_MPS2, STICK_S);
        self.roll_rps = 0.0;
        self.path_rad = steering::path_angle(view.through_air());
        self.path_rps = 0.0;
        self.held()
    }

    fn held(&self) -> Held {
        let Self { lift_mps2, roll_rps, configuration, .. } = *self;
        Held { lift_mps2, roll_rps, configuration, pull: Vector::default() }
    }
}
