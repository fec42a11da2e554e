//! Scenario flights: a scenario as written by a person, and the pilot who flies it.
//!
//! ```text
//! scenario (as written) -> check -> flight:  pilot -> physics (motion, glider) <- air
//! ```

pub mod builtin;
pub mod check;
pub mod flight;
mod launch;
pub mod leg;
mod pilot;
pub mod planted;
pub mod rough;
pub mod scenario;
mod steering;
mod view;
mod wrong;

pub use wrong::Wrong;
