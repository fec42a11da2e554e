//! The Chirrup audio variometer as an instrument: what runs on a board, written so that a host can test it.
//!
//! So far this holds the arithmetic of one barometer; buses, tasks and boards come on top of it. Sensors in, pressure out:
//! from there on the way is [`chirrup_core::pipeline`]'s.

#![no_std]
#![forbid(unsafe_code)]

#[cfg(test)]
extern crate std;

pub mod ms5611;
