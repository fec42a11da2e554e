//! What a stop needs of this chip, whatever the program was doing.

use embassy_rp::Peripherals;
use embassy_rp::gpio::{Level, Output};
use embassy_rp::watchdog::Watchdog;

/// The pin leaves the timer and goes low: the speaker is silent whatever the timer does.
pub fn silence() {
    // SAFETY: nothing else runs any more.
    let board = unsafe { Peripherals::steal() };
    core::mem::forget(Output::new(board.PIN_14, Level::Low));
    crate::dac::stop();
}

/// Starts the program again; memory keeps what it holds.
pub fn restart() -> ! {
    // SAFETY: nothing else runs any more.
    Watchdog::new(unsafe { Peripherals::steal() }.WATCHDOG).trigger_reset();
    loop {
        cortex_m::asm::nop();
    }
}
