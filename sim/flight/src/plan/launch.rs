//! Launches: the pull of a winch's cable and of a tug.
//!
//! The winch stands at the far end of the field and pulls along the straight line to the glider,
//! hard enough to hold the airspeed, within the limits of its engine and the cable's weak link. The
//! pilot turns the path up over some seconds, and flattens it as the cable steepens; at 65 degrees
//! the pilot releases it. Shapes and limits are guesses chosen to match common practice (no
//! source): about 30 s to 1000 to 2000 ft, 45 degrees nose up, about 3000 ft/min at best.

use super::leg::Leg;
use super::view::View;
use crate::physics::motion::TICK_S;
use crate::physics::vector::Vector;

/// Pull of the winch on the ground, m/s2.
const GROUND_RUN_MPS2: f64 = 6.5;
/// Greatest pull of the cable, m/s2 for the glider's mass: 1.35 times its weight.
const STRONGEST_MPS2: f64 = 13.2;
/// Time constant of the winch, s.
const WINCH_S: f64 = 0.5;
/// The path is turned up over this time after the wheel leaves the ground, s.
const ROTATION_S: f64 = 7.0;
/// The cable's angle at release, and at which the path would be level, rad: 65 and 80 degrees.
const RELEASE_RAD: f64 = 1.1345;
const LEVEL_RAD: f64 = 1.3963;
/// Greatest pull of a tug, m/s2 for the glider's mass.
const STRONGEST_TUG_MPS2: f64 = 2.6;

/// A winch's cable.
#[derive(Clone, Copy, Debug)]
pub struct Cable {
    winch: Vector,
    pull_mps2: f64,
}

impl Cable {
    /// A cable of `length_m`, laid out straight ahead.
    pub fn new(place: Vector, heading: Vector, length_m: f64) -> Self {
        Self { winch: place + heading * length_m, pull_mps2: 0.0 }
    }

    /// Whether the cable is steep enough for the release.
    pub fn is_overhead(&self, place: Vector) -> bool {
        self.steepness(place) > RELEASE_RAD
    }

    /// The angle of the path through the air that suits the cable, rad.
    pub fn path_rad(&self, leg: &Leg, place: Vector, airborne_s: f64) -> f64 {
        let rotated = (airborne_s / ROTATION_S).min(1.0);
        let smooth = rotated * rotated * (3.0 - 2.0 * rotated);
        let steep = self.steepness(place) / LEVEL_RAD;
        leg.climb_deg.to_radians() * smooth * (1.0 - steep * steep).max(0.0)
    }

    /// The cable's pull for an acceleration of `needed` along the path, m/s2.
    pub fn pull(&mut self, view: &View<'_>, heading: Vector, needed: f64) -> Vector {
        let way = (self.winch - view.moment.place).unit_or(heading);
        let wanted = if view.is_on_ground {
            GROUND_RUN_MPS2
        } else {
            let along = way.dot(view.through_air().unit_or(heading));
            (needed / along.max(0.1)).clamp(0.0, STRONGEST_MPS2)
        };
        self.pull_mps2 += (wanted - self.pull_mps2) * (TICK_S / WINCH_S);
        way * self.pull_mps2
    }

    fn steepness(&self, place: Vector) -> f64 {
        let down = place - self.winch;
        libm::atan2(down.up, down.level().length())
    }
}

/// The pull of a tug for the wanted acceleration, m/s2.
pub fn tow_mps2(needed: f64) -> f64 {
    needed.clamp(0.0, STRONGEST_TUG_MPS2)
}
