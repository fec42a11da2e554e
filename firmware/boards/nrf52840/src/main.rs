//! The instrument on an nRF52840: an example of a port, as small as it can be.
//!
//! Nobody has run it: CI compiles it, and no emulator of this chip was found (docs/src/porting.md).
//! The pins are those of the nRF52840 DK (its user guide, from memory):
//!
//! | pin | what |
//! |---|---|
//! | P0.26, P0.27 | SDA and SCL of the sensors, 390 kHz |
//! | P1.11 | speaker, samples by PWM 0: an amplifier behind a low-pass, no bare disc |
//! | P0.13 | LED 1, lit while low |
//! | P0.11, P0.12, P0.24 | buttons 1 to 3 to ground: volume, mute, mode |
//! | P0.06, P0.08 | UART TX and RX, 115200 baud, to the DK's USB debugger |
//!
//! Left out, beside what the Pico does: the recorder of flights, pulses for a bare disc
//! (`device.output` is not obeyed), the console on USB, the battery and the satellite receiver.
//! Sensors other than the barometer are on the same two wires and are served as on the Pico.
//!
//! Three files are the Pico's, because they name no chip: `shared`, `console` and `stop`.

#![no_std]
#![no_main]

mod bus;
#[path = "../../pico/src/console.rs"]
mod console;
mod halt;
mod inputs;
mod settings;
#[path = "../../pico/src/shared.rs"]
mod shared;
mod sound;
#[path = "../../pico/src/stop.rs"]
mod stop;
mod uart;

use chirrup_firmware::instrument::{Boot, ResetCause};
use embassy_executor::Spawner;
use embassy_nrf::config::{Config, HfclkSource, LfclkSource};
use embassy_nrf::pac;
use shared::{begin, now, start};

#[embassy_executor::main]
async fn main(spawner: Spawner) {
    // Both crystals: an error of the slow one, which stamps the samples, is one of the climb, and
    // an error of the fast one is one of the pitch. The oscillators without are percents off.
    let mut config = Config::default();
    config.hfclk_source = HfclkSource::ExternalXtal;
    config.lfclk_source = LfclkSource::ExternalXtal;
    let board = embassy_nrf::init(config);
    let mut flash = settings::open(board.NVMC);
    let loaded = settings::load(&mut flash).await;
    let (reset, panic) = (reset_cause(), stop::take_record());
    let instrument = begin(Boot { board: "nrf52840", now: now(), loaded, reset, panic });
    let wires = bus::Wires { bus: board.TWISPI0, scl: board.P0_27, sda: board.P0_26 };
    start(spawner, bus::serve(instrument, wires));
    start(spawner, sound::make(instrument, sound::output(board.PWM0, board.P1_11)));
    let buttons = [board.P0_11.into(), board.P0_12.into(), board.P0_24.into()];
    start(spawner, inputs::watch(instrument, buttons, board.P0_13.into(), board.WDT));
    start(spawner, settings::keep(instrument, flash));
    let pins = uart::Pins { tx: board.P0_06, rx: board.P0_08 };
    let helpers = uart::Helpers {
        timer: board.TIMER1,
        channels: (board.PPI_CH0, board.PPI_CH1),
        group: board.PPI_GROUP0,
    };
    start(spawner, uart::carry(instrument, uart::port(board.UARTE0, pins, helpers)));
}

fn reset_cause() -> ResetCause {
    let reasons = pac::POWER.resetreas().read();
    // Each stays until it is written back.
    pac::POWER.resetreas().write_value(reasons);
    // After the reset pin other bits may be set that should not be (its errata, anomaly 136, from
    // memory): they are not to be believed.
    if reasons.resetpin() {
        ResetCause::Power
    } else if reasons.dog() {
        ResetCause::Watchdog
    } else if reasons.sreq() || reasons.lockup() {
        ResetCause::Software
    } else {
        ResetCause::Power
    }
}
