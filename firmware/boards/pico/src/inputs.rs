//! Buttons, battery, LED and watchdog, every ten milliseconds.

use crate::shared::{Shared, now};
use chirrup_firmware::instrument::Pressed;
use embassy_rp::Peri;
use embassy_rp::adc::{Adc, Blocking, Channel, Config};
use embassy_rp::gpio::{AnyPin, Input, Level, Output, Pull};
use embassy_rp::peripherals::{ADC, PIN_29};
use embassy_rp::watchdog::Watchdog;
use embassy_time::{Duration, Ticker, Timer};

const EVERY: Duration = Duration::from_millis(10);
/// Loop turns between battery readings.
const BATTERY_EVERY: u32 = 10;
/// Long against the erasing of a sector of flash (0.4 s at most, W25Q16JV data sheet, from memory).
const PATIENCE: Duration = Duration::from_millis(1_000);
/// Full scale of the converter in millivolts of VSYS, of which it sees a third: Pico data sheet,
/// "GPIO29".
const FULL_SCALE_MV: u32 = 3 * 3_300;

/// Below this a supply is not shown: 0.5 V, at which nothing runs.
const SHOWN_MV: u32 = 500;
/// The divider's 67 kohm charge what is at the pin within this (a guess).
const SETTLING: Duration = Duration::from_millis(2);

/// What measures the supply.
pub struct Battery {
    converter: Adc<'static, Blocking>,
    channel: Channel<'static>,
}

/// The pin of the light, GP25. On a Pico W it selects the wireless chip, whose clock is on the pin
/// that shows the supply: that is measured only while GP25 is high (Pico W data sheet, from
/// memory).
pub struct Light {
    pin: Output<'static>,
    is_wireless: bool,
}

/// Which board it is: the supply vanishes while GP25 is low on a Pico W, and on no other.
pub async fn light(pin: Peri<'static, AnyPin>, battery: &mut Battery) -> Light {
    let mut pin = Output::new(pin, Level::Low);
    Timer::after(SETTLING).await;
    let low = battery.millivolts();
    pin.set_high();
    Timer::after(SETTLING).await;
    let high = battery.millivolts();
    let is_shown = |millivolts: Option<u32>| millivolts.is_some_and(|shown| shown > SHOWN_MV);
    let is_wireless = !is_shown(low) && is_shown(high);
    Light { pin, is_wireless }
}

impl Light {
    /// Whether the board is a Pico W, or a Pico 2 W.
    pub fn is_wireless(&self) -> bool {
        self.is_wireless
    }

    fn set(&mut self, lit: bool) {
        self.pin.set_level((lit || self.is_wireless).into());
    }
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
    mut light: Light,
    mut battery: Battery,
    mut watchdog: Watchdog,
) {
    let [volume, mute, mode] = buttons.map(|pin| Input::new(pin, Pull::Up));
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
        light.set(lit);
        if well {
            watchdog.feed(PATIENCE);
        }
        ticker.next().await;
    }
}
