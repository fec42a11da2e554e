//! Settings as a person gives them: a TOML file, or a few `key=value` on the command line.

use crate::error::{Error, Result};
use chirrup_core::error::SettingsError;
use chirrup_core::pipeline::Pipeline;
use chirrup_core::settings::Settings;
use serde::Deserialize;
use std::fs;
use std::path::Path;
use toml::de::{DeTable, DeValue, Deserializer, ValueDeserializer};
use toml::{Spanned, Table};

/// What is shown after a setting that does not exist or has a value of the wrong kind.
const HELP: &str = "`chirrup settings` prints them all";

/// Settings and the instrument they make.
#[derive(Clone, Debug)]
pub struct Instrument {
    /// What the user calls it: the file, or the `key=value` text, or `defaults`.
    pub name: String,
    /// As given.
    pub settings: Settings,
    /// As checked.
    pub pipeline: Pipeline,
}

/// Reads `source`, a file or `key=value[,key=value]`; the latter changes `base`, a file changes the
/// defaults.
///
/// # Errors
/// One line that names the file, the line and the setting.
pub fn load(source: &str, base: &Settings) -> Result<Instrument> {
    if is_words(source) {
        from_words(source, base)
    } else {
        read(source).map(|(instrument, _)| instrument)
    }
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
        let below = &instrument.settings;
        let next = if is_words(source) {
            from_words(source, below)?
        } else {
            from_text_over(source, &text_of(source)?, below)?.0
        };
        instrument = Instrument { name: format!("{}, {}", instrument.name, next.name), ..next };
    }
    Ok(instrument)
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
        Ok(pipeline) => Ok(Instrument { name: name.to_owned(), settings, pipeline }),
        Err(error) => Err(Error::Settings(format!("{name}: {error}"))),
    }
}

/// Reads a settings file, and what it says under `[device]`, which only an instrument understands.
///
/// # Errors
/// One line that names the file, the line and the setting.
pub fn read(path: &str) -> Result<(Instrument, Option<toml::Table>)> {
    from_text(path, &text_of(path)?)
}

fn text_of(path: &str) -> Result<String> {
    fs::read_to_string(path).map_err(|source| match source.kind() {
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

/// The instrument of a settings file that holds `text` and is called `path` in messages, and its
/// `[device]` table.
///
/// # Errors
/// One line that names the file, the line and the setting.
pub fn from_text(path: &str, text: &str) -> Result<(Instrument, Option<toml::Table>)> {
    from_text_over(path, text, &Settings::default())
}

/// As [`from_text`], but what the text leaves out is that of `base`.
fn from_text_over(
    path: &str,
    text: &str,
    base: &Settings,
) -> Result<(Instrument, Option<toml::Table>)> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let (settings, device) = parse(text, &to_text(base)).map_err(|error| {
        let line = error.span().map_or(1, |span| line_at(text, span.start));
        Error::Settings(format!("{path}:{line}: {}; {HELP}", one_line(error.message())))
    })?;
    match settings.build() {
        Ok(pipeline) => Ok((Instrument { name: path.to_owned(), settings, pipeline }, device)),
        Err(error) => {
            let line = line_of(text, &error).map_or(String::new(), |line| format!(":{line}"));
            Err(Error::Settings(format!("{path}{line}: {error}")))
        }
    }
}

/// The settings of `text`, what it leaves out being those of the text `base`; and its `[device]`.
fn parse(
    text: &str,
    base: &str,
) -> std::result::Result<(Settings, Option<toml::Table>), toml::de::Error> {
    let mut table = DeTable::parse(text)?;
    let device = table
        .get_mut()
        .remove("device")
        .map(|device| Table::deserialize(ValueDeserializer::from(device)));
    fill(table.get_mut(), DeTable::parse(base)?.into_inner());
    let settings = Settings::deserialize(Deserializer::from(table))?;
    Ok((settings, device.transpose()?))
}

/// Puts what `table` lacks of `base` into it, and into the tables in it. Lists are one value.
fn fill<'a>(table: &mut DeTable<'a>, base: DeTable<'a>) {
    for (key, below) in base {
        match (table.get_mut(key.get_ref().as_ref()).map(Spanned::get_mut), below.into_inner()) {
            (None, below) => {
                // Never shown: a value that has been checked causes no error.
                table.insert(key, Spanned::new(0..0, below));
            }
            (Some(DeValue::Table(inner)), DeValue::Table(below)) => fill(inner, below),
            _ => {}
        }
    }
}

/// The settings as a settings file, without comments; [`from_text`] reads it back.
pub fn to_text(settings: &Settings) -> String {
    // Plain numbers, words and tables can always be written.
    toml::to_string(settings).unwrap_or_default()
}

/// The instrument of `base` with what `words`, `key=value[,key=value]`, change.
///
/// # Errors
/// One line that names the words and the setting.
pub fn from_words(words: &str, base: &Settings) -> Result<Instrument> {
    let shown = one_line(words);
    let wrong = |message: &str| Error::Usage(format!("{shown}: {}; {HELP}", one_line(message)));
    let mut table = toml::Table::try_from(base).map_err(|error| wrong(&error.to_string()))?;
    for word in words.split(',') {
        let (key, value) = word
            .split_once('=')
            .ok_or_else(|| wrong(&format!("found \"{word}\", expected key=value")))?;
        set(&mut table, key.trim(), value.trim()).map_err(|message| wrong(&message))?;
    }
    let settings = table.try_into::<Settings>().map_err(|error| wrong(error.message()))?;
    build(&shown, settings)
}

/// Sets `key`, which may be dotted, to a number or a truth where `value` is one, else to a word.
fn set(table: &mut toml::Table, key: &str, value: &str) -> std::result::Result<(), String> {
    let mut table = table;
    let (folders, name) =
        key.rsplit_once('.').map_or((None, key), |(folders, name)| (Some(folders), name));
    for folder in folders.iter().flat_map(|folders| folders.split('.')) {
        table = match table.get_mut(folder) {
            Some(toml::Value::Table(inner)) => inner,
            None if folder == "polar" => {
                return Err(format!(
                    "{key} needs a polar to change, and there is none; begin with a settings \
                     file that has [polar]"
                ));
            }
            _ => return Err(format!("there is no setting {key}")),
        };
    }
    let value = match (value.parse::<f64>(), value.parse::<bool>()) {
        (Ok(number), _) => toml::Value::Float(number),
        (_, Ok(answer)) => toml::Value::Boolean(answer),
        _ => toml::Value::String(value.to_owned()),
    };
    if table.insert(name.to_owned(), value).is_none() {
        return Err(format!("there is no setting {key}"));
    }
    Ok(())
}

/// The line of `text` in which `offset` lies, the first being 1.
pub(crate) fn line_at(text: &str, offset: usize) -> usize {
    text.bytes().take(offset).filter(|&byte| byte == b'\n').count() + 1
}

/// The line on which the setting that `error` is about is written: its n-th mention for the n-th
/// entry of a list. `None` where it is not there.
fn line_of(text: &str, error: &SettingsError) -> Option<usize> {
    let key = error.parameter.rsplit('.').next().unwrap_or(error.parameter);
    let (start, place) = match error.entry {
        Some((list, place)) => {
            let list = list.rsplit('.').next().unwrap_or(list);
            (position_of_key(text, list, 0, 1).unwrap_or(0), place)
        }
        None => (0, 1),
    };
    position_of_key(text, key, start, place).map(|offset| line_at(text, offset))
}

/// Where `key` stands for the `place`-th time as a whole word, from `start` on and outside
/// comments.
pub(crate) fn position_of_key(text: &str, key: &str, start: usize, place: usize) -> Option<usize> {
    let is_word = |character: char| character.is_alphanumeric() || character == '_';
    text.get(start..)?
        .match_indices(key)
        .map(|(offset, _)| start + offset)
        .filter(|&offset| {
            let (before, after) = (&text[..offset], &text[offset + key.len()..]);
            let line_before = before.rsplit('\n').next().unwrap_or(before);
            !before.ends_with(is_word) && !after.starts_with(is_word) && !line_before.contains('#')
        })
        .nth(place - 1)
}

/// The parser's message in one line and in words that are not Rust's.
pub(crate) fn one_line(message: &str) -> String {
    // What was typed or stands in a file may hold anything; a terminal had better not be told to
    // obey it.
    let message = message.replace(char::is_control, " ");
    let line = message.split_whitespace().collect::<Vec<_>>().join(" ");
    let plain = [
        ("expected f32", "expected a number"),
        ("expected f64", "expected a number"),
        ("expected a boolean", "expected true or false"),
        ("expected struct ToneSettings", "expected a table such as [tone]"),
        ("expected struct PolarSettings", "expected a table such as [polar]"),
        ("expected struct AltimeterSettings", "expected a table such as [altimeter]"),
        ("expected struct ClimbPoint", "expected an entry such as { climb_mps = 0.2, .. }"),
        ("expected struct SinkPoint", "expected an entry such as { sink_mps = -1.6, .. }"),
        ("invalid length 13, expected a sequence", "found 13 or more entries, expected at most 12"),
        ("expected a sequence", "expected a list of entries"),
    ];
    plain.iter().fold(line, |line, (rust, words)| line.replace(rust, words))
}

/// The defaults as a settings file with a comment for every key, ready to be changed.
pub const DEFAULTS_TOML: &str = include_str!("default_settings.toml");

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;

    fn error_of_file(text: &str) -> String {
        let mut file = tempfile::NamedTempFile::new().unwrap();
        file.write_all(text.as_bytes()).unwrap();
        let path = file.path().to_str().unwrap();
        let message = load(path, &Settings::default()).unwrap_err().to_string();
        message.replace(path, "my.toml")
    }

    #[test]
    fn the_printed_defaults_are_the_defaults() {
        assert_eq!(toml::from_str::<Settings>(DEFAULTS_TOML).unwrap(), Settings::default());
    }

    #[test]
    fn the_printed_defaults_name_every_setting() {
        let all = toml::Table::try_from(Settings::default()).unwrap();
        let printed: toml::Table = DEFAULTS_TOML.parse().unwrap();
        assert_eq!(all.keys().collect::<Vec<_>>(), printed.keys().collect::<Vec<_>>());
        for part in ["tone", "altimeter"] {
            let keys = |table: &toml::Table| {
                table[part].as_table().unwrap().keys().cloned().collect::<Vec<_>>()
            };
            assert_eq!(keys(&all), keys(&printed));
        }
    }

    #[test]
    fn words_change_single_settings() {
        let base = Settings { response_s: 2.0, ..Settings::default() };
        let changed = load("energy=none,tone.climb_from_mps=0.4", &base).unwrap().settings;
        assert_eq!(changed.energy, chirrup_core::energy::EnergyChoice::None);
        assert_eq!(changed.tone.climb_from_mps, 0.4);
        assert_eq!(changed.response_s, 2.0);
    }

    #[test]
    fn what_is_wrong_in_a_file_is_named_with_its_line() {
        let out_of_range = error_of_file("# mine\nresponse_s = 99\n");
        assert_eq!(out_of_range, "my.toml:2: response_s is 99, expected 0.1 to 10");
        let unknown = error_of_file("energy = \"auto\"\nresponce_s = 1\n");
        assert!(unknown.starts_with("my.toml:2: unknown field `responce_s`"), "{unknown}");
        let word = error_of_file("energy = \"magic\"\n");
        assert!(word.starts_with("my.toml:1: unknown variant `magic`"), "{word}");
        let kind = error_of_file("response_s = \"one\"\n");
        assert!(
            kind.starts_with("my.toml:1: invalid type: string \"one\", expected a number"),
            "{kind}"
        );
        let list = error_of_file("[tone]\nclimb = 1\n");
        assert!(list.contains("expected a list of entries"), "{list}");
        let broken = error_of_file("energy = \n");
        assert!(broken.starts_with("my.toml:1: "), "{broken}");
        assert!(!unknown.contains('\n') && !word.contains('\n') && !broken.contains('\n'));
    }

    #[test]
    fn an_entry_of_a_table_is_named_with_its_own_line() {
        let text = "[tone]\nclimb = [\n  \
            { climb_mps = 0.2, pitch_hz = 560, cadence_hz = 1.6, on_fraction = 0.5 },\n  \
                    { climb_mps = 1.0, pitch_hz = 500, cadence_hz = 2.6, on_fraction = 0.5 },\n]\n";
        let message = error_of_file(text);
        assert_eq!(
            message,
            "my.toml:4: tone.climb, entry 2: pitch_hz is 500, expected more than 560, the entry \
             before"
        );
    }

    #[test]
    fn words_that_name_nothing_are_refused() {
        for (words, part) in [
            ("enrgy=none", "there is no setting enrgy"),
            ("tone.colour=3", "there is no setting tone.colour"),
            ("tone.climb.x=3", "there is no setting"),
            ("energy=magic", "unknown variant"),
            ("polar.mass_kg=400", "polar.mass_kg needs a polar to change, and there is none"),
            ("altimeter.unit=yd", "unknown variant `yd`, expected `m` or `ft`"),
            ("response_s=0", "response_s is 0, expected 0.1 to 10"),
            ("response_s=1,energy", "found \"energy\", expected key=value"),
            // Found by fuzzing: what was typed may hold more than one line.
            ("response_s=1,\n[polar]\u{1b}x", "response_s=1, [polar] x: "),
            ("rg\u{1b}_m=1.4", "there is no setting rg _m"),
        ] {
            let message = load(words, &Settings::default()).unwrap_err().to_string();
            assert!(message.contains(part), "{message}");
            assert!(!message.contains(char::is_control), "{message:?}");
        }
    }
}
