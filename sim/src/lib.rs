//! The bench of the Chirrup audio variometer: pressure traces in; sound, pictures and tables out.
//!
//! The data flow of a run, in one direction:
//!
//! ```text
//! run -> input -> trace (csv, igc) -> replay (the core's pipeline)
//!                                        |
//!        summary (the report)  <- rows -+---- sound -> render
//!        output: csv, plot                              output: wav, live
//! ```
//!
//! The program `chirrup` turns a command line into requests of this library; the library knows no
//! command line.
//!
//! `fly` simulates traces from physics, with the true values beside the sensor values. [`replay`]
//! and [`render`] neither read nor write files; `run` is the one module that uses them all.
//!
//! There is also a hand-flown flight, for the page in `sim/web` and for the terminal:
//!
//! ```text
//! session (controls) -> chirrup-flight (by hand) -> inject (faults) -> replay -> render -> frames
//! ```
//!
//! With the feature `replay` in place of `program` there is only what a replay and the tone law
//! need; without both, only the parts for the page: no files, no command line, no pictures.

#![forbid(unsafe_code)]
// Measurements, drawings and estimates need not agree to the last bit. The modules shared with the
// page must, and turn the lint on again where they are declared.
#![allow(clippy::disallowed_methods, reason = "most of the bench may differ in the last bit")]
#![cfg_attr(
    all(feature = "replay", not(feature = "program")),
    allow(dead_code, reason = "what calls it is in the whole program")
)]

#[cfg(feature = "program")]
pub mod abx;
#[cfg(feature = "program")]
pub mod circling;
#[cfg(feature = "replay")]
pub mod climbs;
#[cfg(feature = "program")]
pub mod compare;
#[cfg(feature = "replay")]
pub mod demo;
#[cfg(feature = "program")]
pub mod device;
#[cfg_attr(not(test), warn(clippy::disallowed_methods))]
pub mod drill;
#[cfg_attr(not(test), warn(clippy::disallowed_methods))]
pub mod ears;
pub mod error;
pub mod false_climb;
#[cfg(feature = "program")]
pub mod fault_grid;
#[cfg(feature = "replay")]
pub mod felt;
#[cfg(feature = "program")]
pub mod fly;
#[cfg_attr(not(test), warn(clippy::disallowed_methods))]
pub mod hunt;
#[cfg_attr(not(test), warn(clippy::disallowed_methods))]
pub mod inject;
#[cfg(feature = "replay")]
pub mod input;
#[cfg(feature = "program")]
pub mod inspect;
#[cfg(feature = "replay")]
pub mod output;
#[cfg_attr(not(test), warn(clippy::disallowed_methods))]
pub mod packed;
#[cfg_attr(not(test), warn(clippy::disallowed_methods))]
pub mod player;
#[cfg(feature = "replay")]
pub mod progress;
#[cfg(feature = "replay")]
pub mod range;
#[cfg(feature = "replay")]
pub mod recording;
#[cfg_attr(not(test), warn(clippy::disallowed_methods))]
pub mod render;
#[cfg_attr(not(test), warn(clippy::disallowed_methods))]
pub mod replay;
#[cfg(feature = "program")]
pub mod report;
#[cfg(feature = "program")]
pub mod response;
#[cfg(feature = "program")]
pub mod rough_flight;
#[cfg(feature = "replay")]
pub mod run;
#[cfg_attr(not(test), warn(clippy::disallowed_methods))]
pub mod segments;
#[cfg_attr(not(test), warn(clippy::disallowed_methods))]
pub mod sensed;
#[cfg_attr(not(test), warn(clippy::disallowed_methods))]
pub mod session;
#[cfg(feature = "replay")]
pub mod settings_file;
#[cfg(feature = "replay")]
pub mod so_far;
#[cfg(feature = "replay")]
pub mod summary;
#[cfg_attr(not(test), warn(clippy::disallowed_methods))]
pub mod technique;
#[cfg(feature = "replay")]
pub mod text_file;
pub mod text_table;
#[cfg(feature = "program")]
pub mod then_and_now;
pub mod time;
#[cfg(feature = "replay")]
pub mod tone;
pub mod trace;
pub mod truth;
#[cfg(feature = "program")]
pub mod tune;
pub mod units;
#[cfg(feature = "replay")]
pub mod waiting;
#[cfg(feature = "program")]
pub mod watch;
pub mod words;
