//! The instrument on a serial port: record its log, show and load its settings, run its self-test,
//! check its sensors and lines.
//!
//! ```text
//! port (bytes, with a time limit) -> talk (a line out, the lines of its answer in)
//!                                 |     -> settings, selftest, inertial, clock, sound_check
//!                                 |     -> check (self-test, log and a person at the bench)
//!                                 -> record (the log's rows, whole, into a file)
//!                                 -> flights (a list of what it recorded; one of them into a file)
//! ```
//!
//! What the instrument writes: answers begin with `# ` and end with `# ok` or `# error: ..`;
//! messages of its own begin with `#! `; all else is the log. `docs/src/serial.md` lists the
//! commands.

pub mod check;
pub mod clock;
pub mod flights;
pub mod port;
pub mod record;
pub mod selftest;
pub mod settings;
pub mod sound_check;
pub mod talk;

use crate::error::Result;
use port::Port;
use std::path::Path;
use std::sync::atomic::AtomicBool;

/// What the instrument at `path` says of its inertial sensor: whether it is trusted, why not,
/// vibration, mounting and satellites, a line each.
///
/// # Errors
/// No instrument answers, or an older one that does not know the question.
pub fn inertial(path: &Path, interrupted: &AtomicBool) -> Result<String> {
    let mut port = Port::open(path)?;
    talk::greet(&mut port, interrupted)?;
    Ok(talk::demand(&mut port, "inertial", interrupted)?.join("\n") + "\n")
}
