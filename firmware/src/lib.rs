//! The Chirrup audio variometer as an instrument: what runs on a board, written so that a host can
//! test it.
//!
//! No heap, no unsafe code, no clock, no pin and no wait: time is an argument, and a board asks
//! what to do next. The way of the data, and the modules on it:
//!
//! ```text
//! board: I2C    <->  sampler: the drivers of `chirrup-sensors`  ->  core's pipeline
//!                                                               ->  speaker  ->  board: PWM
//! board: UART    <->  gnss: velocity over the ground            ->  core's pipeline
//! board: pins    ->  buttons, battery  ->  instrument  ->  led, watchdog  ->  board: pins
//! board: ports  <->  console: line, command, reply, log  (the log is a trace for `chirrup replay`)
//! board: flash  <->  store: settings, row by row, with version and CRC
//! board: flash  <->  recorder: every sample, compressed, in pages that power loss cannot reach
//! ```
//!
//! [`instrument`] is the one module that knows all the others, and the only one that a board must
//! know:
//!
//! | a board does | with |
//! |---|---|
//! | carry out bus transactions | [`instrument::Instrument::bus_step`], [`instrument::Instrument::bus_done`], [`chirrup_sensors::bus`], [`chirrup_sensors::recovery`] |
//! | sound, every 2 ms | [`instrument::Instrument::tick`], [`speaker`] |
//! | report buttons and battery | [`instrument::Instrument::buttons`], [`instrument::Instrument::battery`] |
//! | light the LED, feed the watchdog | [`instrument::Instrument::led`], [`instrument::Instrument::may_feed_watchdog`] |
//! | carry bytes of the ports | [`instrument::Instrument::receive`], [`instrument::Instrument::transmit`], [`instrument::Instrument::connected`] |
//! | carry a satellite receiver's line | [`instrument::Instrument::satellites`], [`instrument::Instrument::satellites_say`] |
//! | keep settings | [`store`], [`instrument::Instrument::take_save`], [`instrument::Instrument::saved`] |
//! | record flights | [`recorder::keeper::Keeper`], between two transactions of the bus |
//! | keep the reason of a panic | [`panic_record`] |
//!
//! A hobby instrument: not certified, never the primary reference of a flight.

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

pub mod audition;
pub mod battery;
pub mod buttons;
pub mod command;
pub mod console;
pub mod dac;
pub mod gnss;
pub mod inertial;
pub mod instrument;
pub mod keys;
pub mod led;
pub mod log;
pub mod meter;
pub mod notice;
pub mod panic_record;
pub mod quality;
pub mod recorder;
pub mod sampler;
pub mod slot;
pub mod sound_check;
pub mod speaker;
pub mod store;
pub mod watchdog;
