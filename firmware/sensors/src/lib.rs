//! Drivers of the sensors of a variometer, which never wait: pressure and inertial sensors on an
//! I2C bus, with data-sheet arithmetic to the last bit of a conversion.
//!
//! No heap, no unsafe code, no clock, no board, no executor. A driver is a state machine: it
//! requests a [`bus::Transaction`] or names the time before which it wants nothing, takes the
//! answer, and gives a [`sensor::Measurement`] with the time of the middle of its conversion:
//!
//! ```text
//! loop { match driver.wanted(now) { Transact(t) => driver.answer(now, bus.run(t)),
//!                                   Nothing(until) => sleep until then } }
//! ```
//!
//! So several sensors share a bus and convert at the same time, and a blocking and an async board
//! use the same drivers ([`bus::run_blocking`], [`bus::run_async`]). [`recovery`] frees a bus that
//! a device holds, with two plain pins.
//!
//! A hobby project: not certified, never the primary reference of a flight.

#![no_std]
#![forbid(unsafe_code)]
#![cfg_attr(
    test,
    allow(
        clippy::disallowed_methods,
        reason = "tests compare with std and need no equal last bit"
    )
)]
// The instrument must not panic in flight: what could is refused here, as in the core.
#![cfg_attr(
    not(test),
    warn(clippy::indexing_slicing, clippy::unwrap_used, clippy::expect_used, clippy::panic)
)]

#[cfg(test)]
extern crate std;

pub use chirrup_core::{DifferentialOutput, Micros};

pub mod bmp390;
pub mod bmp581;
pub mod bus;
pub mod dps310;
#[cfg(any(test, feature = "fakes"))]
pub mod fakes;
pub mod inertial;
pub mod ms4525;
pub mod ms5611;
pub mod recovery;
pub mod sdp3x;
pub mod sensor;
#[cfg(test)]
mod strangers;
pub mod temperature;
