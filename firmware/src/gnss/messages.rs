//! What the instrument sends to a receiver so that it sends velocities: five times a second, at
//! 38400 bits a second, and nothing else.
//!
//! Older receivers obey the first three, those from the ninth generation on the last; a receiver
//! answers with a refusal what it does not know, which is not read. Nothing is stored in it.
//!
//! Source, from memory: u-blox M8 receiver description UBX-13003221 for CFG-PRT, CFG-RATE and
//! CFG-MSG, u-blox M9 interface description UBX-19035940 for CFG-VALSET and its keys; the tests
//! compare with another project.

use super::frame::checksum;
use heapless::Vec;

/// Bits a second that the receiver is told to use.
pub const BITS_PER_SECOND: u32 = 38_400;
/// Milliseconds between two velocities.
const EVERY_MS: u16 = 200;

/// Bytes of the longest message.
pub const LONGEST: usize = 36;

const CFG_PRT: [u8; 2] = [0x06, 0x00];
const CFG_MSG: [u8; 2] = [0x06, 0x01];
const CFG_RATE: [u8; 2] = [0x06, 0x08];
const CFG_VALSET: [u8; 2] = [0x06, 0x8A];

/// How many there are.
pub const COUNT: usize = 4;

/// One of the messages, 0 to [`COUNT`] - 1.
pub fn message(place: usize) -> Option<Vec<u8, LONGEST>> {
    let [every_low, every_high] = EVERY_MS.to_le_bytes();
    let [b0, b1, b2, b3] = BITS_PER_SECOND.to_le_bytes();
    match place {
        // NAV-PVT once a solution, on the port that is spoken to.
        0 => framed(CFG_MSG, &[0x01, 0x07, 1]),
        // A solution every so often, by the clock of GPS.
        1 => framed(CFG_RATE, &[every_low, every_high, 1, 0, 1, 0]),
        // RAM only: NMEA off, NAV-PVT on, the interval, the rate of the port.
        2 => framed(
            CFG_VALSET,
            &[
                0, 1, 0, 0, 0x02, 0x00, 0x74, 0x10, 0, 0x07, 0x00, 0x91, 0x20, 1, 0x01, 0x00, 0x21,
                0x30, every_low, every_high, 0x01, 0x00, 0x52, 0x40, b0, b1, b2, b3,
            ],
        ),
        // UART 1, 8N1, all protocols in, UBX alone out. Last: after it the rate is another.
        3 => framed(
            CFG_PRT,
            &[1, 0, 0, 0, 0xC0, 0x08, 0, 0, b0, b1, b2, b3, 0x07, 0, 0x01, 0, 0, 0, 0, 0],
        ),
        _ => None,
    }
}

fn framed([class, kind]: [u8; 2], payload: &[u8]) -> Option<Vec<u8, LONGEST>> {
    let mut message = Vec::new();
    message.extend_from_slice(&[0xB5, 0x62, class, kind]).ok()?;
    message.extend_from_slice(&u16::try_from(payload.len()).ok()?.to_le_bytes()).ok()?;
    message.extend_from_slice(payload).ok()?;
    let sum = checksum(message.get(2..)?);
    message.extend_from_slice(&sum).ok()?;
    Some(message)
}
