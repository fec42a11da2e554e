//! The pilot: from the speed that is wanted to a pull or a push, from a wish to circle to a bank,
//! and the launch on the winch.
//!
//! ```text
//! path wanted = -sink / V + K (V - V wanted)       within 25 degrees
//! load cos(bank) = cos(path) + V / g (path wanted - path) / 0.5 s       within 0.3 and 1.45 g
//! ```
//!
//! The gains are guesses that make a brisk but not a violent pull-up: from 45 to 25 m/s in some
//! eight seconds, within 0.3 and 1.45 g. A pull at 2 g would cost so much energy that a compensated
//! instrument truly reads sink, which is another lesson.

use super::glider::{Command, Glider};
use chirrup_core::atmosphere::GRAVITY_MPS2;

/// Indicated airspeed that is flown when nothing else is asked for, m/s: near the default polar's
/// best glide.
pub const DEFAULT_SPEED_MPS: f64 = 27.0;
/// Height at which the cable is released, m above the start.
pub const RELEASE_M: f64 = 380.0;

const PATH_GAIN_RAD_PER_MPS: f64 = 0.05;
const STEEPEST_RAD: f64 = 0.44;
const PATH_S: f64 = 0.5;
const BANK_RATE_RAD_PER_S: f64 = 0.35;
const CABLE_SPEED_MPS: f64 = 28.0;
const CABLE_PATH_RAD: f64 = 0.72;
const LIFT_OFF_MPS: f64 = 21.0;

/// What the pilot is asked to do.
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
    /// It stands on the ground.
    Ground,
    /// On the winch's cable, until the release; then free.
    Cable,
}

impl Default for Wish {
    fn default() -> Self {
        Self { speed_mps: DEFAULT_SPEED_MPS, bank_deg: 0.0, phase: Phase::Free }
    }
}

/// What the pilot remembers.
#[derive(Clone, Copy, Debug, Default)]
pub struct Pilot {
    bank_rad: f64,
    ground_m: Option<f64>,
    released: bool,
}

impl Pilot {
    /// Decides on the next `seconds`.
    pub fn step(&mut self, wish: &Wish, glider: &Glider, seconds: f64) -> Command {
        match wish.phase {
            Phase::Ground => {
                (self.ground_m, self.released) = (Some(glider.height_m()), false);
                Command::Stand
            }
            Phase::Cable if !self.released => self.on_the_cable(glider),
            _ => self.free(wish, glider, seconds),
        }
    }

    fn free(&mut self, wish: &Wish, glider: &Glider, seconds: f64) -> Command {
        let most = BANK_RATE_RAD_PER_S * seconds;
        self.bank_rad += (wish.bank_deg.to_radians() - self.bank_rad).clamp(-most, most);
        let v = glider.speed_mps();
        let too_fast = v - wish.speed_mps * glider.density_ratio();
        let wanted = -glider.own_sink_mps() / v + PATH_GAIN_RAD_PER_MPS * too_fast;
        let turn_up = (wanted.clamp(-STEEPEST_RAD, STEEPEST_RAD) - glider.path_rad()) / PATH_S;
        let upward =
            (libm::cos(glider.path_rad()) + v / f64::from(GRAVITY_MPS2) * turn_up).clamp(0.3, 1.45);
        Command::Fly { load: upward / libm::cos(self.bank_rad), bank_rad: self.bank_rad }
    }

    fn on_the_cable(&mut self, glider: &Glider) -> Command {
        let above = glider.height_m() - *self.ground_m.get_or_insert(glider.height_m());
        self.released = above > RELEASE_M;
        // Steep until the last quarter, then flatter towards the release.
        let flatter = ((RELEASE_M - above) / (0.25 * RELEASE_M)).clamp(0.2, 1.0);
        let path = if glider.speed_mps() < LIFT_OFF_MPS { 0.0 } else { CABLE_PATH_RAD * flatter };
        Command::Pulled {
            acceleration_mps2: (CABLE_SPEED_MPS - glider.speed_mps()).clamp(0.0, 8.0),
            turn_up_rad_per_s: (path - glider.path_rad()).clamp(-0.2, 0.2),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Asked, Flight, STEP};
    use super::*;

    /// Height, indicated speed and load at every step of `seconds`.
    fn flown(flight: &mut Flight, wish: Wish, seconds: i64) -> Vec<(f64, f64, f64)> {
        let asked = Asked { wish, ..Asked::default() };
        (0..seconds * 1_000_000 / STEP.0)
            .map(|_| {
                flight.step(&asked);
                (
                    flight.glider().height_m(),
                    flight.glider().indicated_mps(),
                    flight.glider().load(),
                )
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
        let before = flight.glider().height_m();
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
