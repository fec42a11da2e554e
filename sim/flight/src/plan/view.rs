//! What the pilot sees of the flight: everything, but gusts only slowly.

use crate::air::Air;
use crate::handling::Flown;
use crate::physics::glider::Glider;
use crate::physics::moment::Moment;
use crate::physics::motion::Motion;
use crate::physics::vector::Vector;

/// What the pilot sees of the flight.
pub struct View<'a> {
    /// The moment.
    pub moment: &'a Moment<'a>,
    /// The air's motion as far as the pilot has noticed it: the smooth part and slow gusts, m/s.
    pub air_felt: Vector,
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
    /// What the pilot feels.
    pub fn flown(&self) -> Flown<'_> {
        Flown {
            glider: self.glider,
            through_air: self.through_air(),
            airspeed_mps: self.airspeed_mps(),
            speed_ratio: self.moment.still.speed_ratio(),
            lift: self.motion.lift,
        }
    }

    /// The glider's motion through the air, m/s.
    pub fn through_air(&self) -> Vector {
        self.moment.velocity - self.air_felt
    }

    /// True airspeed, m/s.
    pub fn airspeed_mps(&self) -> f64 {
        self.through_air().length()
    }

    /// Equivalent airspeed, m/s.
    pub fn equivalent_mps(&self) -> f64 {
        self.airspeed_mps() / self.moment.still.speed_ratio()
    }
}
