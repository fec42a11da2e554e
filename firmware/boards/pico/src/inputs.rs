//! Buttons, battery, LED and watchdog, every ten milliseconds.

use crate::shared::{Shared, now};
use chirrup_firmware::instrument::Pressed;
use embassy_rp::Peri;
use embassy_rp::adc::{Adc, Blocking, Channel, Config};
use embassy_rp::gpio::{AnyPin, Input, Level, Output, Pull};
use embassy_rp::peripherals::{ADC, PIN_29};
use embassy_rp::watchdog::Watchdog;
use embassy_time::{Duration, Ticker};

const EVERY: Duration = Duration::from_millis(10);
/// Loop turns between battery readings.
const BATTERY_EVERY: u32 = 10;
/// Long against the erasing of a sector of flash (0.4 s at most, W25Q16JV data sheet, from memory).
const PATIENCE: Duration = Duration::from_millis(1_000);
/// Full scale of the converter in millivolts of VSYS, of which it sees a third: Pico data sheet,
/// "GPIO29".
const FULL_SCALE_MV: u32 = 3 * 3_300;

/// What measures the supply.
pub struct Battery {
    converter: Adc<'static, Blocking>,
    channel: Channel<'static>,
}

/// The converter on the pin that the board wires to a third of VSYS.
pub fn battery(converter: Peri<'static, ADC>, pin: Peri<'static, PIN_29>) -> Battery {
    Battery {
        converter: Adc::new_blocking(converter, Config::default()),
        channel: Channel::new_pin(pin, Pull::None),
    }
}

impl Battery {
    /// 2 us of conversion; `None` where the converter failed.
    fn millivolts(&mut self) -> Option<u32> {
        let counts = self.converter.blocking_read(&mut self.channel).ok()?;
        Some(u32::from(counts) * FULL_SCALE_MV / 4_096)
    }
}

/// Runs forever.
#[embassy_executor::task]
pub async fn watch(
    instrument: Shared,
    buttons: [Peri<'static, AnyPin>; 3],
    led: Peri<'static, AnyPin>,
    mut battery: Battery,
    mut watchdog: Watchdog,
) {
    let [volume, mute, mode] = buttons.map(|pin| Input::new(pin, Pull::Up));
    let mut led = Output::new(led, Level::Low);
    let mut ticker = Ticker::every(EVERY);
    watchdog.start(PATIENCE);
    for turn in 0_u32.. {
        let pressed = Pressed { volume: volume.is_low(), mute: mute.is_low(), mode: mode.is_low() };
        let voltage = if turn.is_multiple_of(BATTERY_EVERY) { battery.millivolts() } else { None };
        let (lit, well) = {
            let mut instrument = instrument.borrow_mut();
            instrument.buttons(now(), pressed);
            if let Some(millivolts) = voltage {
                instrument.battery(now(), millivolts);
            }
            (instrument.led(now()), instrument.may_feed_watchdog(now()))
        };
        led.set_level(lit.into());
        if well {
            watchdog.feed(PATIENCE);
        }
        ticker.next().await;
    }
}
