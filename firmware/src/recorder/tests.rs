//! Any rows come back to the bit; what fits; and power cut anywhere.

pub mod flash;
mod flight;
mod long_flight;
mod power;
mod room;
mod round_trip;
mod worn;
