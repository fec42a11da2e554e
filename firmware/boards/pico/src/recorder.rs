//! The recorder in the flash between the program and the settings.

use crate::flash::{FLIGHTS, Memory};
use crate::shared::{Shared, now};
use chirrup_core::Micros;
use chirrup_firmware::instrument::ResetCause;
use chirrup_firmware::recorder::keeper::Keeper;
use core::cell::RefCell;
use embassy_futures::block_on;
use embassy_time::Timer;
use embedded_storage_async::nor_flash::{ErrorType, NorFlash, ReadNorFlash};
use static_cell::StaticCell;

/// The recorder, which has the flash, as the tasks share it.
pub type SharedKeeper = &'static RefCell<Keeper<Memory>>;

static KEEPER: StaticCell<RefCell<Keeper<Memory>>> = StaticCell::new();

/// Opens the recorder; when power has just come, flash may be erased first.
pub async fn open(flash: Memory, reset: ResetCause) -> SharedKeeper {
    KEEPER.init(RefCell::new(Keeper::open(flash, FLIGHTS, reset, now).await))
}

/// The keeper's flash, lent for one order at a time, so that a save leaves it to others between its
/// orders. Flash never lets a task wait, so each is done at once.
pub struct Lent(pub SharedKeeper);

impl ErrorType for Lent {
    type Error = <Memory as ErrorType>::Error;
}

impl ReadNorFlash for Lent {
    const READ_SIZE: usize = Memory::READ_SIZE;

    async fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), Self::Error> {
        block_on(self.0.borrow_mut().flash().read(offset, bytes))
    }

    fn capacity(&self) -> usize {
        self.0.borrow_mut().flash().capacity()
    }
}

impl NorFlash for Lent {
    const WRITE_SIZE: usize = Memory::WRITE_SIZE;
    const ERASE_SIZE: usize = Memory::ERASE_SIZE;

    async fn erase(&mut self, from: u32, to: u32) -> Result<(), Self::Error> {
        block_on(self.0.borrow_mut().flash().erase(from, to))
    }

    async fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), Self::Error> {
        block_on(self.0.borrow_mut().flash().write(offset, bytes))
    }
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
