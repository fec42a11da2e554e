//! The flash, and who has which part of it: the program the first 384 KiB (memory.x), then the
//! recorder, and the settings the last four sectors.

use core::ops::Range;
use embassy_embedded_hal::adapter::BlockingAsync;
use embassy_rp::Peri;
use embassy_rp::flash::{Blocking, ERASE_SIZE, Flash};
use embassy_rp::peripherals::FLASH;

/// Size of a Pico's flash; the rest of a Pico 2's larger flash is not used.
const SIZE: usize = 2 * 1024 * 1024;
/// The recorder's, from where memory.x ends the program.
pub const FLIGHTS: Range<u32> = 384 * 1024..SETTINGS.start;
/// The settings'.
pub const SETTINGS: Range<u32> = (SIZE - 4 * ERASE_SIZE) as u32..SIZE as u32;

/// The flash as store and recorder need it. Reading is quick; programming stops the processor for
/// half a millisecond at a time, which the sound bridges, and erasing for 45 to 400 ms.
pub type Memory = BlockingAsync<Flash<'static, FLASH, Blocking, SIZE>>;

/// The flash.
pub fn open(flash: Peri<'static, FLASH>) -> Memory {
    BlockingAsync::new(Flash::new_blocking(flash))
}
