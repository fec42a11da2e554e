//! The first rows of a CSV, held back until it is clear what they mean: how numbers are written,
//! which unit a column has, whether the rows are in the order of time.

use super::lines::{LONGEST_LINE, Line, Lines};
use super::number::Style;
use super::row::Row;
use std::collections::VecDeque;
use std::io;

/// As many rows are looked at before anything is decided (a guess).
const MOST: usize = 64;
/// And as many bytes of them.
const MOST_BYTES: usize = 4 * LONGEST_LINE;

/// A row that waits.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Waiting {
    /// Line in the file, the first being 1.
    pub number: u64,
    /// Without its end.
    pub text: Vec<u8>,
    /// Whether only its beginning is here.
    pub is_cut: bool,
}

impl Waiting {
    /// A copy of a line.
    pub fn of(line: &Line<'_>) -> Self {
        Self { number: line.number, text: line.text.to_vec(), is_cut: line.is_cut }
    }

    /// The line.
    pub fn line(&self) -> Line<'_> {
        Line { number: self.number, text: &self.text, is_cut: self.is_cut }
    }
}

/// The first rows.
#[derive(Default)]
pub(super) struct First {
    /// In the order of the file.
    pub rows: VecDeque<Waiting>,
    /// What ended them before their time, to be told behind them.
    pub failed: Option<io::Error>,
    delimiter: u8,
}

impl First {
    /// Reads on to the last of the first rows, or until `are_clear` says that they suffice.
    pub fn read(
        lines: &mut Lines,
        delimiter: u8,
        before: Option<Waiting>,
        mut are_clear: impl FnMut(&Waiting) -> bool,
    ) -> Self {
        let mut first = Self { rows: before.into_iter().collect(), failed: None, delimiter };
        let mut bytes = 0;
        while first.rows.len() < MOST && bytes < MOST_BYTES {
            let line = match lines.next() {
                Ok(Some(line)) => line,
                Ok(None) => break,
                Err(error) => {
                    first.failed = Some(error);
                    break;
                }
            };
            if is_passed_over(line.text) {
                continue;
            }
            bytes += line.text.len();
            let row = Waiting::of(&line);
            let suffice = are_clear(&row);
            first.rows.push_back(row);
            if suffice {
                break;
            }
        }
        first
    }

    /// The fields of a column that are not empty, each with its line.
    pub fn column(&self, index: usize) -> Vec<(u64, Vec<u8>)> {
        let mut row = Row::new(self.delimiter);
        let mut cells = Vec::new();
        for waiting in self.rows.iter().filter(|waiting| !waiting.is_cut) {
            row.split(&waiting.text);
            if let Some(field) = row.field(index).filter(|field| !field.is_empty()) {
                cells.push((waiting.number, field.to_vec()));
            }
        }
        cells
    }

    /// How the numbers are written.
    pub fn style(&self) -> Style {
        let mut row = Row::new(self.delimiter);
        let mut cells: Vec<Vec<u8>> = Vec::new();
        for waiting in self.rows.iter().filter(|waiting| !waiting.is_cut) {
            row.split(&waiting.text);
            let marked =
                row.fields().filter(|field| field.iter().any(|b| matches!(b, b'.' | b',')));
            cells.extend(marked.filter(|field| field.len() < 64).map(<[u8]>::to_vec));
        }
        Style::of(cells.iter().map(Vec::as_slice))
    }
}

/// Whether a line is blank or a comment.
pub(super) fn is_passed_over(line: &[u8]) -> bool {
    matches!(line.trim_ascii_start().first(), None | Some(b'#'))
}
