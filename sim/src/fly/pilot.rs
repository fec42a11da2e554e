//! The pilot: from the legs of the plan to lift, roll, airbrakes and the pull of a launch.
//!
//! ```text
//! speed   -> acceleration along the path -> angle of the path -> its rate, within the load factors of the leg -> lift
//! place, heading, thermal -> bank -> roll
//! ```
//!
//! The lift also answers gusts, as a stable glider does by itself: the path through the air comes
//! back to the angle that is flown with the time constant of the glider's heave, and never with
//! more than the wing carries. Time constants are guesses at an unhurried pilot.

use super::air::Air;
use super::atmosphere::GRAVITY_MPS2;
use super::flight::Moment;
use super::glider::{Configuration, Glider};
use super::launch::{Cable, tow_mps2};
use super::motion::{Held, Motion, TICK_S};
use super::scenario::{How, Leg, Scenario};
use super::steering;
use super::vector::Vector;
use std::f64::consts::TAU;

/// In this time a wrong speed is put right, s.
const SPEED_S: f64 = 2.5;
/// In this time a wrong angle of the path is, s.
const PATH_S: f64 = 0.8;
/// The stick follows the wish in this time, s.
const STICK_S: f64 = 0.3;
/// The lift follows the stick in this time, s.
const LIFT_S: f64 = 0.08;
/// A wrong bank is put right in this time, s, at most at this rate, rad/s: 45 to 45 degrees in
/// about 4 s.
const BANK_S: f64 = 0.6;
const ROLL_RPS: f64 = 0.45;
const ROLL_S: f64 = 0.25;
/// Airbrakes go out and in in this time, s; a spin grows and ends in these.
const AIRBRAKE_S: f64 = 0.8;
const SPIN_S: f64 = 0.7;
/// Lift in a spin, in units of the weight: most of the wing is stalled.
const SPIN_LOAD: f64 = 0.35;
/// Share of what the wing carries that a pilot uses in a loop.
const STALL_MARGIN: f64 = 0.9;
/// The round-out begins here, m above the ground, and sinks by so many m/s, and by so much for
/// every metre.
const FLARE_M: f64 = 7.0;
const FLARE_MPS: f64 = 0.35;
const FLARE_PER_S: f64 = 0.4;
/// A leg that says nothing else ends after an hour.
const LONGEST_S: f64 = 3600.0;
/// A landing is over when it has stood for this long, s.
const STANDS_S: f64 = 3.0;
/// So near a place it has been reached, m.
const ARRIVED_M: f64 = 100.0;

/// What the pilot looks at.
pub struct View<'a> {
    /// The moment.
    pub moment: &'a Moment<'a>,
    /// The motion.
    pub motion: &'a Motion,
    /// Whether the wheel is on the ground.
    pub is_on_ground: bool,
    /// The glider.
    pub glider: &'a Glider,
    /// The air.
    pub air: &'a Air,
}

impl View<'_> {
    /// The glider's motion through the air, m/s.
    pub fn through_air(&self) -> Vector {
        self.moment.velocity - self.moment.air
    }

    fn equivalent_mps(&self) -> f64 {
        self.moment.airspeed_mps / self.moment.still.speed_ratio()
    }
}

/// The pilot, with what she remembers.
pub struct Pilot<'a> {
    scenario: &'a Scenario,
    leg: usize,
    started_s: Option<f64>,
    started_at: Vector,
    started_m: f64,
    speed_mps: f64,
    heading: Vector,
    /// Angle of the path through the air that is flown, rad, and its rate.
    path_rad: f64,
    path_rps: f64,
    roll_rps: f64,
    lift_mps2: f64,
    configuration: Configuration,
    cable: Option<Cable>,
    /// Places of a patrol that were reached.
    patrol: usize,
    /// How far the leg has turned, and looped, rad.
    turned_rad: f64,
    looped_rad: f64,
    ahead_before: Vector,
    airborne_s: f64,
    stood_s: f64,
    overdue: Vec<usize>,
}

impl<'a> Pilot<'a> {
    /// A pilot about to begin the first leg.
    pub fn new(scenario: &'a Scenario, heading: Vector) -> Self {
        Self {
            scenario,
            leg: 0,
            started_s: None,
            started_at: Vector::default(),
            started_m: 0.0,
            speed_mps: scenario.start.speed_mps,
            heading,
            path_rad: 0.0,
            path_rps: 0.0,
            roll_rps: 0.0,
            lift_mps2: GRAVITY_MPS2,
            configuration: Configuration::default(),
            cable: None,
            patrol: 0,
            turned_rad: 0.0,
            looped_rad: 0.0,
            ahead_before: heading,
            airborne_s: 0.0,
            stood_s: 0.0,
            overdue: Vec::new(),
        }
    }

    /// What she does until the next tick; `None` when the last leg is over.
    pub fn command(&mut self, view: &View<'_>) -> Option<Held> {
        self.notice(view);
        if self.started_s.is_none() {
            self.begin(view);
        }
        while self.is_over(view) {
            if self.leg + 1 == self.scenario.leg.len() {
                return None;
            }
            self.leg += 1;
            self.begin(view);
        }
        let leg = self.current();
        let brakes = if view.is_on_ground && leg.how != How::Land {
            0.0
        } else {
            leg.airbrake_percent / 100.0
        };
        self.configuration.airbrake = nearer(self.configuration.airbrake, brakes, AIRBRAKE_S);
        let spin = if leg.how == How::Spin { 1.0 / (leg.spin_mps * leg.spin_mps) } else { 0.0 };
        self.configuration.spin = nearer(self.configuration.spin, spin, SPIN_S);
        Some(match leg.how {
            How::Wait => Held { lift_mps2: GRAVITY_MPS2, ..Held::default() },
            How::Spin => self.spin(leg, view),
            How::Loop => self.looping(leg, view),
            How::Fly | How::Winch | How::Aerotow | How::Land => self.fly(leg, view),
        })
    }

    /// The leg's place in the plan.
    pub fn leg(&self) -> usize {
        self.leg
    }

    /// How the leg is flown.
    pub fn how(&self) -> How {
        self.current().how
    }

    /// The leg's word.
    pub fn phase(&self) -> &'a str {
        &self.current().phase
    }

    /// The heading on the ground; of length 1.
    pub fn heading(&self) -> Vector {
        self.heading
    }

    /// Legs that only their longest time ended.
    pub fn overdue(&self) -> &[usize] {
        &self.overdue
    }

    fn current(&self) -> &'a Leg {
        &self.scenario.leg[self.leg]
    }

    fn begin(&mut self, view: &View<'_>) {
        let leg = self.current();
        self.started_s = Some(view.moment.time_s);
        self.started_at = view.moment.place;
        self.started_m = view.moment.place.up;
        self.speed_mps = leg.speed_mps.unwrap_or(self.speed_mps);
        (self.turned_rad, self.looped_rad, self.stood_s, self.patrol) = (0.0, 0.0, 0.0, 0);
        self.cable = match leg.how {
            How::Winch => Some(Cable::new(view.moment.place, self.heading, leg.cable_m)),
            _ => None,
        };
        // Out of a spin or a loop the path is taken up as it is.
        if !view.is_on_ground {
            let flown = steering::path_angle(view.through_air());
            self.path_rad = self.path_rad.clamp(flown - 0.2, flown + 0.2);
        }
    }

    /// Counts what the leg has done so far.
    fn notice(&mut self, view: &View<'_>) {
        let ahead = view.through_air().unit_or(self.ahead_before);
        if self.current().patrol_m.is_some() && self.has_arrived(view) {
            self.patrol += 1;
            self.started_at = view.moment.place;
        }
        self.turned_rad += steering::wrapped(ahead.course_rad() - self.ahead_before.course_rad());
        self.looped_rad += (ahead - self.ahead_before).length();
        self.ahead_before = ahead;
        self.airborne_s = if view.is_on_ground { 0.0 } else { self.airborne_s + TICK_S };
        let stands = view.is_on_ground && view.moment.velocity == Vector::default();
        self.stood_s = if stands { self.stood_s + TICK_S } else { 0.0 };
    }

    fn is_over(&mut self, view: &View<'_>) -> bool {
        let leg = self.current();
        let since_s = view.moment.time_s - self.started_s.unwrap_or(view.moment.time_s);
        let height = leg.until_height_m.is_some_and(|height_m| {
            (view.moment.place.up - height_m) * (self.started_at.up - height_m) <= 0.0
        });
        let arrived = leg.towards_m.is_some() && self.has_arrived(view);
        let turned = leg.turn_deg.is_some_and(|turn_deg| {
            let rate =
                GRAVITY_MPS2 * libm::tan(self.bank(view)).abs() / view.moment.airspeed_mps.max(1.0);
            self.turned_rad.abs() + rate * BANK_S >= turn_deg.to_radians()
        });
        let flown = match leg.how {
            How::Winch => {
                self.cable.as_ref().is_some_and(|cable| cable.is_overhead(view.moment.place))
            }
            How::Loop => self.looped_rad > TAU - 0.1,
            How::Land => self.stood_s > STANDS_S,
            _ => false,
        };
        if height || arrived || turned || flown {
            return true;
        }
        let late = since_s + 0.5 * TICK_S >= leg.for_s.unwrap_or(LONGEST_S);
        if late && leg.for_s.is_none() {
            self.overdue.push(self.leg);
        }
        late
    }

    /// The place that the leg steers to now.
    fn goal(&self) -> Option<Vector> {
        let leg = self.current();
        let patrol =
            leg.patrol_m.as_ref().and_then(|places| places.get(self.patrol % places.len()));
        patrol.or(leg.towards_m.as_ref()).map(|&[east, north]| Vector { east, north, up: 0.0 })
    }

    fn has_arrived(&self, view: &View<'_>) -> bool {
        self.goal().is_some_and(|goal| {
            let (left, way) =
                ((goal - view.moment.place).level(), (goal - self.started_at).level());
            left.length() < ARRIVED_M || left.dot(way) < 0.0
        })
    }

    fn bank(&self, view: &View<'_>) -> f64 {
        steering::bank(view.through_air(), view.motion.lift)
    }

    /// By the stick: the wanted speed or path, the wanted bank.
    fn fly(&mut self, leg: &Leg, view: &View<'_>) -> Held {
        let Moment { airspeed_mps, still, .. } = *view.moment;
        let load = self.lift_mps2 / GRAVITY_MPS2;
        let drag = view.glider.drag_mps2(view.equivalent_mps().powi(2), load, self.configuration);
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
    fn spin(&mut self, leg: &Leg, view: &View<'_>) -> Held {
        let side = if leg.bank_deg < 0.0 { -1.0 } else { 1.0 };
        self.roll_rps = nearer(self.roll_rps, side * TAU / leg.spin_turn_s, SPIN_S);
        self.lift_mps2 = nearer(self.lift_mps2, SPIN_LOAD * GRAVITY_MPS2, SPIN_S);
        self.path_rad = steering::path_angle(view.through_air());
        self.path_rps = 0.0;
        self.held()
    }

    /// A pull of the leg's load factor all the way round, or of what the wing carries.
    fn looping(&mut self, leg: &Leg, view: &View<'_>) -> Held {
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

/// A first-order approach to `wanted` in a tick.
fn nearer(value: f64, wanted: f64, time_constant_s: f64) -> f64 {
    value + (wanted - value) * (TICK_S / time_constant_s)
}
