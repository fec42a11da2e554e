//! A satellite receiver on the second UART.

use crate::shared::{Shared, now};
use embassy_rp::clocks::clk_peri_freq;
use embassy_rp::peripherals::{PIN_8, PIN_9, UART1};
use embassy_rp::uart::{BufferedInterruptHandler, BufferedUart, Config};
use embassy_rp::{Peri, bind_interrupts, pac};
use embassy_time::{Duration, Timer, with_timeout};
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
    let mut rate = Config::default().baudrate;
    let mut bytes = [0; 64];
    loop {
        let (wanted, message) = instrument.borrow_mut().satellites(now());
        if wanted != rate {
            set_rate(rate, wanted).await;
            rate = wanted;
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

/// Changes the bit rate as the UART's manual asks (PL011, from memory): it is turned off, what is
/// under way gets the time of 15 bits to end, and only then the rate changes.
///
/// The driver's own `set_baudrate` does the same but stops the processor meanwhile, 1.6 ms at 9600
/// bits a second, while a conversion may be due.
async fn set_rate(before: u32, rate: u32) {
    let uart = pac::UART1;
    let control = uart.uartcr().read();
    uart.uartcr().modify(|register| register.set_uarten(false));
    Timer::after_micros(15 * 1_000_000 / u64::from(before.max(1))).await;
    // Of the clock, in 64ths: it counts sixteen times a bit.
    let divider = (4 * clk_peri_freq() + rate / 2) / rate.max(1);
    uart.uartibrd().write(|register| register.set_baud_divint((divider >> 6) as u16));
    uart.uartfbrd().write(|register| register.set_baud_divfrac((divider & 63) as u8));
    // The divider is taken over by a write to this one.
    uart.uartlcr_h().modify(|_| ());
    uart.uartcr().write_value(control);
}
