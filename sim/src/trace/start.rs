//! The beginning of a stream, from which it is judged what the stream is: the same however its
//! bytes come.
//!
//! A pipe gives what its writer has written so far, which may be one byte. Reading goes on until
//! the beginning suffices for the judgement, and no further: a live instrument is not waited for
//! longer than it needs.

use std::io::{self, BufRead, BufReader, Read};

/// No judgement looks at more bytes.
pub(super) const MOST: usize = 64 * 1024;

/// `input` again, whose buffer now holds a beginning that `suffices`, or [`MOST`] bytes, or all.
///
/// A file, of which a buffer is full at once, is returned as it is.
///
/// # Errors
/// It cannot be read.
pub(super) fn gathered(
    mut input: Box<dyn BufRead>,
    suffices: impl Fn(&[u8]) -> bool,
) -> io::Result<Box<dyn BufRead>> {
    let is_enough = |bytes: &[u8]| bytes.len() >= MOST || suffices(bytes);
    if is_enough(buffered(input.as_mut())?) {
        return Ok(input);
    }
    let mut bytes = Vec::new();
    while !is_enough(&bytes) {
        let length = match buffered(input.as_mut()) {
            Ok(piece) => {
                bytes.extend_from_slice(piece);
                piece.len()
            }
            // Told behind what was read before it.
            Err(error) => {
                input = Box::new(BufReader::new(Failed(Some(error))));
                break;
            }
        };
        if length == 0 {
            // A terminal would wait for more after its end.
            input = Box::new(io::empty());
            break;
        }
        input.consume(length);
    }
    Ok(Box::new(Gathered { bytes, read: 0, input }))
}

/// What may be judged of an `input` that was [`gathered`].
///
/// # Errors
/// It cannot be read.
pub(super) fn of(input: &mut dyn BufRead) -> io::Result<&[u8]> {
    let bytes = buffered(input)?;
    Ok(&bytes[..bytes.len().min(MOST)])
}

/// What is in the buffer, filled where it was empty; a signal is no error.
fn buffered(input: &mut dyn BufRead) -> io::Result<&[u8]> {
    let length = loop {
        match input.fill_buf() {
            Ok(bytes) => break bytes.len(),
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    };
    // At the end a terminal would be read again.
    if length == 0 { Ok(&[]) } else { input.fill_buf() }
}

/// What is left of a stream that has failed.
struct Failed(Option<io::Error>);

impl Read for Failed {
    fn read(&mut self, _: &mut [u8]) -> io::Result<usize> {
        self.0.take().map_or(Ok(0), Err)
    }
}

/// A stream whose beginning is here.
struct Gathered {
    bytes: Vec<u8>,
    /// How many of them have been read.
    read: usize,
    input: Box<dyn BufRead>,
}

impl BufRead for Gathered {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.read < self.bytes.len() {
            return Ok(&self.bytes[self.read..]);
        }
        self.input.fill_buf()
    }

    fn consume(&mut self, count: usize) {
        if self.read < self.bytes.len() {
            self.read += count;
        } else {
            self.input.consume(count);
        }
    }
}

impl Read for Gathered {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let count = self.fill_buf()?.read(buffer)?;
        self.consume(count);
        Ok(count)
    }
}
