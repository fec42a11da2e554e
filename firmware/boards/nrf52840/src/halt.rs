//! What a stop needs of this chip, whatever the program was doing.

use embassy_nrf::Peripherals;
use embassy_nrf::gpio::{Level, Output, OutputDrive};
use embassy_nrf::pac;

/// The timer lets go of the pin, which goes low.
pub fn silence() {
    pac::PWM0.enable().write(|register| register.set_enable(false));
    // SAFETY: nothing else runs any more.
    let board = unsafe { Peripherals::steal() };
    core::mem::forget(Output::new(board.P1_11, Level::Low, OutputDrive::Standard));
}

/// Starts the program again; memory keeps what it holds.
pub fn restart() -> ! {
    cortex_m::peripheral::SCB::sys_reset()
}
