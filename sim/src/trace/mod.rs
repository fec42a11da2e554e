//! Traces in: a file or a stream becomes samples, one at a time, and a count of what could not be
//! used.
//!
//! Two formats, told apart by the file's ending or its first line: CSV ([`csv`]) and the FAI's IGC
//! flight log ([`igc`]). Memory does not grow with the length of a trace, nor with that of a line.

mod column;
pub mod columns;
pub mod csv;
mod header;
pub mod igc;
mod inertial;
mod item;
mod lines;
mod motion;
mod number;
mod position;
#[cfg(test)]
pub(crate) mod testing;
mod unit;
mod unreadable;

pub use item::{Item, Skipped, Trace};
pub use position::Position;

use crate::error::{Error, Result};
use std::io::BufRead;

/// Opens a trace read from `input`; `name` is the user's name for it, for messages.
///
/// # Errors
/// A header that cannot be used, an empty trace, or a disk that cannot be read.
pub fn open(
    name: &str,
    mut input: Box<dyn BufRead>,
    columns: &columns::ColumnMap,
) -> Result<Box<dyn Trace>> {
    let start = input.fill_buf().map_err(|source| Error::io("cannot read", name, source))?;
    if igc::looks_like_igc(name, start) {
        Ok(Box::new(igc::IgcTrace::open(name, input)?))
    } else {
        Ok(Box::new(csv::CsvTrace::open(name, input, columns)?))
    }
}
