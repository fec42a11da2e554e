//! Rough air: what a reading is worth where gusts strike the pitot and thermals have to be found
//! by ear.
//!
//! ```text
//! case -> scenario -> chirrup-flight + rise -> flown (samples, truth)
//!                                                 |
//!             settings, and a front of fixed filters -> heard (reading, climb sounds)
//!                                                 |
//!                  tally: error, false sounds, entries, circles -> rows, the bounds beside them
//! ```
//!
//! The truth is the rate of the glider's energy per weight, its velocity relative to the mean air
//! mass: a gust that strikes the pitot is no gain. The yardstick is the best fixed filter in
//! hindsight: of a front of response times, the one whose reading has the least error on the same
//! samples.

pub mod bounds;
pub mod case;
mod circle;
mod entry;
mod flown;
mod heard;
pub mod picture;
pub mod report;
mod rise;
mod rows;
mod scenario;
#[cfg(test)]
mod shared_tests;
mod sounds;
mod tally;
mod text;
pub mod trial;

pub use trial::run;
