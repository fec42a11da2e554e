//! Shared by all tasks: the instrument and the time.

use chirrup_core::Micros;
use chirrup_firmware::instrument::Instrument;
use core::cell::RefCell;
use embassy_time::Instant;

/// The instrument as the tasks share it.
pub type Shared = &'static RefCell<Instrument>;

/// Time since power-on, from the timer that stamps the samples.
pub fn now() -> Micros {
    Micros(Instant::now().as_micros() as i64)
}
