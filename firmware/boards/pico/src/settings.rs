//! The settings in the last four sectors of the flash.

use crate::shared::Shared;
use chirrup_firmware::store::{self, Loaded};
use core::ops::Range;
use embassy_embedded_hal::adapter::BlockingAsync;
use embassy_rp::Peri;
use embassy_rp::flash::{Blocking, ERASE_SIZE, Flash};
use embassy_rp::peripherals::FLASH;
use embassy_time::Timer;

/// Size of a Pico's flash; the rest of a Pico 2's larger flash is not used.
const SIZE: usize = 2 * 1024 * 1024;
/// Kept free of program by memory.x.
const SETTINGS: Range<u32> = (SIZE - 4 * ERASE_SIZE) as u32..SIZE as u32;

/// The flash as the store needs it. Reading is quick; programming stops the processor for half a
/// millisecond at a time and erasing for 45 to 400 ms, while the timer continues the present tone.
pub type Memory = BlockingAsync<Flash<'static, FLASH, Blocking, SIZE>>;

/// The flash.
pub fn flash(flash: Peri<'static, FLASH>) -> Memory {
    BlockingAsync::new(Flash::new_blocking(flash))
}

/// The saved settings, and flash erased for the saves to come, since nobody flies yet.
pub async fn load(flash: &mut Memory) -> Loaded {
    let loaded = store::load(flash, SETTINGS).await;
    // What could not be erased now will be, where a save may.
    let _ = store::prepare(flash, SETTINGS, &loaded).await;
    loaded
}

/// Saves whenever the instrument requests it.
#[embassy_executor::task]
pub async fn keep(instrument: Shared, mut flash: Memory) {
    loop {
        let wanted = instrument.borrow_mut().take_save();
        if let Some(settings) = wanted {
            let may_erase = instrument.borrow().may_erase();
            let result = store::save(&mut flash, SETTINGS, &settings, may_erase).await;
            instrument.borrow_mut().saved(result);
        }
        Timer::after_millis(100).await;
    }
}
