//! The recorder in the flash between the program and the settings.

use crate::flash::{FLIGHTS, Memory};
use crate::shared::{Shared, now};
use chirrup_core::Micros;
use chirrup_firmware::instrument::ResetCause;
use chirrup_firmware::recorder::keeper::Keeper;
use core::cell::RefCell;
use embassy_futures::block_on;
use embassy_time::Timer;
use static_cell::StaticCell;

/// The recorder, which has the flash, as the tasks share it.
pub type SharedKeeper = &'static RefCell<Keeper<Memory>>;

static KEEPER: StaticCell<RefCell<Keeper<Memory>>> = StaticCell::new();

/// Opens the recorder; when power has just come, flash may be erased first.
pub async fn open(flash: Memory, reset: ResetCause) -> SharedKeeper {
    KEEPER.init(RefCell::new(Keeper::open(flash, FLIGHTS, reset).await))
}

/// Takes a sample, and writes a page if there is time: the bus waits until then. Flash never lets a
/// task wait, so it is done at once.
pub fn serve(keeper: SharedKeeper, instrument: Shared, until: Micros) {
    block_on(keeper.borrow_mut().serve(&mut instrument.borrow_mut(), now(), until));
}

/// Answers what the ports want of the recorder, a little at a time.
#[embassy_executor::task]
pub async fn answer(keeper: SharedKeeper, instrument: Shared) {
    loop {
        let is_more = block_on(keeper.borrow_mut().answer(&mut instrument.borrow_mut()));
        Timer::after_millis(if is_more { 1 } else { 50 }).await;
    }
}
