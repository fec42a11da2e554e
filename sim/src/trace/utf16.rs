//! Text in UTF-16 as UTF-8, on the way: spreadsheets write it as "Unicode text".

use std::io::{self, BufRead, Read};

/// Bytes of UTF-8 that are made at a time.
const BLOCK: usize = 8 * 1024;

/// The order of the bytes is told by so many.
pub(super) const NEEDED: usize = 4;

/// Which byte of a unit comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum ByteOrder {
    /// The low one.
    Little,
    /// The high one.
    Big,
}

/// The order of text in UTF-16, by its mark or, without one, by the zeros beside its letters;
/// `None` for anything else.
pub(super) fn order_of(start: &[u8]) -> Option<ByteOrder> {
    match *start {
        [0xFF, 0xFE, ..] => Some(ByteOrder::Little),
        [0xFE, 0xFF, ..] => Some(ByteOrder::Big),
        [first, 0, second, 0, ..] if is_text(first) && is_text(second) => Some(ByteOrder::Little),
        [0, first, 0, second, ..] if is_text(first) && is_text(second) => Some(ByteOrder::Big),
        _ => None,
    }
}

fn is_text(byte: u8) -> bool {
    matches!(byte, b' '..=b'~' | b'\t' | b'\r' | b'\n')
}

/// The text of a stream in UTF-16.
pub(super) struct Utf16 {
    input: Box<dyn BufRead>,
    order: ByteOrder,
    text: Vec<u8>,
    /// How much of `text` has been read.
    read: usize,
    /// A unit of which only the first byte was there, and the first unit of a pair.
    half: Option<u8>,
    high: Option<u16>,
}

impl Utf16 {
    /// The text of `input`.
    pub fn new(input: Box<dyn BufRead>, order: ByteOrder) -> Self {
        Self { input, order, text: Vec::with_capacity(BLOCK), read: 0, half: None, high: None }
    }

    fn refill(&mut self) -> io::Result<()> {
        (self.read, self.text) = (0, std::mem::take(&mut self.text));
        self.text.clear();
        while self.text.is_empty() {
            let bytes = self.input.fill_buf()?;
            if bytes.is_empty() {
                if self.half.take().is_some() | self.high.take().is_some() {
                    push(&mut self.text, char::REPLACEMENT_CHARACTER);
                }
                return Ok(());
            }
            // A byte becomes one and a half of UTF-8 at most.
            let taken = bytes.len().min(BLOCK / 2);
            for byte in &bytes[..taken] {
                let Some(first) = self.half.take() else {
                    self.half = Some(*byte);
                    continue;
                };
                let unit = match self.order {
                    ByteOrder::Little => u16::from_le_bytes([first, *byte]),
                    ByteOrder::Big => u16::from_be_bytes([first, *byte]),
                };
                take_unit(&mut self.text, &mut self.high, unit);
            }
            self.input.consume(taken);
        }
        Ok(())
    }
}

/// Adds a unit to the text; the first of a pair waits in `high` for the second.
fn take_unit(text: &mut Vec<u8>, high: &mut Option<u16>, unit: u16) {
    let is_high = (0xD800..0xDC00).contains(&unit);
    let waiting = high.take();
    let pair = waiting.map(|first| char::decode_utf16([first, unit]).next());
    match pair {
        Some(Some(Ok(character))) => return push(text, character),
        Some(_) => push(text, char::REPLACEMENT_CHARACTER),
        None => {}
    }
    if is_high {
        *high = Some(unit);
    } else {
        push(text, char::from_u32(unit.into()).unwrap_or(char::REPLACEMENT_CHARACTER));
    }
}

fn push(text: &mut Vec<u8>, character: char) {
    text.extend_from_slice(character.encode_utf8(&mut [0; 4]).as_bytes());
}

impl Read for Utf16 {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let count = self.fill_buf()?.read(buffer)?;
        self.consume(count);
        Ok(count)
    }
}

impl BufRead for Utf16 {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.read == self.text.len() {
            self.refill()?;
        }
        Ok(&self.text[self.read..])
    }

    fn consume(&mut self, count: usize) {
        self.read = (self.read + count).min(self.text.len());
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trace::testing::seeded;
    use proptest::prelude::*;
    use std::io::{BufReader, Cursor};

    fn decoded(bytes: &[u8], at_a_time: usize) -> String {
        let order = order_of(bytes).expect("it is UTF-16");
        let input = BufReader::with_capacity(at_a_time, Cursor::new(bytes.to_vec()));
        let mut text = String::new();
        let read = Utf16::new(Box::new(input), order).read_to_string(&mut text);
        read.expect("UTF-8 comes out");
        text
    }

    fn encoded(text: &str, order: ByteOrder) -> Vec<u8> {
        let bytes = |unit: u16| match order {
            ByteOrder::Little => unit.to_le_bytes(),
            ByteOrder::Big => unit.to_be_bytes(),
        };
        text.encode_utf16().flat_map(bytes).collect()
    }

    #[test]
    fn both_orders_are_known_with_a_mark_and_without() {
        for order in [ByteOrder::Little, ByteOrder::Big] {
            assert_eq!(order_of(&encoded("\u{feff}t", order)), Some(order));
            assert_eq!(order_of(&encoded("t,p", order)), Some(order));
        }
        for other in
            [&b"time_s,static_pa"[..], b"RIFF\x24\0\0\0", b"\0\0\0\0", b"t\0", b"", b"\x1f\x8b"]
        {
            assert_eq!(order_of(other), None, "{other:?}");
        }
    }

    #[test]
    fn a_pair_without_its_second_and_half_a_unit_are_marked() {
        let mut bytes = encoded("a,", ByteOrder::Little);
        bytes.extend([0x00, 0xD8, 0x00, 0xD8, b'b', 0, 0x00, 0xDC, b'c']);
        assert_eq!(decoded(&bytes, 64), "a,\u{fffd}\u{fffd}b\u{fffd}\u{fffd}");
    }

    proptest! {
        #![proptest_config(seeded())]

        /// The standard library's encoder, undone whatever the size of the reads.
        #[test]
        fn any_text_comes_back(text in "\\PC{0,60}", at_a_time in 1_usize..40) {
            let text = format!("t,{text}");
            for order in [ByteOrder::Little, ByteOrder::Big] {
                prop_assume!(order_of(&encoded(&text, order)).is_some());
                prop_assert_eq!(&decoded(&encoded(&text, order), at_a_time), &text);
            }
        }
    }
}
