//! From what an inertial sensor felt to a climb that no gust can fake.
//!
//! ```text
//! specific force, turn rate -> filter <- static height, airspeed, velocity over the ground
//!                                |
//!                                +-> climb, its deviation, load factor, bank
//! ```
//!
//! The rate of the glider's energy for its weight is `f . v / g`: the specific force, which the
//! sensor feels, times the velocity through the mean air. A gust that hits the pitot is in neither.

mod agreement;
pub(crate) mod aiding;
mod axes;
mod clipping;
mod correlation;
mod covariance;
mod errors;
pub(crate) mod filter;
mod ground;
mod judgement;
mod launch;
#[cfg(test)]
mod made_up;
mod measures;
mod mounting;
pub(crate) mod noise;
mod receiver;
mod rest;
mod roughness;
mod seen;
pub(crate) mod settings;
mod steps;
mod stuck;
mod swings;
mod symmetric;
pub(crate) mod trust;
mod turns;
mod vector;
