//! Traces in: a file or a stream becomes samples, one at a time, and a count of what could not be
//! used.
//!
//! Two formats, told apart by the file's ending or its first line: CSV ([`csv`]) and the FAI's IGC
//! flight log ([`igc`]); both also compressed by gzip and in UTF-16. Memory does not grow with the
//! length of a trace, nor with that of a line; only rows that are not in the order of time are held
//! together, and no more than a million of them.

pub mod arrays;
mod calendar;
mod clock;
mod column;
pub mod columns;
pub mod csv;
mod feed;
mod first;
mod foreign;
mod guess;
mod header;
pub mod igc;
mod inertial;
mod item;
mod layout;
mod lines;
mod missing;
mod motion;
mod names;
mod number;
mod order;
mod position;
mod required;
mod row;
mod sorted;
mod spread;
mod start;
mod suffice;
#[cfg(test)]
pub(crate) mod testing;
mod too_fast;
mod unit;
mod unreadable;
mod utf16;

#[cfg(feature = "program")]
pub(crate) use calendar::name_of_day;
pub use item::{Item, Skipped, Trace};
pub use position::Position;

use crate::error::{Error, Result};
use std::io::BufRead;

/// Opens a trace read from `input`; `name` is the user's name for it, for messages.
///
/// # Errors
/// A header that cannot be used, an empty trace, another kind of file, or a disk that cannot be
/// read.
pub fn open(
    name: &str,
    input: Box<dyn BufRead>,
    columns: &columns::ColumnMap,
) -> Result<Box<dyn Trace>> {
    let (input, is_igc) = judged(name, input)?;
    if is_igc {
        Ok(Box::new(igc::IgcTrace::open(name, input)?))
    } else {
        Ok(Box::new(csv::CsvTrace::open(name, input, columns)?))
    }
}

/// The names of a CSV's columns, for whoever is to choose among them; none of an IGC log.
///
/// # Errors
/// No header, another kind of file, or a disk that cannot be read.
pub fn column_names(name: &str, input: Box<dyn BufRead>) -> Result<Vec<String>> {
    let (input, is_igc) = judged(name, input)?;
    if is_igc { Ok(Vec::new()) } else { csv::column_names(name, input) }
}

/// No fewer than the lines of a trace, by counting the bytes that may end one.
///
/// # Errors
/// A disk that cannot be read.
pub fn lines_at_most(name: &str, input: Box<dyn BufRead>) -> Result<u64> {
    let cannot = |source| Error::io("cannot read", name, source);
    let (mut input, mut lines) = (text_of(name, input)?, 1);
    loop {
        let bytes = input.fill_buf().map_err(cannot)?;
        if bytes.is_empty() {
            return Ok(lines);
        }
        lines += bytes.iter().filter(|byte| matches!(byte, b'\n' | b'\r')).count() as u64;
        let read = bytes.len();
        input.consume(read);
    }
}

/// The text of a trace, and whether it is an IGC log.
fn judged(name: &str, input: Box<dyn BufRead>) -> Result<(Box<dyn BufRead>, bool)> {
    let cannot = |source| Error::io("cannot read", name, source);
    let is_clear = |start: &[u8]| igc::is_clear(name, start);
    let mut input = start::gathered(text_of(name, input)?, is_clear).map_err(cannot)?;
    let is_igc = igc::looks_like_igc(name, start::of(input.as_mut()).map_err(cannot)?);
    Ok((input, is_igc))
}

/// Unpacked, and in UTF-8.
fn text_of(name: &str, input: Box<dyn BufRead>) -> Result<Box<dyn BufRead>> {
    let cannot = |source| Error::io("cannot read", name, source);
    let input = foreign::unpacked(name, input)?;
    let is_enough = |start: &[u8]| start.len() >= utf16::NEEDED;
    let mut input = start::gathered(input, is_enough).map_err(cannot)?;
    Ok(match utf16::order_of(start::of(input.as_mut()).map_err(cannot)?) {
        Some(order) => Box::new(utf16::Utf16::new(input, order)),
        None => input,
    })
}

#[cfg(test)]
mod tests;
