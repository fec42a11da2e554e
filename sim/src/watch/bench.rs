//! From what the outputs were made last, and what a change makes necessary.

use super::made::{Made, Why};
use super::request::{News, Request};
use crate::error::{Error, Result};
use crate::output::watch::Nobody;
use crate::run;
use crate::settings_file::{self, Instrument};
use crate::words::shown_path;
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
    /// Whether the settings file was empty at the last look.
    was_empty: bool,
}

impl Bench {
    /// Nothing has been made.
    pub fn new(request: Request) -> Self {
        Self { request, text: None, trace: None, made: None, missed: 0, was_empty: false }
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
        let is_empty = stamp(Path::new(&self.request.settings)).is_some_and(|(size, _)| size == 0);
        if is_empty && !std::mem::replace(&mut self.was_empty, is_empty) && !is_first {
            // Emptied, and not yet written again; one that stays empty is the defaults.
            return Ok(());
        }
        self.was_empty = is_empty;
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
        [Path::new(settings), trace].iter().find(|file| !file.exists()).map(|file| shown_path(file))
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
        let summary = run::replay(&self.request.replay, interrupted, &mut Nobody)?;
        self.made = Some((settings, trace));
        Ok(Some(Made { why, seconds: noticed.elapsed().as_secs_f64(), summary }))
    }
}

fn stamp(file: &Path) -> Option<Stamp> {
    fs::metadata(file).ok().map(|found| (found.len(), found.modified().ok()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ears::Ears;
    use crate::input::Input;
    use crate::output::files::Files;
    use crate::run::ReplayOptions;

    /// A bench without outputs for files in `folder`.
    fn bench(folder: &Path) -> Bench {
        let trace = folder.join("flight.csv");
        let rows = (0..100).map(|second| format!("{second},{}\n", 95_000 - second));
        fs::write(&trace, "time_s,static_pa\n".to_owned() + &rows.collect::<String>()).unwrap();
        let left = settings_file::build("defaults", Settings::default()).unwrap();
        let replay = ReplayOptions {
            input: Input::new(&trace),
            columns: Default::default(),
            from: None,
            to: None,
            injections: Vec::new(),
            instruments: Ears { left, right: None },
            files: Files::default(),
            sample_rate_hz: 8_000,
            play: false,
            title: None,
        };
        let settings = folder.join("my.toml").to_str().unwrap().to_owned();
        Bench::new(Request { settings, trace, replay })
    }

    /// What one look has to say.
    fn look(bench: &mut Bench) -> Vec<String> {
        let mut said = Vec::new();
        let mut tell = |news| {
            said.push(match news {
                News::Made(made) => made.why.to_string(),
                News::Failed(error) => format!("failed: {error}"),
                News::Same => "same".into(),
                News::Gone(_) => "gone".into(),
                News::Note(note) => note,
            });
            Ok(())
        };
        bench.look(Instant::now(), &AtomicBool::new(false), &mut tell).unwrap();
        said
    }

    #[test]
    fn a_look_says_what_has_changed_and_nothing_where_nothing_has() {
        let folder = tempfile::tempdir().unwrap();
        let mut bench = bench(folder.path());
        let settings = folder.path().join("my.toml");
        let write = |text: &str| fs::write(&settings, text).unwrap();
        write("response_s = 2.0\n");
        assert_eq!(look(&mut bench), ["first run"]);
        assert!(look(&mut bench).is_empty());
        write("response_s = 2.0 # the same\n");
        assert_eq!(look(&mut bench), ["same"]);
        write("response_s = two\n");
        let said = look(&mut bench);
        assert!(said.len() == 1 && said[0].starts_with("failed: "), "{said:?}");
        assert!(look(&mut bench).is_empty(), "an error is told once");
        write("response_s = 2.5\n");
        assert_eq!(look(&mut bench), ["response_s: 2.0 -> 2.5"]);
        // Between two steps of an editor, and then for good.
        fs::remove_file(&settings).unwrap();
        assert!(look(&mut bench).is_empty());
        assert_eq!(look(&mut bench), ["gone"]);
        assert!(look(&mut bench).is_empty());
    }

    #[test]
    fn a_settings_file_that_is_empty_for_a_moment_is_being_written_and_then_is_the_defaults() {
        let folder = tempfile::tempdir().unwrap();
        let mut bench = bench(folder.path());
        let settings = folder.path().join("my.toml");
        let write = |text: &str| fs::write(&settings, text).unwrap();
        write("response_s = 2.0\n");
        look(&mut bench);
        write("");
        assert!(look(&mut bench).is_empty());
        write("response_s = 3.0\n");
        assert_eq!(look(&mut bench), ["response_s: 2.0 -> 3.0"]);
        write("");
        assert!(look(&mut bench).is_empty());
        assert!(look(&mut bench)[0].starts_with("response_s: 3.0 -> "));
        assert!(look(&mut bench).is_empty());
    }
}
