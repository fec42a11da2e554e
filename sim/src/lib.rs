//! The bench of the Chirrup audio variometer.

#![forbid(unsafe_code)]

pub mod ears;
pub mod error;
pub mod output;
pub mod replay;
