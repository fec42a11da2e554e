//! Flights simulated from physics: a glider, the air, a pilot and sensors.
//!
//! ```text
//! plan (scenario -> pilot) --+
//!                            +--> physics (motion <- glider, atmosphere) <-- air
//! hand (controls -> pilot) --+           |
//!                                     sensors --> plain numbers
//! centring (thermal -> circler -> ear -> scripted pilot), a model of its own
//! ```
//!
//! All of it is in double precision and independent: it is the truth against which the instrument
//! is tested, and it cannot use the instrument's core, since this crate does not depend on it.
//! Transcendentals go through `libm` and random numbers are seeded, so that a flight gives the same
//! numbers everywhere. Nothing here reads a clock or a file.

#![forbid(unsafe_code)]
#![cfg_attr(
    test,
    allow(
        clippy::disallowed_methods,
        reason = "tests compare with std and need no equal last bit"
    )
)]

pub mod air;
pub mod centring;
pub mod hand;
mod handling;
pub mod physics;
#[cfg(feature = "plan")]
pub mod plan;
pub mod sensors;

/// The examples of README.md, as tests.
#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct Readme;
