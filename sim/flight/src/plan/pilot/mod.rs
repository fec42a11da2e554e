//! The pilot: from the legs of the plan to lift, roll, airbrakes and the pull of a launch.
//!
//! ```text
//! speed   -> acceleration along the path -> angle of the path -> its rate,
//!         within the load factors of the leg -> lift
//! place, heading, thermal -> bank -> roll
//! ```

mod stick;

use super::launch::Cable;
use super::leg::{How, Leg};
use super::scenario::Scenario;
use super::view::View;
use crate::handling::{self, BANK_S, Stick, nearer};
use crate::physics::atmosphere::GRAVITY_MPS2;
use crate::physics::glider::Configuration;
use crate::physics::motion::{Held, TICK_S};
use crate::physics::vector::Vector;
use std::f64::consts::TAU;

/// Time to extend or retract the airbrakes, s; times in which a spin builds up and ends.
const AIRBRAKE_S: f64 = 0.8;
const SPIN_S: f64 = 0.7;
/// A leg without an end ends after an hour.
const LONGEST_S: f64 = 3600.0;
/// A landing is over when the glider has stood for this long, s.
const STANDS_S: f64 = 3.0;
/// Distance at which a place counts as reached, m.
const ARRIVED_M: f64 = 100.0;

/// The pilot and her state.
pub struct Pilot<'a> {
    scenario: &'a Scenario,
    leg: usize,
    started_s: Option<f64>,
    started_at: Vector,
    started_m: f64,
    speed_mps: f64,
    heading: Vector,
    stick: Stick,
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
            stick: Stick::default(),
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

    /// Her inputs until the next tick; `None` when the last leg is over.
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

    /// The name of the leg.
    pub fn phase(&self) -> &'a str {
        &self.current().phase
    }

    /// The heading on the ground; of length 1.
    pub fn heading(&self) -> Vector {
        self.heading
    }

    /// Legs that ended only by their time limit.
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
        // After a spin or a loop the pilot continues on the present path.
        if !view.is_on_ground {
            let path = handling::path_angle(view.through_air());
            self.stick.path_rad = self.stick.path_rad.clamp(path - 0.2, path + 0.2);
        }
    }

    /// Counts the progress of the leg.
    fn notice(&mut self, view: &View<'_>) {
        let ahead = view.through_air().unit_or(self.ahead_before);
        if self.current().patrol_m.is_some() && self.has_arrived(view) {
            self.patrol += 1;
            self.started_at = view.moment.place;
        }
        self.turned_rad += handling::wrapped(ahead.course_rad() - self.ahead_before.course_rad());
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
                GRAVITY_MPS2 * libm::tan(self.bank(view)).abs() / view.airspeed_mps().max(1.0);
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

    /// The place that the leg now steers to.
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
        view.flown().bank_rad()
    }
}
