//! What every task needs: the instrument that they share, and the time.

use chirrup_core::Micros;
use chirrup_firmware::instrument::Instrument;
use core::cell::RefCell;
use embassy_time::Instant;

/// The instrument as the tasks share it.
pub type Shared = &'static RefCell<Instrument>;

/// The time since power came, on the timer that stamps the samples.
pub fn now() -> Micros {
    Micros(Instant::now().as_micros() as i64)
}
