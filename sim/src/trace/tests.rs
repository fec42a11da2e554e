//! Files of every wrapping through the one way in.

use super::columns::ColumnMap;
use super::testing::seeded;
use super::*;
use proptest::prelude::*;
use std::collections::VecDeque;
use std::io::{BufReader, Cursor, Read};

/// Format, and time and pressure of every sample.
fn read(name: &str, bytes: Vec<u8>) -> (&'static str, Vec<(i64, f32)>) {
    let mut trace = open(name, Box::new(Cursor::new(bytes)), &ColumnMap::default()).expect("read");
    let mut samples = Vec::new();
    while let Some(item) = trace.next() {
        if let Item::Sample { sample, .. } = item.expect("memory can be read") {
            samples.push((sample.time.0, sample.static_pressure.map_or(0.0, |p| p.0)));
        }
    }
    (trace.format(), samples)
}

const CSV: &str = "time_s,static_pa\n0.00,90000.00\n0.02,90000.25\n";
const SAMPLES: [(i64, f32); 2] = [(0, 90_000.0), (20_000, 90_000.25)];
const IGC: &str = "AXXX001\r\nHFDTE150724\r\nB1200005206000N01320000EA0100001000\r\n\
                   B1200015206000N01320000EA0100001000\r\n";

fn utf16(text: &str, bytes: impl Fn(u16) -> [u8; 2]) -> Vec<u8> {
    text.encode_utf16().flat_map(bytes).collect()
}

#[test]
fn utf16_is_read_in_both_orders_with_a_mark_and_without() {
    for mark in ["", "\u{feff}"] {
        let text = format!("{mark}{CSV}");
        assert_eq!(read("a.csv", utf16(&text, u16::to_le_bytes)), ("csv", SAMPLES.to_vec()));
        assert_eq!(read("a.csv", utf16(&text, u16::to_be_bytes)), ("csv", SAMPLES.to_vec()));
        let (format, fixes) = read("-", utf16(&format!("{mark}{IGC}"), u16::to_le_bytes));
        assert_eq!((format, fixes.len()), ("igc", 2));
    }
}

#[test]
fn lines_may_end_in_cr_alone() {
    let cr = |text: &str| text.replace("\r\n", "\n").replace('\n', "\r").into_bytes();
    assert_eq!(read("a.csv", cr(CSV)), ("csv", SAMPLES.to_vec()));
    let (format, fixes) = read("a.igc", cr(IGC));
    assert_eq!((format, fixes.len()), ("igc", 2));
}

/// A pipe whose writer sends pieces; a signal comes before each.
struct Pieces {
    pieces: VecDeque<Vec<u8>>,
    is_signalled: bool,
}

impl Pieces {
    /// Cut where `sizes` say, again and again; the buffer is as large as that of a file.
    fn of(mut bytes: &[u8], sizes: &[usize]) -> Box<dyn BufRead> {
        let mut pieces = VecDeque::new();
        for size in sizes.iter().cycle() {
            let (piece, rest) = bytes.split_at((*size).min(bytes.len()));
            pieces.push_back(piece.to_vec());
            bytes = rest;
            if rest.is_empty() {
                break;
            }
        }
        Box::new(BufReader::with_capacity(1 << 17, Self { pieces, is_signalled: false }))
    }
}

impl Read for Pieces {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        self.is_signalled = !self.is_signalled;
        if self.is_signalled {
            return Err(std::io::ErrorKind::Interrupted.into());
        }
        let Some(mut piece) = self.pieces.pop_front() else { return Ok(0) };
        let count = piece.len().min(buffer.len());
        buffer[..count].copy_from_slice(&piece[..count]);
        if count < piece.len() {
            self.pieces.push_front(piece.split_off(count));
        }
        Ok(count)
    }
}

/// All that a trace says, or why it is refused or ends. How much of a damaged file is unpacked
/// before the damage is seen may depend on the pieces.
fn all_of(name: &str, input: Box<dyn BufRead>) -> String {
    let mut trace = match open(name, input, &ColumnMap::default()) {
        Ok(trace) => trace,
        Err(refused) => return refused.to_string(),
    };
    let items: Result<Vec<_>> = std::iter::from_fn(|| trace.next()).collect();
    let items = match items {
        Ok(items) => items,
        Err(failed) => return failed.to_string(),
    };
    format!("{} {:?} {items:?} {:?}", trace.format(), trace.utc_start_s(), trace.notes())
}

/// Files of every kind, a few lines each.
fn files() -> Vec<Vec<u8>> {
    let text = |text: &str| text.as_bytes().to_vec();
    let crs = |text: &str| text.replace("\r\n", "\n").replace('\n', "\r").into_bytes();
    let long = format!("time_s,static_pa\n0,{}\n1,90000\n", "9".repeat(70_000));
    let mut files = vec![
        text(CSV),
        text(IGC),
        crs(CSV),
        crs(IGC),
        text(&CSV.replace('\n', "\r\n")),
        text(&CSV.replace('\n', "\r\r\n")),
        text(&format!("\u{feff}# from a log\n\n{CSV}")),
        text(&format!("\u{feff}{IGC}")),
        text(&format!("\r\n\r\nan odd line\r\n{IGC}")),
        text(&format!("Time,Pressure\n{IGC}")),
        text("Seconds;Pressure hPa\n0,0;900,00\n0,5;900,01\n"),
        text(&long),
        utf16(CSV, u16::to_le_bytes),
        utf16(IGC, u16::to_be_bytes),
        b"ULog\x01\x12\x35\x01 and what follows".to_vec(),
        b"BZh91AY&SY".to_vec(),
        vec![],
        text("A"),
        text("\r"),
    ];
    #[cfg(feature = "replay")]
    files.extend([CSV, IGC].map(|text| gzip::packed(text.as_bytes())));
    #[cfg(feature = "replay")]
    files.push(gzip::packed(&utf16(CSV, u16::to_le_bytes)));
    files
}

#[test]
fn a_pipe_that_gives_a_byte_at_a_time_is_read_as_a_file() {
    for file in files() {
        for name in ["standard input", "a.csv", "a.igc"] {
            let whole = all_of(name, Box::new(Cursor::new(file.clone())));
            let shown = String::from_utf8_lossy(&file[..file.len().min(60)]).into_owned();
            assert_eq!(all_of(name, Pieces::of(&file, &[1])), whole, "{name}: {shown}");
        }
    }
}

proptest! {
    #![proptest_config(seeded())]

    #[test]
    fn no_split_of_the_bytes_changes_what_is_read(
        which in 0_usize..64,
        sizes in proptest::collection::vec(1_usize..50, 1..8),
        damage in proptest::collection::vec((any::<usize>(), any::<u8>()), 0..3),
    ) {
        let files = files();
        let mut file = files[which % files.len()].clone();
        for (place, byte) in damage {
            let length = file.len();
            file.get_mut(place % length.max(1)).into_iter().for_each(|old| *old = byte);
        }
        let whole = all_of("standard input", Box::new(Cursor::new(file.clone())));
        prop_assert_eq!(all_of("standard input", Pieces::of(&file, &sizes)), whole);
    }
}

/// Lines by RFC 4180, in which a quoted field may hold a line end, and those of the other systems.
#[test]
fn lines_at_most_are_never_fewer_than_those_of_the_file() {
    let count = |bytes: &[u8]| lines_at_most("a.csv", Box::new(Cursor::new(bytes.to_vec())));
    for (text, lines) in [
        ("", 0),
        ("a", 1),
        ("a\n", 1),
        ("a\nb", 2),
        ("a\r\nb\r\n", 2),
        ("a\rb\rc", 3),
        ("\"a\nb\",c\n", 1),
        ("a\r\r\nb", 2),
        ("\n\n\n", 3),
    ] {
        let most = count(text.as_bytes()).expect("memory can be read");
        assert!(most >= lines, "{text:?}: {most} of {lines}");
        assert!(most <= 1 + text.len() as u64, "{text:?}: {most}");
        let wide = count(&utf16(&format!("\u{feff}{text}"), u16::to_le_bytes));
        assert_eq!(wide.expect("memory can be read"), most, "{text:?} in UTF-16");
        #[cfg(feature = "replay")]
        assert_eq!(count(&gzip::packed(text.as_bytes())).expect("it is whole"), most, "{text:?}");
    }
    // Exactly those that end, and the one behind the last end.
    assert_eq!(count(b"a\nb\nc\n").expect("memory can be read"), 4);
}

proptest! {
    #![proptest_config(seeded())]

    #[test]
    fn no_file_has_more_lines_than_are_counted(
        pieces in proptest::collection::vec(
            prop_oneof![Just("\n"), Just("\r\n"), Just("\r"), Just("1,\"2"), Just("\",3")],
            0..40,
        ),
    ) {
        let bytes = pieces.concat().into_bytes();
        let most = lines_at_most("a", Box::new(Cursor::new(bytes.clone()))).expect("read");
        let mut lines = lines::Lines::new(Box::new(Cursor::new(bytes))).expect("read");
        let mut found = 0;
        while lines.next().expect("read").is_some() {
            found += 1;
        }
        prop_assert!(found <= most, "{} of {}", most, found);
    }
}

#[cfg(feature = "replay")]
mod gzip {
    use super::*;
    use flate2::Compression;
    use flate2::write::GzEncoder;
    use std::io::Write;

    pub fn packed(text: &[u8]) -> Vec<u8> {
        let mut packer = GzEncoder::new(Vec::new(), Compression::fast());
        packer.write_all(text).expect("memory is enough");
        packer.finish().expect("memory is enough")
    }

    #[test]
    fn what_gzip_compressed_is_read_as_what_it_holds() {
        assert_eq!(read("a.csv.gz", packed(CSV.as_bytes())), ("csv", SAMPLES.to_vec()));
        let wide = packed(&utf16(CSV, u16::to_le_bytes));
        assert_eq!(read("a.csv.gz", wide), ("csv", SAMPLES.to_vec()));
        let (format, fixes) = read("a.igc.gz", packed(IGC.as_bytes()));
        assert_eq!((format, fixes.len()), ("igc", 2));
    }

    #[test]
    fn a_line_of_megabytes_in_a_small_file_is_refused() {
        let mut packer = GzEncoder::new(Vec::new(), Compression::best());
        let block = vec![b'0'; 1 << 20];
        for _ in 0..16 {
            packer.write_all(&block).expect("memory is enough");
        }
        let bomb = packer.finish().expect("memory is enough");
        assert!(bomb.len() < 1 << 16);
        let refused = open("a.gz", Box::new(Cursor::new(bomb)), &ColumnMap::default());
        let said = refused.err().expect("it is refused").to_string();
        assert!(said.contains("a line longer than 64 KiB"), "{said}");
    }
}
