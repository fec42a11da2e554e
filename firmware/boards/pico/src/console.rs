//! The console on a serial line, whatever chip drives it.

use crate::shared::Shared;
use chirrup_firmware::instrument::Port;
use embassy_futures::join::join;
use embassy_futures::yield_now;
use embassy_time::Timer;
use embedded_io_async::{Read, Write};

/// Longest wait before sending; a buffer of 256 bytes holds what the line carries in 22 ms.
const LOOK_EVERY_MS: u64 = 10;

/// Carries bytes both ways forever. A plugged-in cable cannot be detected, so the port counts as
/// open from the start.
pub async fn carry(instrument: Shared, port: Port, mut rx: impl Read, mut tx: impl Write) {
    instrument.borrow_mut().connected(port);
    let send = async {
        let mut bytes = [0; 64];
        loop {
            let count = instrument.borrow_mut().transmit(port, &mut bytes);
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
                instrument.borrow_mut().receive(port, bytes.get(..count).unwrap_or_default());
            }
        }
    };
    join(send, receive).await;
}
