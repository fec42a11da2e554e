//! What plausible but false pressures do to the instrument, size by size: the same measure for
//! every disturbance.
//!
//! ```text
//! flight (still air, noise) -> disturbance of inject -> the core's pipeline -> effect
//! ```
//!
//! | module | what |
//! |---|---|
//! | [`flight`] | a glider that sinks steadily in still air, and its sensors' noise |
//! | [`effect`] | seconds of climb sound, and how far the reading is moved |
//! | [`grid`] | the sizes of each disturbance that are tried |
//! | [`row`] | the table: a row a disturbance, with what it must stay within |
//!
//! The glider never climbs, so every climb sound is false.

pub mod effect;
pub mod flight;
pub mod grid;
pub mod row;

pub use row::Row;
