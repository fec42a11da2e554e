//! What the instrument makes of a 6-axis inertial sensor's readings, and which sensors it looks
//! for.
//!
//! ```text
//! chirrup_sensors::inertial: Batch, sums of what a frame's readings counted
//!   -> Averager  mean and spread since the sample before, in fixed decimals  average
//!   -> figures, shaking: what the console reports
//! ```
//!
//! Averaged are all readings, not one picked: with vibration, picked readings gave three times the
//! error.

pub mod average;
pub mod candidate;
#[cfg(test)]
mod coning;
pub mod figures;
pub mod shaking;
#[cfg(test)]
mod tests;

pub use candidate::InertialCandidate;
