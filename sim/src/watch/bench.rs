//! From what the outputs were made last, and what a change makes necessary.

use super::made::{Made, Why};
use super::request::{News, Request};
use crate::error::{Error, Result};
use crate::replay::Row;
use crate::run;
use crate::settings_file::{self, Instrument};
use chirrup_core::Settings;
use std::fs;
use std::path::Path;
use std::sync::atomic::AtomicBool;
use std::time::{Instant, SystemTime};

/// Length and time of change of a file; another one means that it may have changed.
type Stamp = (u64, Option<SystemTime>);

/// The replay, and what is known of its files.
pub struct Bench {
    request: Request,
    /// The settings file as it was last read, or why it could not be.
    text: Option<std::result::Result<String, String>>,
    trace: Option<Stamp>,
    /// From what the present outputs were made.
    made: Option<(Settings, Stamp)>,
    /// How many looks a file has been missing for.
    missed: u32,
}

impl Bench {
    /// Nothing has been made.
    pub fn new(request: Request) -> Self {
        Self { request, text: None, trace: None, made: None, missed: 0 }
    }

    /// Looks at the files, and makes the outputs if something has changed since the last look;
    /// `noticed` is when that was noticed.
    ///
    /// # Errors
    /// [`Error::Interrupted`]; what `tell` returns; at the first look also a file that cannot be
    /// read or written.
    pub fn look(
        &mut self,
        noticed: Instant,
        interrupted: &AtomicBool,
        tell: &mut dyn FnMut(News) -> Result<()>,
    ) -> Result<()> {
        let is_first = self.text.is_none();
        if let Some(gone) = self.gone().filter(|_| !is_first) {
            self.missed += 1;
            // At the first look it may have been between two steps of an editor.
            return if self.missed == 2 { tell(News::Gone(gone)) } else { Ok(()) };
        }
        self.missed = 0;
        let text = settings_file::text_of(&self.request.settings);
        let known = text.as_ref().map(String::clone).map_err(Error::to_string);
        let trace = stamp(&self.request.trace);
        if self.text.as_ref() == Some(&known) && self.trace == trace {
            return Ok(());
        }
        (self.text, self.trace) = (Some(known), trace);
        let text = match text {
            Err(error) if is_first => return Err(error),
            Err(error) => return tell(News::Failed(error)),
            Ok(text) => text,
        };
        let outcome = match settings_file::from_text(&self.request.settings, &text) {
            Err(error) => Err(error),
            Ok(instrument) => {
                instrument.old.iter().try_for_each(|old| tell(News::Note(old.clone())))?;
                self.remake(instrument, noticed, interrupted)
            }
        };
        match outcome {
            Ok(Some(made)) => tell(News::Made(Box::new(made))),
            Ok(None) => tell(News::Same),
            Err(error @ (Error::Interrupted | Error::ReaderGone)) => Err(error),
            Err(error @ (Error::Settings(_) | Error::Data(_))) => tell(News::Failed(error)),
            Err(error) if is_first => Err(error),
            Err(error) => tell(News::Failed(error)),
        }
    }

    /// The name of a file that is not there.
    fn gone(&self) -> Option<String> {
        let Request { settings, trace, .. } = &self.request;
        [Path::new(settings), trace]
            .iter()
            .find(|file| !file.exists())
            .map(|file| file.display().to_string())
    }

    /// Makes the outputs, unless those that are there are the same.
    fn remake(
        &mut self,
        instrument: Instrument,
        noticed: Instant,
        interrupted: &AtomicBool,
    ) -> Result<Option<Made>> {
        let trace = self.trace.unwrap_or_default();
        let why = match &self.made {
            None => Why::First,
            Some((settings, of)) => Why::Changes {
                trace: *of != trace,
                settings: settings_file::differences(settings, &instrument.settings),
            },
        };
        if why.is_nothing() {
            return Ok(None);
        }
        let settings = instrument.settings.clone();
        self.request.replay.instruments.left = instrument;
        let summary = run::replay(&self.request.replay, interrupted, &mut |_: &Row| {})?;
        self.made = Some((settings, trace));
        Ok(Some(Made { why, seconds: noticed.elapsed().as_secs_f64(), summary }))
    }
}

fn stamp(file: &Path) -> Option<Stamp> {
    fs::metadata(file).ok().map(|found| (found.len(), found.modified().ok()))
}
