//! Any rows come back to the bit; what fits; and power cut anywhere.

mod flash;
mod power;
mod room;
mod round_trip;
