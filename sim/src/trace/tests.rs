//! Files of every wrapping through the one way in.

use super::columns::ColumnMap;
use super::*;
use std::io::Cursor;

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

#[cfg(feature = "replay")]
mod gzip {
    use super::*;
    use flate2::Compression;
    use flate2::write::GzEncoder;
    use std::io::Write;

    fn packed(text: &[u8]) -> Vec<u8> {
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
