//! The demonstration's flight as text, for programs that must have it without a file beside them.
//!
//! The other recordings of this folder are for people and for tests; README.md says what is in
//! each.

#![no_std]

/// A CSV trace of about eight minutes at 20 Hz: time in seconds, then static, dynamic and
/// total-energy pressure in pascals. Line 1 is a comment, line 2 has the names of the columns.
/// Computed; glider, place and day are invented.
pub const DEMO_FLIGHT: &str = include_str!("demo-flight.csv");
