//! A page: as many rows as fit 256 bytes, readable without any other page.
//!
//! ```text
//! byte 0  CRC-32 of all that follows   6  sequence, one more each page
//!      4  flags                       10  flight
//!      5  rows                        12  UTC less time_us, in us, if the flags say so
//!                                     then the rows' bits; what is left means nothing
//! ```
//!
//! Little-endian. The CRC begins with the number of the format, so that pages of another format are
//! none. A page that power was cut in has a wrong CRC and is no page.

use super::bits::{Reader, Writer};
use super::coder::Coder;
use super::row::{Numbers, Row};
use crate::log::Columns;
use crc::{CRC_32_ISO_HDLC, Crc};

/// Bytes of a page: what flash programs at once.
pub const SIZE: usize = 256;
const HEAD: usize = 12;
const CLOCK: usize = 8;
/// Raised when the bytes change their meaning.
const FORMAT: u32 = 2;
const CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// The first page of its flight.
pub const FIRST: u8 = 1;
/// The last page of its flight, which ended while the instrument was on.
pub const LAST: u8 = 1 << 1;
const HAS_CLOCK: u8 = 1 << 2;
/// The flight began in the air: it continues the one before.
pub const CONTINUES: u8 = 1 << 3;
/// Rows before this page were lost: flash did not take them in time, or had no room.
pub const GAP: u8 = 1 << 4;
const INERTIAL: u8 = 1 << 5;
const GROUND: u8 = 1 << 6;
/// Those that a page itself knows.
const OWN: u8 = HAS_CLOCK | INERTIAL | GROUND;

/// What a page says of itself.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Head {
    /// The page's number; pages that follow each other have numbers that do.
    pub sequence: u32,
    /// The number of its flight, from 1 on.
    pub flight: u16,
    /// [`FIRST`], [`LAST`], [`CONTINUES`], [`GAP`].
    pub flags: u8,
    /// The columns that the log had before its first row.
    pub columns: Columns,
    /// Rows in it.
    pub rows: u8,
    /// UTC in microseconds of Unix less `time_us`, where it was set or became known.
    pub clock_us: Option<i64>,
}

/// A page that is being filled.
#[derive(Clone, Debug)]
pub struct Page {
    bytes: [u8; SIZE],
    at: usize,
    head: Head,
    coder: Coder,
}

impl Default for Page {
    fn default() -> Self {
        let mut page =
            Self { bytes: [0; SIZE], at: 0, head: Head::default(), coder: Coder::default() };
        page.begin(None, Columns::default());
        page
    }
}

impl Page {
    /// Begins the next page, with what is known of the clock where it is to say so, and the columns
    /// that the log has.
    pub fn begin(&mut self, clock_us: Option<i64>, columns: Columns) {
        self.bytes = [0xFF; SIZE];
        self.head = Head { clock_us, columns, ..Head::default() };
        self.at = 8 * (HEAD + if clock_us.is_some() { CLOCK } else { 0 });
        self.coder.begin_page();
    }

    /// Adds a row; false where it does not fit, and the page is as before. An empty page has room
    /// for any row.
    pub fn push(&mut self, row: &Row) -> bool {
        let (before, numbers) = (self.coder.clone(), Numbers::from(row));
        let mut bits = Writer::new(&mut self.bytes, self.at);
        let rows = self.head.rows.checked_add(1);
        match (self.coder.carry(&mut bits, &numbers), rows) {
            (Some(_), Some(rows)) => {
                self.at = bits.at();
                self.head.rows = rows;
                true
            }
            _ => {
                self.coder = before;
                false
            }
        }
    }

    /// Whether it has no row.
    pub fn is_empty(&self) -> bool {
        self.head.rows == 0
    }

    /// Rows in it.
    pub fn rows(&self) -> u8 {
        self.head.rows
    }

    /// Its bytes, without sequence and flight; [`seal`] adds them.
    pub fn bytes(&self) -> [u8; SIZE] {
        let mut bytes = self.bytes;
        write(&mut bytes, &self.head);
        bytes
    }
}

/// Gives a page its place in the recorder.
pub fn seal(bytes: &mut [u8; SIZE], sequence: u32, flight: u16, flags: u8) {
    let Head { rows, columns, clock_us, .. } = read(bytes);
    write(bytes, &Head { sequence, flight, flags, columns, rows, clock_us });
}

fn write(bytes: &mut [u8; SIZE], head: &Head) {
    let there = |is_there, flag| if is_there { flag } else { 0 };
    let own = there(head.clock_us.is_some(), HAS_CLOCK)
        | there(head.columns.inertial, INERTIAL)
        | there(head.columns.ground, GROUND);
    let ours = [own | head.flags & !OWN, head.rows].into_iter();
    let ours = ours.chain(head.sequence.to_le_bytes()).chain(head.flight.to_le_bytes());
    let ours = ours.chain(head.clock_us.into_iter().flat_map(i64::to_le_bytes));
    let (crc, body) = bytes.split_at_mut(4);
    body.iter_mut().zip(ours).for_each(|(place, byte)| *place = byte);
    crc.copy_from_slice(&checksum(body).to_le_bytes());
}

fn checksum(body: &[u8]) -> u32 {
    let mut digest = CRC.digest_with_initial(FORMAT);
    digest.update(body);
    digest.finalize()
}

/// The head of a page; `None` for anything else.
pub fn head(bytes: &[u8; SIZE]) -> Option<Head> {
    let (crc, body) = bytes.split_first_chunk::<4>()?;
    (checksum(body) == u32::from_le_bytes(*crc)).then(|| read(bytes))
}

/// The head of a page that is known to be one.
pub fn read(bytes: &[u8; SIZE]) -> Head {
    let [_, _, _, _, flags, rows, s0, s1, s2, s3, f0, f1, rest @ ..] = bytes;
    let clock = rest.first_chunk().filter(|_| flags & HAS_CLOCK != 0);
    Head {
        sequence: u32::from_le_bytes([*s0, *s1, *s2, *s3]),
        flight: u16::from_le_bytes([*f0, *f1]),
        flags: flags & !OWN,
        columns: Columns { inertial: flags & INERTIAL != 0, ground: flags & GROUND != 0 },
        rows: *rows,
        clock_us: clock.map(|bytes| i64::from_le_bytes(*bytes)),
    }
}

/// The rows of a page, one after the other.
#[derive(Clone, Debug)]
pub struct Rows {
    at: usize,
    left: u8,
    coder: Coder,
}

impl Rows {
    /// Of a page with this head.
    pub fn of(head: &Head) -> Self {
        let at = 8 * (HEAD + if head.clock_us.is_some() { CLOCK } else { 0 });
        Self { at, left: head.rows, coder: Coder::default() }
    }

    /// The next row of the same page.
    pub fn next(&mut self, bytes: &[u8; SIZE]) -> Option<Row> {
        self.left = self.left.checked_sub(1)?;
        let mut bits = Reader::new(bytes, self.at);
        let numbers = self.coder.carry(&mut bits, &Numbers::default());
        self.at = bits.at();
        if numbers.is_none() {
            self.left = 0;
        }
        numbers.as_ref().map(Row::from)
    }
}
