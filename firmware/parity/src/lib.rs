//! The same bits everywhere: one made-up flight through the core, and a digest of every output
//! after every sample.
//!
//! The flight ([`air`]) is made by integers, so that every processor is given the same samples; it
//! holds what a sensor on its worst day gives, from NaN to a clock set back. Four instruments
//! ([`fleet`]) of different settings take turns at it. Whatever they say goes into a running digest
//! ([`digest`]), so the first digest that differs between two processors is that of the first
//! sample whose outputs differ.
//!
//! Left out, because no promise is made of them: the payload of a NaN. That no output is a NaN at
//! all is a test.

#![no_std]
#![forbid(unsafe_code)]

#[cfg(test)]
extern crate std;

pub mod air;
pub mod digest;
pub mod fleet;
