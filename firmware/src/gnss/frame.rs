//! Finds messages in a stream of bytes, in which bytes may be missing, wrong or foreign.
//!
//! ```text
//! 0xB5 0x62 | class 0x01, kind 0x07 | length, low byte first | payload | checksum, 2 bytes
//! checksum: a += byte, b += a over class to payload (Fletcher, RFC 1145)
//! ```
//!
//! Whatever cannot be the beginning of the message is dropped byte by byte, so that a message is
//! found even where its beginning lies within what looked like another.
//!
//! Source: u-blox M8 receiver description UBX-13003221, "UBX frame structure", "UBX-NAV-PVT", from
//! memory; the tests compare with another project.

use heapless::Vec;

/// Bytes of the payload: 92, or 84 of older receivers.
pub const LONGEST_PAYLOAD: usize = 92;
const SHORTER_PAYLOAD: usize = 84;
const HEAD: [u8; 4] = [0xB5, 0x62, 0x01, 0x07];
/// Header with its length, and checksum.
const AROUND: usize = 8;
/// Bytes of the longest message.
pub const LONGEST: usize = LONGEST_PAYLOAD + AROUND;

/// A payload.
pub type Payload = Vec<u8, LONGEST_PAYLOAD>;

/// What has come of a message.
#[derive(Clone, Debug, Default)]
pub struct Frames {
    bytes: Vec<u8, LONGEST>,
}

impl Frames {
    /// Takes a byte; the payload of the message that it ends, if it ends one.
    pub fn step(&mut self, byte: u8) -> Option<Payload> {
        // There is room: a message as long as that has been taken.
        let _ = self.bytes.push(byte);
        while !self.bytes.is_empty() {
            match begun(&self.bytes) {
                Begun::Part => return None,
                Begun::Whole(payload) => {
                    self.bytes.clear();
                    return Some(payload);
                }
                Begun::Not => {
                    self.bytes.remove(0);
                }
            }
        }
        None
    }
}

enum Begun {
    /// It may become one.
    Part,
    Whole(Payload),
    Not,
}

fn begun(bytes: &[u8]) -> Begun {
    let is_head = bytes.iter().zip(HEAD).all(|(byte, wanted)| *byte == wanted);
    let length = match bytes.get(4..6) {
        None => return if is_head { Begun::Part } else { Begun::Not },
        Some([low, high]) => usize::from(u16::from_le_bytes([*low, *high])),
        Some(_) => return Begun::Not,
    };
    if !is_head || !matches!(length, SHORTER_PAYLOAD | LONGEST_PAYLOAD) {
        return Begun::Not;
    }
    let Some((head_and_payload, [a, b, ..])) = bytes.split_at_checked(length + 6) else {
        return Begun::Part;
    };
    let checked = head_and_payload.get(2..).unwrap_or_default();
    let payload = head_and_payload.get(6..).unwrap_or_default();
    if checksum(checked) == [*a, *b] {
        Begun::Whole(payload.iter().copied().collect())
    } else {
        Begun::Not
    }
}

/// The checksum of class, kind, length and payload.
pub fn checksum(bytes: &[u8]) -> [u8; 2] {
    bytes.iter().fold([0, 0], |[a, b], byte| {
        let a: u8 = byte.wrapping_add(a);
        [a, a.wrapping_add(b)]
    })
}
