//! Shared by all tasks: the instrument and the time; and how the one and the others begin.

use chirrup_core::Micros;
use chirrup_firmware::instrument::{Boot, Instrument};
use core::cell::RefCell;
use embassy_executor::{SpawnError, SpawnToken, Spawner};
use embassy_time::Instant;
use static_cell::StaticCell;

static INSTRUMENT: StaticCell<RefCell<Instrument>> = StaticCell::new();

/// The instrument as the tasks share it.
pub type Shared = &'static RefCell<Instrument>;

/// Time since power-on, from the timer that stamps the samples.
pub fn now() -> Micros {
    Micros(Instant::now().as_micros() as i64)
}

/// Builds the instrument in place. A separate function, so that its stack is freed before the tasks
/// run.
#[inline(never)]
pub fn begin(boot: Boot) -> Shared {
    // The store returns usable settings, or else the defaults.
    let Ok(checked) = boot.check() else { panic!("the settings cannot be built") };
    INSTRUMENT.init_with(|| RefCell::new(Instrument::begin(checked)))
}

/// Each task has one place in memory and is started once, so that there is always room.
pub fn start<S>(spawner: Spawner, task: Result<SpawnToken<S>, SpawnError>) {
    if let Ok(task) = task {
        spawner.spawn(task);
    }
}
