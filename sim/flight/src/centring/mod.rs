//! A pilot in the loop: scripted pilots centre thermals by what they hear.
//!
//! ```text
//! thermal, gusts --> circler (glider) --> pressures, true climb --> Ear --> pilot --> bank
//!                                     +-> body --> inertial sensor, receiver --^
//! ```
//!
//! The mean climb of the first three minutes is the measure of what was heard. The [`Ear`] comes
//! from outside: this crate knows no instrument. An ear that hears [`Moment::climb_mps`] is a
//! perfect tone.
//!
//! | module | what it does |
//! |---|---|
//! | [`day`] | the air of a trial: how strong turbulence and gusts are |
//! | `gusts` | first-order gusts along the flight |
//! | [`thermal`] | thermals of three shapes that drift and wander |
//! | `circler` | a glider that circles: bank, turn, sink, energy |
//! | `aloft` | glider and air together |
//! | `steered` | the same with pressure sensors, for a hand |
//! | `body` | how it moves and points, for an inertial sensor; `motion_sensors` are those |
//! | `ear` | what there is to hear at a moment |
//! | `pressures`, `senses` | what the sensors give |
//! | `lead` | three minutes of flight before, for the inertial sensor |
//! | `hearing` | what a pilot remembers of what he heard |
//! | [`pilot`] | the four pilots, and two that show what correcting is worth |
//! | `scripted` | such a pilot with late reactions and a clumsy hand |
//! | `harmonic` | climb against heading over the last turn, by least squares |
//! | `seen` | the flight as it was, for who judges an analysis of it |
//! | `trial` | three minutes of one pilot in one thermal |
//! | `best` | the climb of the best circle |
//!
//! The pilots follow rules, and no human was tested. A trial with the same seed has the same
//! thermal, gusts, sensor noise and clumsiness whoever flies it and whatever he hears.

mod aloft;
mod best;
mod body;
mod circler;
pub mod day;
mod ear;
mod gusts;
mod harmonic;
mod hearing;
mod lead;
mod motion_sensors;
pub mod pilot;
mod pressures;
mod scripted;
mod seen;
mod senses;
mod steered;
pub mod thermal;
mod trial;

pub use aloft::Aloft;
pub use best::{BestCircle, best_circle_mps};
pub use day::Day;
pub use ear::{Ear, Moment, STEP_US};
pub use pilot::Pilot;
pub use scripted::Scripted;
pub use seen::Seen;
pub use steered::Steered;
pub use trial::{LEAD_STEPS, MEASURED_STEPS, Trial};
