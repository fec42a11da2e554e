//! The settings in the last four pages of the flash.

use crate::shared::Shared;
use chirrup_firmware::store::{self, Loaded};
use core::ops::Range;
use embassy_embedded_hal::adapter::BlockingAsync;
use embassy_nrf::Peri;
use embassy_nrf::nvmc::{FLASH_SIZE, Nvmc, PAGE_SIZE};
use embassy_nrf::peripherals::NVMC;
use embassy_time::Timer;

/// Beginning where memory.x ends the program.
const PLACE: Range<u32> = (FLASH_SIZE - 4 * PAGE_SIZE) as u32..FLASH_SIZE as u32;

/// The flash as the store needs it.
pub type Memory = BlockingAsync<Nvmc<'static>>;

/// The flash.
pub fn open(flash: Peri<'static, NVMC>) -> Memory {
    BlockingAsync::new(Nvmc::new(flash))
}

/// The saved settings, and flash erased for the saves to come, since nobody flies yet.
pub async fn load(flash: &mut Memory) -> Loaded {
    let loaded = store::load(flash, PLACE).await;
    // What could not be erased now will be, where a save may.
    let _ = store::prepare(flash, PLACE, &loaded).await;
    loaded
}

/// Saves whenever the instrument requests it.
#[embassy_executor::task]
pub async fn keep(instrument: Shared, mut flash: Memory) {
    loop {
        let wanted = instrument.borrow_mut().take_save();
        if let Some(settings) = wanted {
            let may_erase = instrument.borrow().may_erase();
            let result = store::save(&mut flash, PLACE, &settings, may_erase).await;
            instrument.borrow_mut().saved(result);
        }
        Timer::after_millis(100).await;
    }
}
