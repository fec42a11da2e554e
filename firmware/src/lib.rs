//! The instrument.
#![no_std]
