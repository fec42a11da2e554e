//! Why the instrument stopped, kept through a reset: a record of fixed size for memory that
//! survives a reset.
//!
//! ```text
//! magic u32 | length u8 | text 119 bytes | CRC-32 of all before      little-endian, 128 bytes
//! ```
//!
//! After power-on such memory holds anything; only a record whose magic and CRC are right is
//! accepted.

use core::fmt::{self, Write};
use crc::{CRC_32_ISO_HDLC, Crc};

/// Bytes of a record.
pub const SIZE: usize = 128;
const MAGIC: [u8; 4] = *b"CHPR";
const TEXT: usize = SIZE - 4 - 1 - 4;
const CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// The reason of a stop, shortened to fit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PanicRecord {
    text: heapless::String<TEXT>,
}

impl PanicRecord {
    /// A record of `reason`, such as a `PanicInfo`; one that is too long is cut.
    pub fn of(reason: impl fmt::Display) -> Self {
        let mut text = Shortened(heapless::String::new());
        // The shortening writer never fails, and a reason whose own formatting fails is kept as far
        // as it came.
        let _ = write!(text, "{reason}");
        Self { text: text.0 }
    }

    /// The reason, in one line.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The record as it is kept.
    pub fn to_bytes(&self) -> [u8; SIZE] {
        let mut bytes = [0; SIZE];
        let head = MAGIC.into_iter().chain([self.text.len() as u8]).chain(self.text.bytes());
        for (place, byte) in bytes.iter_mut().take(SIZE - 4).zip(head) {
            *place = byte;
        }
        let crc = body(&bytes).map_or(0, |body| CRC.checksum(body));
        for (place, byte) in bytes.iter_mut().skip(SIZE - 4).zip(crc.to_le_bytes()) {
            *place = byte;
        }
        bytes
    }

    /// The record in `bytes`, if there is one.
    pub fn from_bytes(bytes: &[u8; SIZE]) -> Option<Self> {
        let (rest, crc) = bytes.split_last_chunk::<4>()?;
        if CRC.checksum(rest) != u32::from_le_bytes(*crc) || !rest.starts_with(&MAGIC) {
            return None;
        }
        let length = usize::from(*rest.get(4)?);
        let text = core::str::from_utf8(rest.get(5..5 + length)?).ok()?;
        Some(Self { text: text.try_into().ok()? })
    }
}

fn body(bytes: &[u8; SIZE]) -> Option<&[u8]> {
    bytes.get(..SIZE - 4)
}

/// Takes as many whole characters as fit, in one line.
struct Shortened(heapless::String<TEXT>);

impl Write for Shortened {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        for character in text.chars() {
            let character = if character.is_control() { ' ' } else { character };
            if self.0.push(character).is_err() {
                break;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::string::ToString;

    #[test]
    fn a_reason_is_read_back_in_one_line() {
        let record = PanicRecord::of("panicked at src/main.rs:7:5:\nno bus");
        assert_eq!(PanicRecord::from_bytes(&record.to_bytes()), Some(record.clone()));
        assert_eq!(record.text(), "panicked at src/main.rs:7:5: no bus");
    }

    #[test]
    fn a_long_reason_is_cut_at_a_whole_character() {
        let record = PanicRecord::of("\u{00E4}".repeat(200));
        assert_eq!(record.text(), "\u{00E4}".repeat(TEXT / 2));
        assert_eq!(PanicRecord::from_bytes(&record.to_bytes()), Some(record));
    }

    #[test]
    fn memory_after_power_on_holds_no_record() {
        assert_eq!(PanicRecord::from_bytes(&[0; SIZE]), None);
        assert_eq!(PanicRecord::from_bytes(&[0xFF; SIZE]), None);
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            failure_persistence: None,
            ..ProptestConfig::default()
        })]

        #[test]
        fn one_wrong_bit_anywhere_is_seen(place in 0..SIZE * 8, reason in ".{0,150}") {
            let mut bytes = PanicRecord::of(reason.to_string()).to_bytes();
            bytes[place / 8] ^= 1 << (place % 8);
            prop_assert_eq!(PanicRecord::from_bytes(&bytes), None);
        }

        #[test]
        fn whatever_stands_in_memory_does_no_harm(
            bytes in prop::array::uniform32(any::<[u8; 4]>()),
        ) {
            let mut memory = [0; SIZE];
            memory.copy_from_slice(bytes.as_flattened());
            prop_assert_eq!(PanicRecord::from_bytes(&memory), None);
        }
    }
}
