//! Checks for equal bits on all processors: one invented flight through the core, and a digest of
//! every output after every sample.
//!
//! The flight ([`air`]) is computed in integers, so that every processor gets the same samples; it
//! includes everything that a faulty sensor may give, from NaN to a clock set back. Four
//! instruments ([`fleet`]) of different settings take turns at it. All their outputs go into a
//! running digest ([`digest`]), so the first digest that differs between two processors is that of
//! the first sample whose outputs differ.
//!
//! The payload of a NaN is left out, because it is not guaranteed. A test checks that no output is
//! a NaN.

#![no_std]
#![forbid(unsafe_code)]

#[cfg(test)]
extern crate std;

pub mod air;
pub mod digest;
pub mod fleet;
