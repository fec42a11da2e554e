//! The console on the UART.

use crate::console;
use crate::shared::Shared;
use chirrup_firmware::instrument::Port;
use embassy_nrf::buffered_uarte::{BufferedUarte, InterruptHandler};
use embassy_nrf::peripherals::{P0_06, P0_08, PPI_CH0, PPI_CH1, PPI_GROUP0, TIMER1, UARTE0};
use embassy_nrf::uarte::{Baudrate, Config};
use embassy_nrf::{Peri, bind_interrupts};
use static_cell::ConstStaticCell;

bind_interrupts!(struct Interrupts {
    UARTE0 => InterruptHandler<UARTE0>;
});

static OUT: ConstStaticCell<[u8; 256]> = ConstStaticCell::new([0; 256]);
static IN: ConstStaticCell<[u8; 128]> = ConstStaticCell::new([0; 128]);

/// The two lines.
pub struct Pins {
    /// Out of the chip.
    pub tx: Peri<'static, P0_06>,
    /// Into the chip.
    pub rx: Peri<'static, P0_08>,
}

/// What counts the bytes that come in.
pub struct Helpers {
    /// Counts them.
    pub timer: Peri<'static, TIMER1>,
    /// From the UART to the timer.
    pub channels: (Peri<'static, PPI_CH0>, Peri<'static, PPI_CH1>),
    /// Switches a channel.
    pub group: Peri<'static, PPI_GROUP0>,
}

/// The UART on its pins.
pub fn port(uart: Peri<'static, UARTE0>, pins: Pins, helpers: Helpers) -> BufferedUarte<'static> {
    let mut config = Config::default();
    config.baudrate = Baudrate::Baud115200;
    let (Pins { tx, rx }, Helpers { timer, channels: (first, second), group }) = (pins, helpers);
    BufferedUarte::new(
        uart,
        timer,
        first,
        second,
        group,
        rx,
        tx,
        Interrupts,
        config,
        IN.take(),
        OUT.take(),
    )
}

/// Carries bytes both ways forever.
#[embassy_executor::task]
pub async fn carry(instrument: Shared, port: BufferedUarte<'static>) {
    let (rx, tx) = port.split();
    console::carry(instrument, Port::Uart, rx, tx).await;
}
