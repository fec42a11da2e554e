//! What the pilot does with the stick: lift, roll and the pull of a launch for a leg.

use super::{Pilot, SPIN_S};
use crate::handling::{self, Manner, STICK_S, Stick, nearer};
use crate::physics::atmosphere::GRAVITY_MPS2;
use crate::physics::motion::Held;
use crate::physics::vector::Vector;
use crate::plan::launch::tow_mps2;
use crate::plan::leg::{How, Leg};
use crate::plan::steering;
use crate::plan::view::View;
use std::f64::consts::TAU;

/// Time constant of speed corrections, s.
const SPEED_S: f64 = 2.5;
/// Time constant of path corrections, s.
const PATH_S: f64 = 0.8;
/// The glider rolls at most at this rate, rad/s: 45 to 45 degrees in about 4 s.
const ROLL_RPS: f64 = 0.45;
/// Lift in a spin, in units of the weight: most of the wing is stalled.
const SPIN_LOAD: f64 = 0.35;
/// Share of the wing's greatest lift that a pilot uses in a loop.
const STALL_MARGIN: f64 = 0.9;
/// Height at which the round-out begins, m above the ground; its sink, m/s, and the increase for
/// every metre.
const FLARE_M: f64 = 7.0;
const FLARE_MPS: f64 = 0.35;
const FLARE_PER_S: f64 = 0.4;

impl Pilot<'_> {
    /// Ordinary flight: the wanted speed or path, the wanted bank.
    pub(super) fn fly(&mut self, leg: &Leg, view: &View<'_>) -> Held {
        let (airspeed_mps, still) = (view.airspeed_mps(), &view.moment.still);
        let load = self.stick.load_factor();
        let speed_mps = view.equivalent_mps();
        let drag = view.glider.drag_mps2(speed_mps * speed_mps, load, self.configuration);
        let slower = (self.speed_mps * still.speed_ratio() - airspeed_mps) / SPEED_S;
        let accelerate = slower.clamp(-leg.acceleration_mps2, leg.acceleration_mps2);
        let path_rad = self.wanted_path(leg, view, drag, accelerate);
        let pull = self.pull(leg, view, drag, accelerate);
        let roll_rps = self.roll(leg, view);
        let lift_mps2 = self.lift(leg, view, path_rad, pull);
        Held { lift_mps2, roll_rps, configuration: self.configuration, pull, ..Held::default() }
    }

    /// The leg's angle of the path through the air, rad.
    fn wanted_path(&self, leg: &Leg, view: &View<'_>, drag: f64, accelerate: f64) -> f64 {
        let above_m = view.moment.place.up - self.scenario.start.ground_m;
        let climbing =
            |rate_mps: f64| libm::asin((rate_mps / view.airspeed_mps().max(1.0)).clamp(-0.9, 0.9));
        match leg.how {
            How::Winch => {
                let cable = self.cable.as_ref();
                cable.map_or(0.0, |cable| cable.path_rad(leg, view.moment.place, self.airborne_s))
            }
            // The tug is still on the ground while it gathers speed.
            How::Aerotow if above_m < 3.0 && view.equivalent_mps() < 0.9 * self.speed_mps => 0.01,
            How::Aerotow => climbing(leg.climb_mps * (self.airborne_s / 12.0).min(1.0)),
            How::Land if above_m < FLARE_M => climbing(-(FLARE_MPS + FLARE_PER_S * above_m)),
            _ => handling::path_for(drag, accelerate),
        }
    }

    fn pull(&mut self, leg: &Leg, view: &View<'_>, drag: f64, accelerate: f64) -> Vector {
        let needed = drag + accelerate + GRAVITY_MPS2 * libm::sin(self.stick.path_rad);
        match (leg.how, &mut self.cable) {
            (How::Winch, Some(cable)) => cable.pull(view, self.heading, needed),
            (How::Aerotow, _) if view.is_on_ground => self.heading * tow_mps2(f64::INFINITY),
            (How::Aerotow, _) => view.through_air().unit_or(self.heading) * tow_mps2(needed),
            _ => Vector::default(),
        }
    }

    fn lift(&mut self, leg: &Leg, view: &View<'_>, path_rad: f64, pull: Vector) -> f64 {
        if view.is_on_ground {
            self.stick.take_up(0.0);
            self.stick.lift_mps2 = GRAVITY_MPS2;
            return self.stick.lift_mps2;
        }
        self.stick.pull(&view.flown(), &manner(leg), path_rad, pull)
    }

    fn roll(&mut self, leg: &Leg, view: &View<'_>) -> f64 {
        if view.is_on_ground {
            self.stick.roll_rps = 0.0;
            return 0.0;
        }
        let wanted = steering::wanted_bank(leg, self.goal(), &self.scenario.thermal, view);
        self.stick.roll(&view.flown(), &manner(leg), wanted)
    }

    /// Stalled and turning: little lift, much drag, rolling about a steep path.
    pub(super) fn spin(&mut self, leg: &Leg, view: &View<'_>) -> Held {
        let side = if leg.bank_deg < 0.0 { -1.0 } else { 1.0 };
        let stick = &mut self.stick;
        stick.roll_rps = nearer(stick.roll_rps, side * TAU / leg.spin_turn_s, SPIN_S);
        stick.lift_mps2 = nearer(stick.lift_mps2, SPIN_LOAD * GRAVITY_MPS2, SPIN_S);
        self.stick.take_up(handling::path_angle(view.through_air()));
        self.held()
    }

    /// A pull at the leg's load factor all the way round, or at what the wing can carry.
    pub(super) fn looping(&mut self, leg: &Leg, view: &View<'_>) -> Held {
        let most = STALL_MARGIN * view.glider.stall_load_factor(view.equivalent_mps());
        let wanted = leg.most_load.min(most) * GRAVITY_MPS2;
        self.stick.lift_mps2 = nearer(self.stick.lift_mps2, wanted, STICK_S);
        self.stick.roll_rps = 0.0;
        self.stick.take_up(handling::path_angle(view.through_air()));
        self.held()
    }

    fn held(&self) -> Held {
        let Stick { lift_mps2, roll_rps, .. } = self.stick;
        let configuration = self.configuration;
        Held { lift_mps2, roll_rps, configuration, ..Held::default() }
    }
}

fn manner(leg: &Leg) -> Manner {
    Manner {
        path_s: PATH_S,
        least_load: leg.least_load,
        most_load: leg.most_load,
        roll_rps: ROLL_RPS,
    }
}
