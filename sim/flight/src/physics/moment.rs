//! The truth at one moment of a flight.

use super::atmosphere::{GRAVITY_MPS2, StillAir};
use super::attitude::Attitude;
use super::vector::Vector;

/// The truth at one moment.
#[derive(Clone, Copy, Debug)]
pub struct Moment<'a> {
    /// Time since the start, s.
    pub time_s: f64,
    /// Place: m east and north of the origin, m above the sea.
    pub place: Vector,
    /// Velocity over the ground, m/s.
    pub velocity: Vector,
    /// The air motion at the glider, including turbulence, m/s.
    pub air: Vector,
    /// The motion of the mean air mass there: the smooth wind, level, without turbulence, m/s.
    pub wind: Vector,
    /// True airspeed, m/s.
    pub airspeed_mps: f64,
    /// The air at rest at this height.
    pub still: StillAir,
    /// Where its nose and its wings point.
    pub attitude: Attitude,
    /// Lift over weight.
    pub load_factor: f64,
    /// The name of the leg.
    pub phase: &'a str,
}

impl Moment<'_> {
    /// The glider's energy per weight, m: height plus v^2 / (2 g), v being the velocity relative
    /// to the mean air mass. A gust changes the airspeed, but not this: it is no gain.
    pub fn energy_height_m(&self) -> f64 {
        let through = self.velocity - self.wind;
        self.place.up + through.dot(through) / (2.0 * GRAVITY_MPS2)
    }
}
