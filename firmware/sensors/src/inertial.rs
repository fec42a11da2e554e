//! 6-axis inertial sensors: three accelerometers and three gyros in one package.
//!
//! ```text
//! sensor's memory, 200 or 208 readings a second
//!   -> driver    empties it once a frame             chip: lsm6dso, icm42688
//!   -> Batch     sums of what it read, in counts     sums
//! ```
//!
//! The sensor low-passes what it measures and stores every reading, so that nothing is lost between
//! two frames and nothing above half its rate is taken for something slow.
//!
//! Neither of two crates for these sensors serves here. `lsm6dso` 0.2 does not read the sensor's
//! memory; `icm426xx` 0.4 reads it, but owns the bus and waits for it, and an instrument whose
//! barometers must convert on time cannot wait. So these drivers are ours, and one state machine
//! serves both sensors: they differ in tables and in the bytes of a reading.

pub mod batch;
pub mod chip;
pub mod driver;
pub mod icm42688;
pub mod lsm6dso;
pub mod sums;

pub use batch::{Batch, Scale, SelfTest};
