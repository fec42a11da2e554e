//! Settings from the user: TOML files and `key=value` on the command line, combined in order; and
//! everything written about them, from the rows of the core.
//!
//! ```text
//! files, key=value --> read, words, old --> Settings --> Instrument
//! rows of the core --> write (a file with comments), table (documentation), schema (editors), json
//! ```

mod all;
mod differences;
mod found;
mod json;
mod old;
mod read;
mod schema;
mod table;
#[cfg(test)]
mod tests;
mod words;
mod write;
mod wrong;

pub use all::All;
pub use differences::differences;
pub use json::as_json;
pub use schema::schema;
pub use table::table;
pub use write::{bare, value, with_comments};

use crate::error::{Error, Result};
use crate::text_file;
use crate::units::Units;
use crate::words::shown;
use chirrup_core::{Pipeline, Settings};
use std::path::Path;

/// Settings and the instrument they make.
#[derive(Clone, Debug)]
pub struct Instrument {
    /// The user's name for it: the file, or the `key=value` text, or `defaults`.
    pub name: String,
    /// As given.
    pub settings: Settings,
    /// The units in which people are told what it reads.
    pub units: Units,
    /// As checked.
    pub pipeline: Pipeline,
    /// Settings in an earlier format and how to write them now, a line each.
    pub old: Vec<String>,
    /// The settings that the last source names.
    pub named: Vec<&'static str>,
}

/// Reads `source`, a file or `key=value[,key=value]`; the latter changes `base`, a file changes the
/// defaults.
///
/// # Errors
/// One line that names the file, the line and the setting.
pub fn load(source: &str, base: &Settings) -> Result<Instrument> {
    load_over(source, &All::of(base), false)
}

/// Reads `source`, which changes `base`; a file changes the defaults unless it `is_layer`.
fn load_over(source: &str, base: &All, is_layer: bool) -> Result<Instrument> {
    if is_words(source) {
        return words_over(source, base);
    }
    let text = text_of(source)?;
    if is_layer { text_over(source, &text, base) } else { from_text(source, &text) }
}

/// Reads `sources` one after another, the first as [`load`] does; each of the others changes only
/// what it names, so that later ones win. `base` itself where there are none.
///
/// # Errors
/// Those of [`load`].
pub fn load_layers(sources: &[String], base: &Settings) -> Result<Instrument> {
    let Some((first, rest)) = sources.split_first() else {
        return build("defaults", base.clone());
    };
    let mut instrument = load(first, base)?;
    for source in rest {
        let next = load_over(source, &instrument.all(), true)?;
        let name = format!("{}, {}", instrument.name, next.name);
        let old = instrument.old.into_iter().chain(next.old).collect();
        instrument = Instrument { name, old, ..next };
    }
    Ok(instrument)
}

impl Instrument {
    /// Everything that a settings file sets.
    pub fn all(&self) -> All {
        All { settings: self.settings.clone(), units: self.units }
    }
}

/// Whether `source` is `key=value` and no file.
fn is_words(source: &str) -> bool {
    source.contains('=') && !Path::new(source).exists()
}

/// The instrument of `settings`, named `name` in messages.
///
/// # Errors
/// A setting that is out of range.
pub fn build(name: &str, settings: Settings) -> Result<Instrument> {
    match settings.build() {
        Ok(pipeline) => {
            let (name, units) = (name.to_owned(), Units::default());
            let (old, named) = (Vec::new(), Vec::new());
            Ok(Instrument { name, settings, units, pipeline, old, named })
        }
        Err(error) => Err(Error::Settings(format!("{name}: {error}"))),
    }
}

/// The text of the settings file at `path`.
///
/// # Errors
/// One line that names the file: it is not there, cannot be read, or is not text.
pub fn text_of(path: &str) -> Result<String> {
    let read = text_file::read(Path::new(path));
    let path = &*shown(path);
    read.map_err(|source| match source.kind() {
        std::io::ErrorKind::FileTooLarge => Error::Settings(format!(
            "{path}: found more than 1 MB, expected a settings file in TOML"
        )),
        std::io::ErrorKind::InvalidData => Error::Settings(format!(
            "{path}: found bytes that are not text, expected a settings file in TOML"
        )),
        std::io::ErrorKind::NotFound => Error::Settings(format!(
            "cannot read settings {path}: there is no such file, and it is no key=value such as \
             response_s=0.6"
        )),
        _ => Error::io("cannot read settings", path, source),
    })
}

/// The instrument of a settings file that holds `text` and is called `path` in messages.
///
/// # Errors
/// One line that names the file, the line and the setting.
pub fn from_text(path: &str, text: &str) -> Result<Instrument> {
    text_over(path, text, &All::default())
}

/// As [`from_text`], but settings not in the text are those of `base`.
///
/// # Errors
/// Those of [`from_text`].
pub fn text_over(path: &str, text: &str, base: &All) -> Result<Instrument> {
    let path = &*shown(path);
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let line_at = |offset| line_at(text, offset);
    let mut all = base.clone();
    let mut found = read::apply(text, &mut all).map_err(|wrong| {
        Error::Settings(format!("{path}:{}: {}", line_at(wrong.at), wrong.what))
    })?;
    let All { mut settings, units } = all;
    old::lower_sink(&mut settings, &mut found);
    match settings.build() {
        Ok(pipeline) => {
            let old = found.old.iter();
            let old = old.map(|old| format!("{path}:{}: {}", line_at(old.at), old.what)).collect();
            let named = found.names();
            Ok(Instrument { name: path.to_owned(), settings, units, pipeline, old, named })
        }
        Err(error) => {
            let line = found.place_of(&error).map(|offset| format!(":{}", line_at(offset)));
            Err(Error::Settings(format!("{path}{}: {error}", line.unwrap_or_default())))
        }
    }
}

/// The instrument of `base` with what `words`, `key=value[,key=value]`, change.
///
/// # Errors
/// One line that names the words and the setting.
pub fn from_words(text: &str, base: &Settings) -> Result<Instrument> {
    words_over(text, &All::of(base))
}

/// As [`from_words`], where `base` has the bench's own settings too.
///
/// # Errors
/// Those of [`from_words`].
pub fn words_over(text: &str, base: &All) -> Result<Instrument> {
    let shown = shown(&wrong::wrong(0, text).what);
    let mut all = base.clone();
    words::apply(text, &mut all)
        .map_err(|wrong| Error::Usage(format!("{shown}: {}", wrong::wrong(0, &wrong).what)))?;
    Ok(Instrument { units: all.units, ..build(&shown, all.settings)? })
}

/// The line of `text` in which `offset` lies, the first being 1.
fn line_at(text: &str, offset: usize) -> usize {
    text.bytes().take(offset).filter(|&byte| byte == b'\n').count() + 1
}
