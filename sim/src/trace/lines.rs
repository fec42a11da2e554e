//! Lines of bytes from a stream, none longer than a limit, numbered as in the file.
//!
//! A line ends in LF or CR LF, or in CR alone where the first line does. Nothing is assumed about
//! the bytes between: a flight log may hold Latin-1, or worse. A longer line is cut and the rest of
//! it skipped, so that a file without line ends needs no memory.

use super::start;
use memchr::memchr;
use std::io::{self, BufRead, Read};

/// Longest line that is read whole, bytes; the rows of any sensible trace are a hundred times
/// shorter (a guess).
pub(super) const LONGEST_LINE: usize = 64 * 1024;
/// The reason for skipping a longer line.
pub(super) const LINE_TOO_LONG: &str = "line longer than 64 KiB";

/// What some programs put before the first line of a text in UTF-8.
pub(super) const UTF8_MARK: &[u8] = b"\xEF\xBB\xBF";

/// A stream taken line by line.
pub(super) struct Lines {
    input: Box<dyn BufRead>,
    /// How much of the buffer of `input` the line before was, which is still to be consumed.
    lent: usize,
    /// A line that is not whole in one buffer.
    text: Vec<u8>,
    number: u64,
    /// What ends a line.
    end: u8,
    /// The rest of the line before is still to be skipped.
    in_long_line: bool,
}

/// One line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Line<'a> {
    /// In the file, the first being 1.
    pub number: u64,
    /// Without its end, and without the UTF-8 mark where it is the first.
    pub text: &'a [u8],
    /// Whether only its beginning is here.
    pub is_cut: bool,
}

impl Lines {
    /// The lines of `input`, from its first.
    ///
    /// # Errors
    /// The beginning cannot be read.
    pub fn new(input: Box<dyn BufRead>) -> io::Result<Self> {
        let mut input = start::gathered(input, |start| end_of_lines(start).is_some())?;
        let end = end_of_lines(start::of(input.as_mut())?).unwrap_or(b'\n');
        Ok(Self {
            input,
            lent: 0,
            text: Vec::with_capacity(256),
            number: 0,
            end,
            in_long_line: false,
        })
    }

    /// The next line; `None` at the end.
    pub fn next(&mut self) -> io::Result<Option<Line<'_>>> {
        self.input.consume(std::mem::take(&mut self.lent));
        // Only now, so that the beginning of an endless line can be judged without waiting for its
        // end.
        if std::mem::take(&mut self.in_long_line) {
            self.input.skip_until(self.end)?;
        }
        let Some(length) = self.buffered()? else { return self.next_gathered() };
        self.number += 1;
        self.lent = length + 1;
        // The same bytes once more: only now can they be lent.
        let text = &self.input.fill_buf()?[..length];
        let text = without_ends(text, self.end, self.number);
        Ok(Some(Line { number: self.number, text, is_cut: false }))
    }

    /// The length of the next line, where it is in the buffer as a whole and not too long.
    fn buffered(&mut self) -> io::Result<Option<usize>> {
        match self.input.fill_buf() {
            Ok(bytes) => Ok(memchr(self.end, bytes).filter(|length| *length <= LONGEST_LINE)),
            // The other way tries again.
            Err(error) if error.kind() == io::ErrorKind::Interrupted => Ok(None),
            Err(error) => Err(error),
        }
    }

    /// The next line out of several buffers, or its beginning where it is too long.
    fn next_gathered(&mut self) -> io::Result<Option<Line<'_>>> {
        self.text.clear();
        let read = self
            .input
            .by_ref()
            .take(LONGEST_LINE as u64 + 1)
            .read_until(self.end, &mut self.text)?;
        if read == 0 {
            return Ok(None);
        }
        self.number += 1;
        let is_whole = self.text.last() == Some(&self.end);
        self.in_long_line = !is_whole && read > LONGEST_LINE;
        let text = without_ends(&self.text, self.end, self.number);
        Ok(Some(Line { number: self.number, text, is_cut: self.in_long_line }))
    }
}

fn without_ends(text: &[u8], end: u8, number: u64) -> &[u8] {
    let mut text = text.strip_suffix(&[end]).unwrap_or(text);
    while let Some(shorter) = text.strip_suffix(b"\r") {
        text = shorter;
    }
    if number == 1 { text.strip_prefix(UTF8_MARK).unwrap_or(text) } else { text }
}

/// CR where the first line ends in one that no LF follows, else LF; `None` where `start` does not
/// show it.
fn end_of_lines(start: &[u8]) -> Option<u8> {
    let first = start.iter().position(|byte| matches!(byte, b'\r' | b'\n'))?;
    let after = start[first..].iter().find(|byte| **byte != b'\r')?;
    let is_cr = start[first] == b'\r' && *after != b'\n';
    Some(if is_cr { b'\r' } else { b'\n' })
}

/// The first characters of `text` for a message: one line, safe for a terminal, three dots where it
/// was cut.
pub(super) fn excerpt(text: &[u8]) -> String {
    const LONGEST: usize = 32;
    // A character is at most 4 bytes long, and one more character shows that there is more.
    let beginning = &text[..text.len().min(4 * (LONGEST + 1))];
    let readable = String::from_utf8_lossy(beginning);
    let mut characters = readable
        .trim()
        .chars()
        .map(|c| if c.is_control() { char::REPLACEMENT_CHARACTER } else { c });
    let mut shown: String = characters.by_ref().take(LONGEST).collect();
    if characters.next().is_some() {
        shown.push_str("...");
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trace::testing::seeded;
    use proptest::prelude::*;
    use std::io::{BufReader, Cursor};

    fn read(bytes: &[u8]) -> Vec<(u64, Vec<u8>, bool)> {
        read_from(Box::new(Cursor::new(bytes.to_vec())))
    }

    fn read_from(input: Box<dyn BufRead>) -> Vec<(u64, Vec<u8>, bool)> {
        let mut lines = Lines::new(input).expect("memory can be read");
        let mut all = Vec::new();
        while let Some(line) = lines.next().expect("memory can be read") {
            all.push((line.number, line.text.to_vec(), line.is_cut));
        }
        all
    }

    #[test]
    fn line_ends_and_the_utf8_mark_are_taken_off() {
        let expected =
            [(1, b"a".to_vec(), false), (2, b"".to_vec(), false), (3, b"b\rc".to_vec(), false)];
        assert_eq!(read(b"\xEF\xBB\xBFa\r\n\nb\rc"), expected);
        assert_eq!(read(b""), []);
    }

    #[test]
    fn lines_may_end_in_cr_alone_or_in_more_than_one() {
        let lines =
            |bytes: &[u8]| read(bytes).into_iter().map(|(_, text, _)| text).collect::<Vec<_>>();
        assert_eq!(lines(b"a\rb\rc"), [b"a", b"b", b"c"]);
        assert_eq!(lines(b"a\rb\r"), [b"a", b"b"]);
        assert_eq!(lines(b"a\r\r\nb\r\r\n"), [b"a", b"b"]);
    }

    #[test]
    fn a_line_of_the_longest_length_is_whole_and_one_byte_more_is_cut() {
        for ending in [&b"\nend\n"[..], b""] {
            let longest = [vec![b'x'; LONGEST_LINE], ending.to_vec()].concat();
            assert_eq!(read(&longest)[0], (1, vec![b'x'; LONGEST_LINE], false));
        }
        let longer = [vec![b'x'; 3 * LONGEST_LINE], b"\nend\n".to_vec()].concat();
        let lines = read(&longer);
        assert_eq!((lines[0].0, lines[0].2), (1, true));
        assert_eq!(lines[1], (2, b"end".to_vec(), false));
    }

    /// Gives a byte at a time, and is interrupted before each.
    struct Slow(Cursor<Vec<u8>>, bool);

    impl Read for Slow {
        fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
            self.1 = !self.1;
            if self.1 && self.0.position() > 0 {
                return Err(io::ErrorKind::Interrupted.into());
            }
            let room = buffer.len().min(1);
            self.0.read(&mut buffer[..room])
        }
    }

    proptest! {
        #![proptest_config(seeded())]

        #[test]
        fn lines_do_not_depend_on_how_the_bytes_come(
            pieces in proptest::collection::vec(
                prop_oneof![
                    Just("\n"), Just("\r\n"), Just("\r"), Just("1,2"), Just("\u{feff}"),
                ],
                0..60,
            ),
            capacity in 1_usize..40,
        ) {
            let bytes = pieces.concat().into_bytes();
            let few = BufReader::with_capacity(capacity + 1, Cursor::new(bytes.clone()));
            let slow = BufReader::new(Slow(Cursor::new(bytes.clone()), true));
            let whole = read(&bytes);
            prop_assert_eq!(&read_from(Box::new(few)), &whole);
            prop_assert_eq!(&read_from(Box::new(slow)), &whole);
        }
    }

    #[test]
    fn an_endless_line_costs_no_memory_and_is_judged_by_its_beginning() {
        let input = Box::new(io::BufReader::new(io::repeat(b'B')));
        let mut lines = Lines::new(input).expect("it can be read");
        let line = lines.next().expect("it can be read").expect("there is a line");
        assert!(line.is_cut);
        assert!(line.text.len() <= LONGEST_LINE + 1);
        assert!(lines.text.capacity() <= 4 * LONGEST_LINE);
    }

    #[test]
    fn an_excerpt_is_one_short_harmless_line() {
        assert_eq!(excerpt(b" 12a "), "12a");
        assert_eq!(excerpt(b"a\x1b[2J"), "a\u{FFFD}[2J");
        assert_eq!(excerpt(&[b'x'; 1000]), format!("{}...", "x".repeat(32)));
        assert_eq!(excerpt(&[0xFC; 1000]), format!("{}...", "\u{FFFD}".repeat(32)));
        assert_eq!(excerpt("\u{1D11E}".repeat(32).as_bytes()), "\u{1D11E}".repeat(32));
    }
}
