//! The log in a file that takes its name when the flight has ended.

use chirrup::error::{Error, Result};
use chirrup::output::place::Placed;
use chirrup::waiting::Waiting;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// How much of a flight a power failure may take.
const FLUSH: Duration = Duration::from_secs(1);

/// A log, if one is wanted.
pub struct Log {
    file: Option<Placed>,
    flushed: Instant,
    /// For whoever reads along.
    waiting: Waiting,
}

impl Log {
    /// A log for this path, or none.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn create(path: Option<&Path>) -> Result<Self> {
        let (file, waiting) = (path.map(Placed::create).transpose()?, Waiting::default());
        file.iter().for_each(|file| file.empty_before(&waiting));
        Ok(Self { file, flushed: Instant::now(), waiting })
    }

    /// Brings out what a pipe was given: there are no more lines for now.
    pub fn wait(&self) {
        self.waiting.begins();
    }

    /// Writes a line.
    ///
    /// # Errors
    /// The disk is full or gone.
    pub fn write(&mut self, line: &str) -> Result<()> {
        let Some(file) = &mut self.file else { return Ok(()) };
        let mut done = writeln!(file, "{line}");
        if self.flushed.elapsed() > FLUSH {
            self.flushed = Instant::now();
            done = done.and_then(|()| file.flush());
        }
        done.map_err(|source| Error::io("cannot write", file.path(), source))
    }

    /// Gives the file its name.
    ///
    /// # Errors
    /// As [`Log::write`].
    pub fn finish(self) -> Result<Option<PathBuf>> {
        self.file.map_or(Ok(None), Placed::finish)
    }
}
