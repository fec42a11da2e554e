//! The bench of the Chirrup audio variometer.

#![forbid(unsafe_code)]

pub mod ears;
pub mod error;
pub mod output;
pub mod render;
pub mod replay;
pub mod settings_file;
pub mod time;
