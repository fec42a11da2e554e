//! The pilot: turns the wanted speed into a pull or push and a wish to circle into a bank, and
//! flies the winch launch.
//!
//! ```text
//! acceleration wanted = (V wanted - V) / 2 s            within 4.1 m/s2
//! path wanted         = -(drag + acceleration) / g      within 25 degrees
//! ```
//!
//! Time constants are guesses that make a brisk but not violent pull-up: from 45 to 25 m/s in some
//! eight seconds, between 0.3 and 1.45 g. A pull at 2 g would cost so much energy that a
//! compensated instrument rightly reads sink, which is a different lesson.

use super::craft::{Command, Craft};
use crate::handling::{self, Manner, Stick};
use crate::physics::atmosphere::GRAVITY_MPS2;
use crate::physics::motion::Held;
use crate::physics::vector::Vector;

/// Default indicated airspeed, m/s: near the glider's best glide.
pub const DEFAULT_SPEED_MPS: f64 = 27.0;
/// Height at which the cable is released, m above the start.
pub const RELEASE_M: f64 = 380.0;

/// Time constant of speed corrections, s, and their greatest acceleration, m/s2.
const SPEED_S: f64 = 2.0;
const ACCELERATION_MPS2: f64 = 4.1;
const STEEPEST_RAD: f64 = 0.44;
const MANNER: Manner = Manner { path_s: 0.5, least_load: 0.35, most_load: 1.4, roll_rps: 0.35 };
const CABLE_SPEED_MPS: f64 = 28.0;
const CABLE_PATH_RAD: f64 = 0.72;
/// Greatest forward acceleration by the cable, m/s2, and greatest turn rate of the path, rad/s.
const CABLE_MPS2: f64 = 8.0;
const CABLE_RPS: f64 = 0.2;
const LIFT_OFF_MPS: f64 = 21.0;

/// The pilot's task.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wish {
    /// Indicated airspeed, m/s.
    pub speed_mps: f64,
    /// Bank in degrees; 0 is straight on.
    pub bank_deg: f64,
    /// How it flies.
    pub phase: Phase,
}

/// How it flies.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Phase {
    /// Free.
    #[default]
    Free,
    /// Standing on the ground.
    Ground,
    /// On the winch's cable, until the release; then free.
    Cable,
}

impl Default for Wish {
    fn default() -> Self {
        Self { speed_mps: DEFAULT_SPEED_MPS, bank_deg: 0.0, phase: Phase::Free }
    }
}

/// The pilot's state.
#[derive(Clone, Copy, Debug)]
pub struct Pilot {
    stick: Stick,
    ground_m: Option<f64>,
    released: bool,
}

impl Pilot {
    /// A pilot who holds the glider's present flight.
    pub fn new(craft: &Craft) -> Self {
        let mut stick = Stick::default();
        stick.take_up(craft.path_rad());
        stick.lift_mps2 = craft.load() * GRAVITY_MPS2;
        Self { stick, ground_m: None, released: false }
    }

    /// Decides on the next tick.
    pub fn step(&mut self, wish: &Wish, craft: &Craft) -> Command {
        match wish.phase {
            Phase::Ground => {
                (self.ground_m, self.released) = (Some(craft.height_m()), false);
                Command::Stand
            }
            Phase::Cable if !self.released => self.on_the_cable(craft),
            _ => self.free(wish, craft),
        }
    }

    fn free(&mut self, wish: &Wish, craft: &Craft) -> Command {
        let flown = craft.flown();
        let slower = (wish.speed_mps * flown.speed_ratio - flown.airspeed_mps) / SPEED_S;
        let accelerate = slower.clamp(-ACCELERATION_MPS2, ACCELERATION_MPS2);
        let path = handling::path_for(craft.drag_mps2(self.stick.lift_mps2), accelerate)
            .clamp(-STEEPEST_RAD, STEEPEST_RAD);
        let roll_rps = self.stick.roll(&flown, &MANNER, wish.bank_deg.to_radians());
        let lift_mps2 = self.stick.pull(&flown, &MANNER, path, Vector::default());
        Command::Fly(Held { lift_mps2, roll_rps, ..Held::default() })
    }

    /// The cable pulls as hard as needed.
    fn on_the_cable(&mut self, craft: &Craft) -> Command {
        let above = craft.height_m() - *self.ground_m.get_or_insert(craft.height_m());
        self.released = above > RELEASE_M;
        let speed = craft.speed_mps();
        let faster = (CABLE_SPEED_MPS - speed).clamp(0.0, CABLE_MPS2);
        if craft.is_on_ground() && speed < LIFT_OFF_MPS {
            return Command::Roll(faster);
        }
        // Steep until the last quarter, then flatter towards the release.
        let flatter = ((RELEASE_M - above) / (0.25 * RELEASE_M)).clamp(0.2, 1.0);
        let path = craft.path_rad();
        let turn_up_rps = (CABLE_PATH_RAD * flatter - path).clamp(-CABLE_RPS, CABLE_RPS);
        let lift_mps2 = GRAVITY_MPS2 * libm::cos(path) + speed * turn_up_rps;
        self.stick.take_up(path);
        self.stick.lift_mps2 = lift_mps2;
        let along = craft.flown().through_air.unit_or(craft.heading());
        let pull = craft.drag_mps2(lift_mps2) + faster + GRAVITY_MPS2 * libm::sin(path);
        Command::Fly(Held { lift_mps2, pull: along * pull, ..Held::default() })
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Asked, Flight, SAMPLES_PER_SECOND};
    use super::*;

    /// Height, indicated speed and load factor at every step of `seconds`.
    fn flown(flight: &mut Flight, wish: Wish, seconds: i64) -> Vec<(f64, f64, f64)> {
        let asked = Asked { wish, ..Asked::default() };
        (0..seconds * SAMPLES_PER_SECOND)
            .map(|_| {
                flight.step(&asked);
                (flight.craft().height_m(), flight.craft().indicated_mps(), flight.craft().load())
            })
            .collect()
    }

    #[test]
    fn the_speed_that_is_asked_for_comes_and_stays_and_the_loads_stay_bearable() {
        let mut flight = Flight::new(1000.0, 0);
        for speed_mps in [45.0, 25.0, 33.0] {
            let moments = flown(&mut flight, Wish { speed_mps, ..Wish::default() }, 20);
            let worst = moments[500..]
                .iter()
                .fold(0.0_f64, |worst, (_, v, _)| worst.max((v - speed_mps).abs()));
            assert!(worst < 1.5, "{worst} m/s off {speed_mps} m/s after ten seconds");
            assert!(moments.iter().all(|(_, _, load)| (0.3..=1.45).contains(load)));
        }
    }

    #[test]
    fn a_pull_up_from_45_to_25_shoots_the_glider_up() {
        let mut flight = Flight::new(1000.0, 0);
        flown(&mut flight, Wish { speed_mps: 45.0, ..Wish::default() }, 25);
        let before = flight.craft().height_m();
        let moments = flown(&mut flight, Wish { speed_mps: 25.0, ..Wish::default() }, 12);
        // (45^2 - 25^2) / 2 g is 71 m in the standard atmosphere's densest air, 10 % more at
        // 1000 m; less the drag.
        let highest =
            moments.iter().fold(0.0_f64, |highest, (height, ..)| highest.max(*height)) - before;
        assert!((60.0..79.0).contains(&highest), "{highest} m");
    }

    #[test]
    fn the_winch_gives_its_height_and_lets_go() {
        let mut flight = Flight::new(0.0, 0);
        flown(&mut flight, Wish { phase: Phase::Ground, ..Wish::default() }, 2);
        let moments = flown(&mut flight, Wish { phase: Phase::Cable, ..Wish::default() }, 60);
        assert!(moments[..100].iter().all(|(height, ..)| *height < 10.0), "it rolls first");
        let highest = moments.iter().fold(0.0_f64, |highest, (height, ..)| highest.max(*height));
        assert!((RELEASE_M..RELEASE_M + 30.0).contains(&highest), "{highest} m");
        assert!(
            (moments[2999].1 - DEFAULT_SPEED_MPS).abs() < 1.5,
            "{} m/s in the end",
            moments[2999].1
        );
    }
}
