//! The instrument on a serial port: record its log, show and load its settings, run its self-test.
//!
//! ```text
//! port (bytes, with a time limit) -> talk (a line out, the lines of its answer in)
//!                                 |     -> settings, selftest
//!                                 -> record (the log's rows, whole, into a file)
//! ```
//!
//! What the instrument writes: answers begin with `# ` and end with `# ok` or `# error: ..`;
//! messages of its own begin with `#! `; all else is the log. `docs/src/serial.md` lists the
//! commands.

pub mod port;
pub mod record;
pub mod selftest;
pub mod settings;
pub mod talk;
