//! All rows of a CSV that is not in the order of time, in that order. Memory is bounded: a file
//! with more rows is refused.

use super::clock::Clock;
use super::first::{Waiting, is_passed_over};
use super::lines::{Line, Lines};
use super::row::Row;
use crate::error::{Complaint, Error, Result};
use std::collections::VecDeque;

/// As many rows are sorted (a guess: five hours and a half at 50 Hz).
pub(super) const MOST_ROWS: usize = 1_000_000;
/// And as many bytes of them.
const MOST_BYTES: usize = 64 * 1024 * 1024;

/// The rows, as bytes behind one another.
pub(super) struct Sorted {
    text: Vec<u8>,
    rows: Vec<Entry>,
    next: usize,
}

/// A row, in few bytes: there may be a million.
struct Entry {
    moment_us: i64,
    line: u64,
    start: u32,
    /// With its highest bit where the line is cut.
    length: u32,
}

const CUT: u32 = 1 << 31;

impl Entry {
    fn text(&self) -> std::ops::Range<usize> {
        let start = self.start as usize;
        start..start + (self.length & !CUT) as usize
    }
}

impl Sorted {
    /// Reads all of `lines` behind the rows of `first` and sorts them. `time` is the column of the
    /// time.
    ///
    /// # Errors
    /// More rows than are sorted, or a disk that cannot be read.
    pub fn read(
        file: &str,
        (first, lines): (VecDeque<Waiting>, &mut Lines),
        (clock, row, time): (&Clock, &mut Row, usize),
        is_reversed: bool,
    ) -> Result<Self> {
        let mut sorted = Self { text: Vec::new(), rows: Vec::new(), next: 0 };
        for waiting in first {
            sorted.push(file, &waiting.line())?;
        }
        while let Some(line) = lines.next().map_err(|e| Error::io("cannot read", file, e))? {
            if !is_passed_over(line.text) {
                sorted.push(file, &line)?;
            }
        }
        if is_reversed {
            sorted.rows.reverse();
        }
        sorted.sort(clock.clone(), row, time);
        Ok(sorted)
    }

    fn push(&mut self, file: &str, line: &Line<'_>) -> Result<()> {
        if self.rows.len() >= MOST_ROWS || self.text.len() + line.text.len() > MOST_BYTES {
            return Err(too_many(file, line.number).into());
        }
        let cut = if line.is_cut { CUT } else { 0 };
        let (start, length) = (self.text.len() as u32, line.text.len() as u32 | cut);
        self.text.extend_from_slice(line.text);
        self.rows.push(Entry { moment_us: 0, line: line.number, start, length });
        Ok(())
    }

    /// A row without a time stays behind the one before it.
    fn sort(&mut self, mut clock: Clock, row: &mut Row, time: usize) {
        let mut before = i64::MIN;
        for entry in &mut self.rows {
            row.split(&self.text[entry.text()]);
            before = row.field(time).and_then(|text| clock.read(text).ok()).unwrap_or(before);
            entry.moment_us = before;
        }
        self.rows.sort_by_key(|entry| entry.moment_us);
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// The next row.
    pub fn next(&mut self) -> Option<Line<'_>> {
        let entry = self.rows.get(self.next)?;
        self.next += 1;
        let is_cut = entry.length & CUT != 0;
        Some(Line { number: entry.line, text: &self.text[entry.text()], is_cut })
    }
}

fn too_many(file: &str, line: u64) -> Complaint {
    Complaint {
        file: file.into(),
        line: Some(line),
        column: None,
        found: format!("rows that are not in the order of time, and more than {MOST_ROWS} of them"),
        expected: "rows in the order of time, or fewer, which are sorted here".into(),
        hint: Some("sort the file by its time first, or cut it into pieces".into()),
    }
}
