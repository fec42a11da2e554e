//! The hand-flown glider: the glider and the motion of `physics`, one tick at a time.

use crate::handling::Flown;
use crate::physics::atmosphere::{Atmosphere, GRAVITY_MPS2, StillAir};
use crate::physics::drag_law::PolarPoint;
use crate::physics::glider::{Configuration, Glider, GliderSettings};
use crate::physics::motion::{Gust, Held, Motion, TICK_S};
use crate::physics::vector::Vector;
use std::f64::consts::TAU;

/// Below this bank the flight counts as straight: the tangent of half a degree.
const LEVEL: f64 = 0.01;

/// What the pilot or the winch does in the next tick.
#[derive(Clone, Copy, Debug)]
pub enum Command {
    /// In the air.
    Fly(Held),
    /// On its wheel, with this acceleration, m/s2.
    Roll(f64),
    /// Standing.
    Stand,
}

/// A turn: its radius, and the glider's position in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turn {
    /// Radius in metres; infinite in straight flight.
    pub radius_m: f64,
    /// Position in the circle, 0 to 2 pi: the heading, clockwise from north.
    pub heading_rad: f64,
}

/// The glider and how it moves.
#[derive(Clone, Debug)]
pub struct Craft {
    glider: Glider,
    motion: Motion,
    lift_mps2: f64,
    /// The air's motion where it is, m/s.
    air: Vector,
    still: StillAir,
    is_on_ground: bool,
}

/// The glider: invented, with a best glide of 36 to 1 at 27 m/s and a minimum sink of 0.66 m/s.
pub fn settings() -> GliderSettings {
    GliderSettings {
        name: "Orrin 15".into(),
        points: [(20.0, 0.67), (27.0, 0.74), (42.0, 1.85)]
            .map(|(speed_mps, sink_mps)| PolarPoint { speed_mps, sink_mps })
            .to_vec(),
        reference_mass_kg: 360.0,
        empty_mass_kg: None,
        ballast_kg: 0.0,
        contamination_percent: 0.0,
        stall_mps: 16.0,
        airbrake_glide_ratio: 6.0,
        frictionless: false,
    }
}

impl Craft {
    /// In a steady glide to the north, `height_m` above the sea in still air, at an equivalent
    /// airspeed in m/s.
    pub fn gliding(height_m: f64, equivalent_mps: f64) -> Self {
        // A test flies this glider.
        let glider = Glider::new(&settings()).expect("its three points make a polar");
        let still = Atmosphere::STANDARD.at(height_m);
        let slope = glider.steady_slope(equivalent_mps);
        let load = (1.0 - slope * slope).sqrt();
        let ahead = Vector { east: 0.0, north: load, up: -slope };
        let motion = Motion {
            place: Vector::UP * height_m,
            velocity: ahead * (equivalent_mps * still.speed_ratio()),
            lift: Vector { east: 0.0, north: slope, up: load },
        };
        let lift_mps2 = load * GRAVITY_MPS2;
        Self { glider, motion, lift_mps2, air: Vector::default(), still, is_on_ground: false }
    }

    /// Advances by a tick in air that moves by `gust`.
    pub fn advance(&mut self, command: &Command, gust: &Gust) {
        match command {
            Command::Fly(held) => {
                self.motion.advance(&self.glider, held, &self.still, gust);
                self.lift_mps2 = held.lift_mps2;
            }
            Command::Roll(acceleration_mps2) => {
                let heading = self.heading();
                let speed = self.motion.velocity.dot(heading);
                let faster = (speed + acceleration_mps2 * TICK_S).max(0.0);
                self.motion.place += heading * (0.5 * (speed + faster) * TICK_S);
                self.motion.velocity = heading * faster;
            }
            Command::Stand => self.motion.velocity = Vector::default(),
        }
        self.is_on_ground = !matches!(command, Command::Fly(_));
        if self.is_on_ground {
            (self.lift_mps2, self.motion.lift) = (GRAVITY_MPS2, Vector::UP);
        }
        // On its wheel it is not moved by vertical air.
        self.air = if self.is_on_ground { gust.after.level() } else { gust.after };
        self.still = Atmosphere::STANDARD.at(self.motion.place.up);
    }

    /// What its pilot can feel.
    pub fn flown(&self) -> Flown<'_> {
        let through_air = self.through_air();
        Flown {
            glider: &self.glider,
            through_air,
            airspeed_mps: through_air.length(),
            speed_ratio: self.still.speed_ratio(),
            lift: self.motion.lift,
        }
    }

    /// Deceleration by its drag under a lift, m/s2.
    pub fn drag_mps2(&self, lift_mps2: f64) -> f64 {
        let equivalent = self.indicated_mps();
        let load = lift_mps2 / GRAVITY_MPS2;
        self.glider.drag_mps2(equivalent * equivalent, load, Configuration::default())
    }

    fn through_air(&self) -> Vector {
        self.motion.velocity - self.air
    }

    /// Where it points, a level vector of length 1.
    pub fn heading(&self) -> Vector {
        self.through_air().level().unit_or(Vector::on_course(0.0))
    }

    /// Height above the sea, m.
    pub fn height_m(&self) -> f64 {
        self.motion.place.up
    }

    /// The air at rest where it is.
    pub fn still(&self) -> &StillAir {
        &self.still
    }

    /// True airspeed, m/s.
    pub fn speed_mps(&self) -> f64 {
        self.through_air().length()
    }

    /// Indicated airspeed, m/s: the equivalent one.
    pub fn indicated_mps(&self) -> f64 {
        self.speed_mps() / self.still.speed_ratio()
    }

    /// The path's angle to the air, rad; up is positive.
    pub fn path_rad(&self) -> f64 {
        self.flown().path_rad()
    }

    /// Bank, rad.
    pub fn bank_rad(&self) -> f64 {
        self.flown().bank_rad()
    }

    /// Load factor.
    pub fn load(&self) -> f64 {
        self.lift_mps2 / GRAVITY_MPS2
    }

    /// Rate of change of its height, m/s.
    pub fn climb_mps(&self) -> f64 {
        self.motion.velocity.up
    }

    /// Whether it is on its wheel.
    pub fn is_on_ground(&self) -> bool {
        self.is_on_ground
    }

    /// Its turn to the right.
    pub fn turn(&self) -> Turn {
        let flown = self.flown();
        let tangent = libm::tan(flown.bank_rad());
        let radius_m = if tangent > LEVEL {
            flown.airspeed_mps * flown.airspeed_mps / (GRAVITY_MPS2 * tangent)
        } else {
            f64::INFINITY
        };
        let course = flown.through_air.course_rad();
        Turn { radius_m, heading_rad: if course < 0.0 { course + TAU } else { course } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn kinetic_m(v: f64) -> f64 {
        v * v / (2.0 * 9.80665)
    }

    /// Advances by a tick at a load factor, in air that rises by `rise`.
    fn pull(craft: &mut Craft, load: f64, rise: f64) {
        let air = Vector::UP * rise;
        let held = Held { lift_mps2: load * GRAVITY_MPS2, ..Held::default() };
        craft.advance(&Command::Fly(held), &Gust { before: air, after: air });
    }

    #[test]
    fn a_steady_glide_sinks_as_the_polar_says_and_the_air_carries_it() {
        for (speed, sink) in [(20.0, 0.67), (27.0, 0.74), (42.0, 1.85)] {
            for rise in [0.0, 3.0, -2.0] {
                let mut craft = Craft::gliding(100.0, speed);
                craft.motion.velocity += Vector::UP * rise;
                craft.air = Vector::UP * rise;
                for _ in 0..2_000 {
                    let load = libm::cos(craft.path_rad());
                    pull(&mut craft, load, rise);
                }
                // 100 m up the air is thinner by 1 %, so true speeds and sinks are larger by half a
                // percent.
                assert_abs_diff_eq!(craft.climb_mps(), rise - sink, epsilon = 0.015);
            }
        }
    }

    #[test]
    fn a_pull_up_trades_speed_for_height_and_pays_the_drags_price() {
        // Published mechanics: 50 to 25 m/s is 95.60 m. The difference is the work of the drag,
        // summed here from the law D / (m g) = a V^2 + b n + c n^2 / V^2 through the three points,
        // solved by hand in its own arithmetic: with the unknowns found by elimination.
        let [one, two, three] = [(20.0_f64, 0.67), (27.0, 0.74), (42.0, 1.85)].map(|(v, s)| {
            let slope: f64 = s / v;
            let n = (1.0 - slope * slope).sqrt();
            (v * v / n, n / (v * v), slope / n)
        });
        let (p, q) = (
            ((one.0 - two.0), (one.1 - two.1), (one.2 - two.2)),
            ((two.0 - three.0), (two.1 - three.1), (two.2 - three.2)),
        );
        let c = (p.2 * q.0 - q.2 * p.0) / (p.1 * q.0 - q.1 * p.0);
        let a = (p.2 - c * p.1) / p.0;
        let b = one.2 - a * one.0 - c * one.1;
        let mut craft = Craft::gliding(0.0, 50.0);
        let (start, mut lost) = (kinetic_m(craft.speed_mps()), 0.0);
        while craft.speed_mps() > 25.0 {
            let load: f64 = if craft.path_rad() < 0.6 { 2.0 } else { 1.0 };
            let squared = craft.indicated_mps().powi(2);
            let drag = a * squared + b * load + c * load * load / squared;
            lost += drag * craft.speed_mps() * TICK_S;
            pull(&mut craft, load, 0.0);
        }
        let gained = craft.height_m();
        // Heights lost are summed at the beginning of each tick: right to 5 ms of 1.5 m/s.
        assert_abs_diff_eq!(gained + lost, start - kinetic_m(craft.speed_mps()), epsilon = 0.02);
        assert!((70.0..95.6).contains(&gained), "gained {gained} m");
    }

    #[test]
    fn a_push_gives_the_height_back_as_speed() {
        let mut craft = Craft::gliding(0.0, 25.0);
        while craft.speed_mps() < 40.0 {
            let path = craft.path_rad();
            pull(&mut craft, if path > -0.3 { 0.3 } else { libm::cos(path) }, 0.0);
        }
        // (1600 - 625) / 2 g = 49.7 m without drag, less a few metres for the drag.
        assert!((-60.0..-49.7).contains(&craft.height_m()), "{} m", craft.height_m());
    }

    #[test]
    fn a_turn_of_45_degrees_has_the_radius_and_the_sink_of_the_books() {
        // r = V^2 / (g tan(bank)); at n = sqrt 2 the sink is 1.68 times that of straight flight at
        // V / n^0.5, which is 27 m/s here.
        let bank = core::f64::consts::FRAC_PI_4;
        let speed = 27.0 * 2.0_f64.sqrt().sqrt();
        let mut craft = Craft::gliding(0.0, speed);
        let slope = 1.6818 * 0.74 / speed;
        let level = (1.0 - slope * slope).sqrt();
        craft.motion.velocity = Vector { east: 0.0, north: level, up: -slope } * speed;
        let upright = Vector { east: 0.0, north: slope, up: level };
        let right = Vector { east: 1.0, north: 0.0, up: 0.0 };
        craft.motion.lift = right * libm::sin(bank) + upright * libm::cos(bank);
        let start_m = craft.height_m();
        for _ in 0..200 {
            // Held in the turn as a pilot would: constant bank, constant path.
            let flown = craft.flown();
            let (path, now) = (flown.path_rad(), flown.bank_rad());
            let lift_mps2 = GRAVITY_MPS2 * libm::cos(path) / libm::cos(now);
            let turn = lift_mps2 * libm::sin(now) / (flown.airspeed_mps * libm::cos(path));
            let roll_rps = (bank - now) - turn * libm::sin(path);
            let held = Held { lift_mps2, roll_rps, ..Held::default() };
            craft.advance(
                &Command::Fly(held),
                &Gust { before: Vector::default(), after: Vector::default() },
            );
        }
        assert_abs_diff_eq!(
            craft.turn().radius_m,
            craft.speed_mps().powi(2) / 9.80665,
            epsilon = 0.1
        );
        assert_abs_diff_eq!(start_m - craft.height_m(), 1.6818 * 0.74, epsilon = 0.02);
        // A full circle takes 2 pi V / (g tan(bank)); one second is that share of it.
        assert_abs_diff_eq!(craft.turn().heading_rad, 9.80665 / speed, epsilon = 0.01);
    }
}
