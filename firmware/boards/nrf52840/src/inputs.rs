//! Buttons, LED and watchdog, every ten milliseconds.

use crate::shared::{Shared, now};
use chirrup_firmware::instrument::Pressed;
use embassy_nrf::Peri;
use embassy_nrf::gpio::{AnyPin, Input, Level, Output, OutputDrive, Pull};
use embassy_nrf::peripherals::WDT;
use embassy_nrf::wdt::{Config, Watchdog};
use embassy_time::{Duration, Ticker};

const EVERY: Duration = Duration::from_millis(10);
/// A second of the watchdog's clock. Long against the erasing of a page of flash, 90 ms at most
/// (nRF52840 product specification, from memory).
const PATIENCE_TICKS: u32 = 32_768;

/// Runs forever.
#[embassy_executor::task]
pub async fn watch(
    instrument: Shared,
    buttons: [Peri<'static, AnyPin>; 3],
    light: Peri<'static, AnyPin>,
    watchdog: Peri<'static, WDT>,
) {
    let [volume, mute, mode] = buttons.map(|pin| Input::new(pin, Pull::Up));
    let mut light = Output::new(light, Level::High, OutputDrive::Standard);
    let mut config = Config::default();
    config.timeout_ticks = PATIENCE_TICKS;
    // One that still runs from before has the same settings, and is taken over.
    let Ok((_, [mut food])) = Watchdog::try_new(watchdog, config) else {
        panic!("a watchdog with other settings is running")
    };
    let mut ticker = Ticker::every(EVERY);
    loop {
        let pressed = Pressed { volume: volume.is_low(), mute: mute.is_low(), mode: mode.is_low() };
        instrument.borrow_mut().buttons(now(), pressed);
        light.set_level((!instrument.borrow().led(now())).into());
        if instrument.borrow().may_feed_watchdog(now()) {
            food.pet();
        }
        ticker.next().await;
    }
}
