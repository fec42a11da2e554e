//! What a file's first bytes show before it is read as text: compressed by gzip, or a log of
//! another kind, which is answered with what to do.

use super::start;
use crate::error::{Complaint, Error, Result};
use std::io::BufRead;
#[cfg(feature = "replay")]
use std::io::{self, BufReader, Read};

/// The kinds are told apart by so many bytes.
const NEEDED: usize = 16;
/// Where the book says how other logs become a CSV.
const BOOK: &str = "make a CSV of it first; the book's page \"Logs of other instruments\" has \
                    the lines of Python";
const UNPACK: &str = "unpack it first, or compress it with gzip";

/// How a kind of file begins, what it is, and what to do. The beginnings are those of the formats'
/// published descriptions (PX4 user guide, "ULog File Format"; MAVLink guide, "Packet
/// Serialization"; ArduPilot's DataFlash messages; PKWARE's APPNOTE; the manuals of the packers),
/// from memory.
const KINDS: [(&[u8], &str, &str); 9] = [
    (b"ULog\x01\x12\x35", "a PX4 ULog flight log", BOOK),
    (b"\xA3\x95\x80", "an ArduPilot DataFlash log", BOOK),
    (
        b"PK\x03\x04",
        "a zip archive or a spreadsheet's own file",
        "unpack it, or save the sheet as CSV",
    ),
    (b"\xD0\xCF\x11\xE0", "a spreadsheet's own file", "save the sheet as CSV"),
    (b"BZh", "a file compressed by bzip2", UNPACK),
    (b"\xFD7zXZ\0", "a file compressed by xz", UNPACK),
    (b"\x28\xB5\x2F\xFD", "a file compressed by zstd", UNPACK),
    (b"7z\xBC\xAF\x27\x1C", "a 7-Zip archive", UNPACK),
    (b"SQLite format 3\0", "an SQLite database", "export its table as CSV"),
];

/// `input` as it is, or unpacked where gzip has compressed it.
///
/// # Errors
/// A log of a kind that is not read, or a disk that cannot be read.
pub(super) fn unpacked(name: &str, input: Box<dyn BufRead>) -> Result<Box<dyn BufRead>> {
    let cannot = |source| Error::io("cannot read", name, source);
    let mut input = start::gathered(input, |start| start.len() >= NEEDED).map_err(cannot)?;
    let start = start::of(input.as_mut()).map_err(cannot)?;
    if let Some((_, found, hint)) = KINDS.iter().find(|(begin, ..)| start.starts_with(begin)) {
        return Err(other(name, found, hint));
    }
    if is_telemetry(start) {
        return Err(other(name, "a MAVLink telemetry log", BOOK));
    }
    if start.starts_with(b"\x1F\x8B") { gzip(name, input) } else { Ok(input) }
}

/// Whether a MAVLink packet follows a time stamp of eight bytes, the high one first, in
/// microseconds from 1970 between 2001 and 2106.
fn is_telemetry(start: &[u8]) -> bool {
    let Some((stamp, [mark, ..])) = start.split_first_chunk::<8>() else { return false };
    let micros = u64::from_be_bytes(*stamp);
    matches!(mark, 0xFE | 0xFD) && (1_000_000_000_000_000..=4_294_967_296_000_000).contains(&micros)
}

fn other(name: &str, found: &str, hint: &str) -> Error {
    Error::from(Complaint {
        file: name.into(),
        line: None,
        column: None,
        found: found.into(),
        expected: "a CSV or an IGC flight log".into(),
        hint: Some(hint.into()),
    })
}

#[cfg(feature = "replay")]
fn gzip(_name: &str, input: Box<dyn BufRead>) -> Result<Box<dyn BufRead>> {
    let unpacked = Unpacked(flate2::bufread::MultiGzDecoder::new(input));
    Ok(Box::new(BufReader::with_capacity(1 << 16, unpacked)))
}

/// The page has no use for it and stays small.
#[cfg(not(feature = "replay"))]
fn gzip(name: &str, _input: Box<dyn BufRead>) -> Result<Box<dyn BufRead>> {
    Err(other(name, "a file compressed by gzip", "unpack it first"))
}

/// Damage in plain words.
#[cfg(feature = "replay")]
struct Unpacked<R>(R);

#[cfg(feature = "replay")]
impl<R: Read> Read for Unpacked<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        self.0.read(buffer).map_err(|source| match source.kind() {
            io::ErrorKind::UnexpectedEof
            | io::ErrorKind::InvalidInput
            | io::ErrorKind::InvalidData => {
                io::Error::other("what gzip compressed is damaged or cut short")
            }
            _ => source,
        })
    }
}

#[cfg(all(test, feature = "replay"))]
mod tests {
    use super::*;
    use flate2::Compression;
    use flate2::write::GzEncoder;
    use std::io::{Cursor, Write};

    fn packed(text: &[u8]) -> Vec<u8> {
        let mut packer = GzEncoder::new(Vec::new(), Compression::default());
        packer.write_all(text).expect("memory is enough");
        packer.finish().expect("memory is enough")
    }

    fn read(bytes: Vec<u8>) -> Result<Vec<u8>> {
        let mut all = Vec::new();
        let mut input = unpacked("log", Box::new(Cursor::new(bytes)))?;
        input.read_to_end(&mut all).map_err(|source| Error::io("cannot read", "log", source))?;
        Ok(all)
    }

    fn complaint(bytes: &[u8]) -> String {
        read(bytes.to_vec()).expect_err("it is refused").to_string()
    }

    #[test]
    fn what_gzip_compressed_is_unpacked_and_all_else_left_alone() {
        let text = b"time_s,static_pa\n0,90000\n".repeat(100);
        assert_eq!(read(packed(&text)).expect("it is whole"), text);
        let twice = [packed(&text), packed(b"1,90001\n")].concat();
        assert_eq!(read(twice).expect("it is whole"), [&text[..], b"1,90001\n"].concat());
        for plain in [&b""[..], b"t", b"time_s,static_pa\n0,90000\n"] {
            assert_eq!(read(plain.to_vec()).expect("it is plain"), plain);
        }
    }

    #[test]
    fn damage_is_one_line() {
        let whole = packed(&b"time_s,static_pa\n0,90000\n".repeat(100));
        let expected = "cannot read log: what gzip compressed is damaged or cut short";
        assert_eq!(complaint(&whole[..whole.len() / 2]), expected);
        assert_eq!(complaint(b"\x1f\x8b\x08 no such thing as this"), expected);
    }

    #[test]
    fn logs_of_other_kinds_are_named_with_what_to_do() {
        let tail = [0_u8; 20];
        let of = |begin: &[u8]| complaint(&[begin, &tail].concat());
        let book = "make a CSV of it first; the book's page \"Logs of other instruments\" has \
                    the lines of Python";
        let expected = "expected a CSV or an IGC flight log";
        assert_eq!(
            of(b"ULog\x01\x12\x35\x01"),
            format!("log: found a PX4 ULog flight log, {expected}; {book}")
        );
        assert!(of(b"\xA3\x95\x80\x80").contains("an ArduPilot DataFlash log"));
        let stamp = 1_721_044_800_000_000_u64.to_be_bytes();
        assert!(of(&[&stamp[..], &[0xFD]].concat()).contains("a MAVLink telemetry log"));
        assert!(of(b"PK\x03\x04").ends_with("unpack it, or save the sheet as CSV"));
    }
}
