//! The console on the UART.

use crate::console;
use crate::shared::Shared;
use chirrup_firmware::instrument::Port;
use embassy_rp::peripherals::{PIN_0, PIN_1, UART0};
use embassy_rp::uart::{BufferedInterruptHandler, BufferedUart, Config};
use embassy_rp::{Peri, bind_interrupts};
use static_cell::ConstStaticCell;

bind_interrupts!(struct Interrupts {
    UART0_IRQ => BufferedInterruptHandler<UART0>;
});

const BAUD: u32 = 115_200;

static OUT: ConstStaticCell<[u8; 256]> = ConstStaticCell::new([0; 256]);
static IN: ConstStaticCell<[u8; 128]> = ConstStaticCell::new([0; 128]);

/// The UART on its pins.
pub fn port(
    uart: Peri<'static, UART0>,
    tx: Peri<'static, PIN_0>,
    rx: Peri<'static, PIN_1>,
) -> BufferedUart {
    let mut config = Config::default();
    config.baudrate = BAUD;
    BufferedUart::new(uart, tx, rx, Interrupts, OUT.take(), IN.take(), config)
}

/// Carries bytes both ways forever.
#[embassy_executor::task]
pub async fn carry(instrument: Shared, port: BufferedUart) {
    let (tx, rx) = port.split();
    console::carry(instrument, Port::Uart, rx, tx).await;
}
