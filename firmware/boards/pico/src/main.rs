//! The instrument on a Raspberry Pi Pico (and, by boards/pico2, on a Pico 2): pins, clocks and
//! timers, and nothing else.
//!
//! | pin | what |
//! |---|---|
//! | GP4, GP5 | SDA and SCL of the sensors, 400 kHz |
//! | GP8, GP9 | TX and RX to a satellite receiver |
//! | GP14 | speaker, by the timer PWM 7 A; PWM 5 and 6 and DMA 0 and 1 pace its samples |
//! | GP25 | LED, on the board |
//! | GP10, GP11, GP12 | buttons to ground: volume, mute, mode |
//! | GP29 | a third of the supply VSYS, wired on the board |
//! | GP0, GP1 | UART TX and RX, 115200 baud |
//! | USB | serial port |
//!
//! Each job is a small task; the tasks share the instrument on one thread, and none holds it while
//! waiting.

#![no_std]
#![no_main]

mod bus;
mod console;
mod dac;
mod flash;
mod halt;
mod inputs;
mod recorder;
mod satellites;
mod settings;
mod shared;
mod sound;
mod stop;
mod uart;
#[cfg(feature = "usb")]
mod usb;

use chirrup_firmware::instrument::{Boot, ResetCause};
use embassy_executor::Spawner;
use embassy_rp::watchdog::{ResetReason, Watchdog};
use shared::{begin, now, start};

// A Cortex-M0+ has no floats, and these are quicker than the compiler's.
#[cfg(not(target_abi = "eabihf"))]
chirrup_softfloat::routines!();

/// The program's name is the board's.
const BOARD: &str = env!("CARGO_BIN_NAME");
/// A board with the wireless chip on the pin of the light.
const WIRELESS: &str = concat!(env!("CARGO_BIN_NAME"), " w, whose light stays dark");

#[embassy_executor::main]
async fn main(spawner: Spawner) {
    let board = embassy_rp::init(embassy_rp::config::Config::default());
    let watchdog = Watchdog::new(board.WATCHDOG);
    let reset = match watchdog.reset_reason() {
        None => ResetCause::Power,
        Some(ResetReason::TimedOut) => ResetCause::Watchdog,
        Some(ResetReason::Forced) => ResetCause::Software,
    };
    let mut flash = flash::open(board.FLASH);
    let loaded = settings::load(&mut flash).await;
    let mut battery = inputs::battery(board.ADC, board.PIN_29);
    let light = inputs::light(board.PIN_25.into(), &mut battery).await;
    let name = if light.is_wireless() { WIRELESS } else { BOARD };
    let boot = Boot { board: name, now: now(), loaded, reset, panic: stop::take_record() };
    let keeper = recorder::open(flash, reset).await;
    let instrument = begin(boot);
    let wires = bus::Wires { bus: board.I2C0, scl: board.PIN_5, sda: board.PIN_4 };
    let buttons = [board.PIN_10.into(), board.PIN_11.into(), board.PIN_12.into()];
    start(spawner, bus::serve(instrument, keeper, wires));
    let speaker = sound::output(board.PWM_SLICE7, board.PIN_14);
    let channels = (board.DMA_CH0, board.DMA_CH1);
    let pace = dac::Pace::new(board.PWM_SLICE5, board.PWM_SLICE6, channels);
    start(spawner, sound::make(instrument, speaker, pace));
    start(spawner, inputs::watch(instrument, buttons, light, battery, watchdog));
    start(spawner, settings::keep(instrument, keeper));
    start(spawner, recorder::answer(keeper, instrument));
    let sky = satellites::port(board.UART1, board.PIN_8, board.PIN_9);
    start(spawner, satellites::carry(instrument, sky));
    start(spawner, uart::carry(instrument, uart::port(board.UART0, board.PIN_0, board.PIN_1)));
    #[cfg(feature = "usb")]
    start(spawner, usb::carry(instrument, board.USB));
}
