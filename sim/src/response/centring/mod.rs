//! A pilot in the loop: what scripted pilots climb who centre thermals by the sound of the settings
//! under test, against the same pilots in the same thermals with a perfect tone.
//!
//! ```text
//! thermal, glider, gusts --> pressures --> pipeline --> voice --> listener --> pilot --> bank
//!               +-> inertial sensor ----^
//!                            true climb --------------> voice --> listener --> (perfect tone)
//! ```
//!
//! Both go through the tone law of the settings, so that the share is that of the reading alone.
//! The pilots, the air and the glider are those of [`chirrup_flight::centring`]; no human was
//! tested.

mod bounds;
mod ear;
mod law;
pub(crate) mod listener;
mod pilots;
pub mod report;
mod text;
mod trials;

pub use trials::measure;
