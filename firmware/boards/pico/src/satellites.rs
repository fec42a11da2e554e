//! A satellite receiver on the second UART.

use crate::shared::{Shared, now};
use embassy_rp::peripherals::{PIN_8, PIN_9, UART1};
use embassy_rp::uart::{BufferedInterruptHandler, BufferedUart, Config};
use embassy_rp::{Peri, bind_interrupts};
use embassy_time::{Duration, with_timeout};
use embedded_io_async::{Read, Write};
use static_cell::ConstStaticCell;

bind_interrupts!(struct Interrupts {
    UART1_IRQ => BufferedInterruptHandler<UART1>;
});

/// Longest wait before looking again which rate and message the instrument wants.
const LOOK: Duration = Duration::from_millis(100);

static OUT: ConstStaticCell<[u8; 64]> = ConstStaticCell::new([0; 64]);
static IN: ConstStaticCell<[u8; 128]> = ConstStaticCell::new([0; 128]);

/// The UART on its pins.
pub fn port(
    uart: Peri<'static, UART1>,
    tx: Peri<'static, PIN_8>,
    rx: Peri<'static, PIN_9>,
) -> BufferedUart {
    BufferedUart::new(uart, tx, rx, Interrupts, OUT.take(), IN.take(), Config::default())
}

/// Carries bytes both ways forever. Without a receiver nothing comes.
#[embassy_executor::task]
pub async fn carry(instrument: Shared, mut port: BufferedUart) {
    let mut rate = 0;
    let mut bytes = [0; 64];
    loop {
        let (wanted, message) = instrument.borrow_mut().satellites(now());
        if wanted != rate {
            rate = wanted;
            port.set_baudrate(rate);
        }
        if let Some(message) = message {
            // What cannot be sent is lost; the receiver stays as it is.
            let _ = port.write_all(&message).await;
        }
        // A damaged byte is dropped; the message that it was in is not taken.
        if let Ok(Ok(count)) = with_timeout(LOOK, port.read(&mut bytes)).await {
            let come = bytes.get(..count).unwrap_or_default();
            instrument.borrow_mut().satellites_say(now(), come);
        }
    }
}
