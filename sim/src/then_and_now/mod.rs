//! One minute straight on in gusts, as a former filter was heard and as the present one is: the
//! picture in README.md.
//!
//! A former filter cannot be run again, so what was heard of it is stored as a table ([`heard`]).
//! The present one flies the same flight each time the picture is drawn. `sim/examples/`
//! `then_and_now.rs` is the program.

pub mod heard;
mod picture;

use crate::error::{Error, Result};
use crate::output::files::PlotFormat;
use crate::output::picture_file::PictureFile;
use crate::output::place::write_text;
use crate::words::shown_path;
use heard::Heard;
use std::fs;
use std::path::Path;

/// Stores what the present default settings make of the minute.
///
/// # Errors
/// When the file cannot be written.
pub fn store(table: &Path) -> Result<()> {
    write_text(table, &heard::present()?.to_string())
}

/// Draws the stored table above what the present default settings make of the same minute, as PNG.
///
/// # Errors
/// When the table cannot be read or is of another minute, or the picture cannot be written.
pub fn draw(table: &Path, png: &Path) -> Result<()> {
    let picture = PictureFile::create(&(png.to_owned(), PlotFormat::Png))?;
    let text =
        fs::read_to_string(table).map_err(|source| Error::io("cannot read", table, source))?;
    let then = Heard::read(&shown_path(table), &text)?;
    picture.write(&picture::draw(picture::THEN_AND_NOW, &then, &heard::present()?))?.place()?;
    Ok(())
}

/// Draws what the present default settings make of the minute with the pressures alone above what
/// they make of it with an inertial sensor, as PNG.
///
/// # Errors
/// When the picture cannot be written.
pub fn draw_inertial(png: &Path) -> Result<()> {
    let picture = PictureFile::create(&(png.to_owned(), PlotFormat::Png))?;
    let (alone, aided) = (heard::present()?, heard::with_inertial()?);
    let drawn = picture::draw(picture::WITHOUT_AND_WITH, &alone, &aided);
    picture.write(&drawn)?.place()?;
    Ok(())
}

#[cfg(test)]
mod tests {
    /// What was heard of the filter of 25 November 2026.
    pub const THEN: &str = include_str!("../../../docs/src/gusts-before.csv");
}
