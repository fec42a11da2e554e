//! The bench of the Chirrup audio variometer: pressure traces in; sound, pictures and tables out.
//!
//! The way of a run, one direction:
//!
//! ```text
//! cli (as typed) -> options (checked) -> run -> input -> trace (csv, igc) -> replay (the core's pipeline)
//!                                                                               |
//!                               summary (the account)  <- rows -----------------+---- sound -> render
//!                               output: csv, plot                                              output: wav, live
//! ```
//!
//! [`fly`] makes traces from physics, with the truth beside what is sensed. [`replay`] and [`render`] neither read nor write; [`run`] is the one module that knows them all.

#![forbid(unsafe_code)]

pub mod cli;
pub mod climbs;
pub mod compare;
pub mod demo;
pub mod device;
pub mod ears;
pub mod error;
pub mod fly;
pub mod inject;
pub mod input;
pub mod inspect;
pub mod options;
pub mod output;
pub mod progress;
pub mod recording;
pub mod render;
pub mod replay;
pub mod response;
pub mod run;
pub mod settings_file;
pub mod summary;
pub mod time;
pub mod tone;
pub mod trace;
pub mod truth;
pub mod tune;
