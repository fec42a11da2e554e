//! The truth at one moment of a flight.

use super::atmosphere::{GRAVITY_MPS2, StillAir};
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
    /// True airspeed, m/s.
    pub airspeed_mps: f64,
    /// The air at rest at this height.
    pub still: StillAir,
    /// Lift over weight.
    pub load_factor: f64,
    /// The name of the leg.
    pub phase: &'a str,
}

impl Moment<'_> {
    /// Height plus V^2 / (2 g) of the true airspeed V, m.
    pub fn energy_height_m(&self) -> f64 {
        self.place.up + self.airspeed_mps * self.airspeed_mps / (2.0 * GRAVITY_MPS2)
    }
}
