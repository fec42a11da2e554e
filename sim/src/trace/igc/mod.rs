//! Traces in the FAI's IGC format: the log of a flight recorder, a fix every second or few.
//!
//! The pressure altitude becomes the pressure that the standard atmosphere has there; true or
//! indicated airspeed and outside air temperature are taken where the recorder appends them.
//! `record` reads the lines, `window` puts them in the order of time, `altitude` chooses between
//! pressure and GNSS altitude, and `log` knows the three. Time zero is the first fix.

mod altitude;
mod kind;
mod log;
mod record;
mod window;

use super::lines::Lines;
use super::{Item, Position, Skipped, Trace};
use crate::error::{Complaint, Error, Result};
pub(super) use kind::is_clear;
pub use kind::looks_like_igc;
use log::{Beside, Log};
use std::io::BufRead;

/// An IGC trace that is being read.
pub struct IgcTrace {
    file: String,
    lines: Lines,
    log: Log,
    /// From the first line, which was read to see what file this is.
    first: Option<Skipped>,
    is_read: bool,
    has_failed: bool,
    beside: Beside,
}

impl IgcTrace {
    /// Reads the first line.
    ///
    /// # Errors
    /// An empty file, or a disk that cannot be read.
    pub fn open(name: &str, input: Box<dyn BufRead>) -> Result<Self> {
        let cannot = |source| Error::io("cannot read", name, source);
        let mut lines = Lines::new(input).map_err(cannot)?;
        let mut log = Log::new();
        let line = lines.next().map_err(cannot)?;
        let line = line.ok_or_else(|| empty(name))?;
        let first = log.take_in(&line);
        let file = name.into();
        Ok(Self {
            file,
            lines,
            log,
            first,
            is_read: false,
            has_failed: false,
            beside: Beside::default(),
        })
    }

    /// Reads on until a fix can be placed; a line that is not a fix is returned at once.
    fn read(&mut self) -> Result<Option<Skipped>> {
        while !self.is_read && !self.log.is_ready() {
            match self
                .lines
                .next()
                .map_err(|source| Error::io("cannot read", &self.file, source))?
            {
                Some(line) => {
                    let skipped = self.log.take_in(&line);
                    if skipped.is_some() {
                        return Ok(skipped);
                    }
                }
                None => {
                    self.is_read = true;
                    self.log.end();
                }
            }
        }
        Ok(None)
    }
}

impl Trace for IgcTrace {
    fn next(&mut self) -> Option<Result<Item>> {
        if self.has_failed {
            return None;
        }
        self.beside = Beside::default();
        if let Some(skipped) = self.first.take() {
            return Some(Ok(Item::Skipped(skipped)));
        }
        match self.read() {
            Ok(Some(skipped)) => Some(Ok(Item::Skipped(skipped))),
            Ok(None) => {
                let (item, beside) = self.log.next()?;
                self.beside = beside;
                Some(Ok(item))
            }
            Err(error) => {
                self.has_failed = true;
                Some(Err(error))
            }
        }
    }

    fn notes(&self) -> Vec<String> {
        self.log.notes()
    }

    /// Of the extension VAT.
    fn recorded_climb_mps(&self) -> Option<f32> {
        self.beside.recorded_te_mps
    }

    /// Of the extension VAR.
    fn recorded_vertical_mps(&self) -> Option<f32> {
        self.beside.recorded_mps
    }

    /// Of the extensions ENL, MOP and RPM.
    fn engine(&self) -> Option<bool> {
        self.beside.engine
    }

    /// Of a three-dimensional fix.
    fn position(&self) -> Option<Position> {
        self.beside.position
    }

    /// Known once the first sample has been returned.
    fn utc_start_s(&self) -> Option<f64> {
        self.log.utc_start_s()
    }

    /// Known once the first sample has been returned.
    fn date(&self) -> Option<String> {
        self.log.date().map(str::to_owned)
    }

    fn format(&self) -> &'static str {
        "igc"
    }
}

fn empty(file: &str) -> Complaint {
    Complaint {
        file: file.into(),
        line: None,
        column: None,
        found: "nothing in it".into(),
        expected: "an IGC flight log".into(),
        hint: None,
    }
}

#[cfg(test)]
mod real_flights_tests;
#[cfg(test)]
mod tests;
