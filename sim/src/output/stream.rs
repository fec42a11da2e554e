//! A stream that is written in large pieces, and emptied by whoever is about to wait.

use crate::waiting::Waiting;
use std::cell::RefCell;
use std::io::{self, BufWriter, Write};
use std::rc::Rc;

/// Standard output, a pipe or a device behind a buffer.
pub(super) struct Stream(Rc<RefCell<Buffered>>);

struct Buffered {
    buffer: BufWriter<Box<dyn Write>>,
    /// Why it could not be emptied; told to the next who writes.
    failed: Option<io::Error>,
}

impl Stream {
    /// Pieces of `size` bytes.
    pub fn new(size: usize, stream: Box<dyn Write>) -> Self {
        let buffer = BufWriter::with_capacity(size, stream);
        Self(Rc::new(RefCell::new(Buffered { buffer, failed: None })))
    }

    /// Empties the buffer whenever `waiting` begins.
    pub fn empty_before(&self, waiting: &Waiting) {
        let shared = Rc::clone(&self.0);
        waiting.add(move || {
            let mut stream = shared.borrow_mut();
            if let Err(error) = stream.buffer.flush() {
                stream.failed.get_or_insert(error);
            }
        });
    }
}

impl Write for Stream {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let mut stream = self.0.borrow_mut();
        stream.failed.take().map_or(Ok(()), Err)?;
        stream.buffer.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        let mut stream = self.0.borrow_mut();
        stream.failed.take().map_or(Ok(()), Err)?;
        stream.buffer.flush()
    }
}
