//! The console on the UART.

use crate::shared::Shared;
use chirrup_firmware::instrument::Port;
use embassy_futures::join::join;
use embassy_futures::yield_now;
use embassy_rp::peripherals::{PIN_0, PIN_1, UART0};
use embassy_rp::uart::{BufferedInterruptHandler, BufferedUart, Config};
use embassy_rp::{Peri, bind_interrupts};
use embassy_time::Timer;
use embedded_io_async::{Read, Write};
use static_cell::ConstStaticCell;

bind_interrupts!(struct Interrupts {
    UART0_IRQ => BufferedInterruptHandler<UART0>;
});

const BAUD: u32 = 115_200;
/// Longest wait before sending; the buffer below holds what the line carries in 22 ms.
const LOOK_EVERY_MS: u64 = 10;

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

/// Carries bytes both ways forever. A plugged-in cable cannot be detected, so the port counts as
/// open from the start.
#[embassy_executor::task]
pub async fn carry(instrument: Shared, port: BufferedUart) {
    let (mut tx, mut rx) = port.split();
    instrument.borrow_mut().connected(Port::Uart);
    let send = async {
        let mut bytes = [0; 64];
        loop {
            let count = instrument.borrow_mut().transmit(Port::Uart, &mut bytes);
            match bytes.get(..count) {
                None | Some([]) => Timer::after_millis(LOOK_EVERY_MS).await,
                // Bytes that cannot be sent are lost; there is nowhere to report it.
                Some(bytes) => drop(tx.write_all(bytes).await),
            }
            // The sensors and the sound come first, between any two lines.
            yield_now().await;
        }
    };
    let receive = async {
        let mut bytes = [0; 32];
        loop {
            // A damaged byte is dropped; its line then gives an error answer.
            if let Ok(count) = rx.read(&mut bytes).await {
                instrument.borrow_mut().receive(Port::Uart, bytes.get(..count).unwrap_or_default());
            }
        }
    };
    join(send, receive).await;
}
