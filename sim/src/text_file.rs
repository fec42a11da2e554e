//! Texts that are read whole: settings, scenarios. They are short; what is not is none of them.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

/// The most that is read, in bytes: a thousand times the longest settings file.
pub const MOST_BYTES: u64 = 1 << 20;

/// The text of the file at `path`.
///
/// # Errors
/// It cannot be read, is not text ([`io::ErrorKind::InvalidData`]), or is longer than
/// [`MOST_BYTES`] or has no end ([`io::ErrorKind::FileTooLarge`]).
pub fn read(path: &Path) -> io::Result<String> {
    let mut bytes = Vec::new();
    File::open(path)?.take(MOST_BYTES + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(io::Error::from(io::ErrorKind::FileTooLarge));
    }
    String::from_utf8(bytes).map_err(|_| io::Error::from(io::ErrorKind::InvalidData))
}
