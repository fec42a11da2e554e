//! Settings by name, as the console shows and sets them, from the rows of the core.
//!
//! Settings are shown as TOML: a settings file with dotted names. A value is typed as in TOML;
//! words may go without quotes.

use chirrup_core::decimal::{self, Shortest};
use chirrup_core::rows::{Entry, Field, Group, GroupRows, Groups, Kind, MOST_FIELDS, Row, Value};
use chirrup_core::rows::{Setting, find};
use core::fmt::{self, Write};
use crc::{CRC_32_ISO_HDLC, Crc};
use heapless::{String, Vec};

/// The most entries of a list that can be set in one line.
const MOST_ENTRIES: usize = 15;

/// A piece of the typed text, for a message.
type Excerpt = String<24>;

/// Why a setting was not accepted, in one line.
#[derive(Clone, Debug, PartialEq)]
pub enum KeyError {
    /// There is no setting of this name.
    Unknown(Excerpt),
    /// The value is not of the right kind.
    Kind(&'static str, Excerpt, &'static str),
    /// The value is not one of the setting's words.
    Word(&'static Row, Excerpt),
    /// An entry of a list, counted from 1, lacks a field.
    Lacks(&'static str, usize, &'static str),
    /// A list has more entries than there is room for.
    TooMany(&'static str, usize),
}

impl fmt::Display for KeyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            KeyError::Unknown(name) => {
                write!(f, "there is no setting {name}; settings lists them all")
            }
            KeyError::Kind(name, found, expected) => {
                write!(f, "{name}: found \"{found}\", expected {expected}")
            }
            KeyError::Word(row, found) => {
                write!(f, "{}: found \"{found}\", expected one of", row.name)?;
                let Kind::Word(words) = row.kind else { return Ok(()) };
                words.iter().try_for_each(|word| write!(f, " {}", word.word))
            }
            KeyError::Lacks(name, entry, field) => {
                write!(f, "{name}, entry {entry}: {field} is missing")
            }
            KeyError::TooMany(name, most) => write!(f, "{name}: expected at most {most} entries"),
        }
    }
}

/// A fingerprint of the names of all settings, of their words and of the fields of their lists; it
/// differs for any other set of settings.
pub fn fingerprint<S: Groups>() -> u32 {
    const CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);
    let mut digest = CRC.digest();
    let mut take = |name: &str| {
        digest.update(name.as_bytes());
        digest.update(b"\n");
    };
    for row in S::GROUPS.iter().flat_map(|group| group.rows) {
        take(row.name);
        match row.kind {
            Kind::List { fields, .. } => fields.iter().for_each(|field| take(field.name)),
            Kind::Word(words) => words.iter().for_each(|word| take(word.word)),
            Kind::Number { .. } | Kind::Flag => {}
        }
    }
    digest.finalize()
}

/// Sets a setting by name. Ranges are not checked here.
///
/// `none` removes an optional group: `polar = none`.
///
/// # Errors
/// There is no such setting, or the value is not of its kind; nothing is changed then.
pub fn set<S: Groups>(settings: &mut S, name: &str, value: &str) -> Result<(), KeyError> {
    let value = value.trim();
    let is_group = |group: &GroupRows| group.is_optional && group.name == name;
    if let (Some(group), "none") = (S::GROUPS.iter().position(is_group), unquoted(value)) {
        settings.remove(group);
        return Ok(());
    }
    let unknown = || KeyError::Unknown(excerpt(name));
    let (group, place) = find::<S>(name).ok_or_else(unknown)?;
    let row = S::GROUPS.get(group).and_then(|group| group.rows.get(place)).ok_or_else(unknown)?;
    // Parsed whole before anything is changed.
    if let Kind::List { fields, most, .. } = row.kind {
        let entries = list(row.name, value, fields, most)?;
        let setting = setting_at(settings, group, place).ok_or_else(unknown)?;
        setting.set(Value::Entries(0));
        entries.iter().for_each(|entry| {
            setting.push(entry);
        });
    } else {
        let value = parse(row, value)?;
        setting_at(settings, group, place).ok_or_else(unknown)?.set(value);
    }
    Ok(())
}

fn setting_at<S: Groups>(settings: &mut S, group: usize, row: usize) -> Option<&mut dyn Setting> {
    settings.group_mut(group)?.setting_mut(row)
}

/// A value that is not a list.
fn parse(row: &'static Row, text: &str) -> Result<Value, KeyError> {
    let kind = |expected| KeyError::Kind(row.name, excerpt(text), expected);
    match row.kind {
        Kind::Number { whole: true, .. } => {
            let whole: u8 = text.parse().map_err(|_| kind("a whole number"))?;
            Ok(Value::Number(f32::from(whole)))
        }
        Kind::Number { .. } => {
            decimal::read(text).map(Value::Number).ok_or_else(|| kind("a number"))
        }
        Kind::Flag => text.parse().map(Value::Flag).map_err(|_| kind("true or false")),
        Kind::Word(words) => {
            let place = words.iter().position(|word| word.word == unquoted(text));
            place.map(Value::Word).ok_or_else(|| KeyError::Word(row, excerpt(text)))
        }
        Kind::List { .. } => Err(kind("a value")),
    }
}

/// Whether any setting's name begins with `start`.
pub fn is_known<S: Groups>(start: &str) -> bool {
    S::GROUPS.iter().flat_map(|group| group.rows).any(|row| row.name.starts_with(start))
}

/// A place in the shown settings: a group, a row, and a line within it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Cursor {
    group: usize,
    row: usize,
    line: usize,
}

impl Cursor {
    /// Writes the next line of the settings whose names begin with `only`; `false` after the last.
    ///
    /// # Errors
    /// The error of `out`.
    pub fn show<S: Groups>(
        &mut self,
        settings: &S,
        only: &str,
        out: &mut impl Write,
    ) -> Result<bool, fmt::Error> {
        while let Some(known) = S::GROUPS.get(self.group) {
            let group = settings.group(self.group);
            while let (Some(group), Some(row)) = (group, known.rows.get(self.row)) {
                if row.name.starts_with(only) && show(group, self.row, row, self.line, out)? {
                    self.line += 1;
                    return Ok(true);
                }
                (self.row, self.line) = (self.row + 1, 0);
            }
            *self = Self { group: self.group + 1, ..Self::default() };
        }
        Ok(false)
    }
}

/// Writes a line of a setting, the first being 0; `false` where there is no such line.
fn show(
    group: &dyn Group,
    place: usize,
    row: &Row,
    line: usize,
    out: &mut impl Write,
) -> Result<bool, fmt::Error> {
    let (Some(setting), name) = (group.setting(place), row.name) else { return Ok(false) };
    if let (Value::Entries(count), Kind::List { fields, .. }) = (setting.value(), row.kind) {
        return show_list(name, fields, setting, count, line, out);
    }
    if line > 0 {
        return Ok(false);
    }
    match (setting.value(), row.kind) {
        (Value::Number(number), _) => write!(out, "{name} = {}", Shortest(number))?,
        (Value::Flag(flag), _) => write!(out, "{name} = {flag}")?,
        (Value::Word(place), Kind::Word(words)) => {
            write!(out, "{name} = \"{}\"", words.get(place).map_or("", |word| word.word))?;
        }
        _ => return Ok(false),
    }
    Ok(true)
}

fn show_list(
    name: &str,
    fields: &[Field],
    setting: &dyn Setting,
    count: usize,
    line: usize,
    out: &mut impl Write,
) -> Result<bool, fmt::Error> {
    if line == 0 {
        write!(out, "{name} = [")?;
    } else if line == count + 1 {
        out.write_str("]")?;
    } else if let Some(entry) = setting.entry(line - 1) {
        out.write_str("    {")?;
        for (place, (field, value)) in fields.iter().zip(entry).enumerate() {
            let comma = if place == 0 { "" } else { "," };
            write!(out, "{comma} {} = {}", field.name, Shortest(value))?;
        }
        out.write_str(" },")?;
    }
    Ok(line <= count + 1)
}

fn list(
    name: &'static str,
    text: &str,
    fields: &'static [Field],
    most: usize,
) -> Result<Vec<Entry, MOST_ENTRIES>, KeyError> {
    let kind = |found: &str, expected| KeyError::Kind(name, excerpt(found), expected);
    let list = text.strip_prefix('[').and_then(|text| text.strip_suffix(']'));
    let mut rest = list.ok_or_else(|| kind(text, "a list [{ .. }, { .. }]"))?.trim();
    let mut entries = Vec::new();
    while !rest.is_empty() {
        let inner = rest.strip_prefix('{').and_then(|rest| rest.split_once('}'));
        let (entry, after) = inner.ok_or_else(|| kind(rest, "an entry { .. }"))?;
        let entry = entry_of(name, entry, fields, entries.len() + 1)?;
        if entries.len() == most || entries.push(entry).is_err() {
            return Err(KeyError::TooMany(name, most.min(MOST_ENTRIES)));
        }
        let after = after.trim_start();
        if !after.is_empty() && !after.starts_with(',') {
            return Err(kind(after, "a comma between entries"));
        }
        rest = after.strip_prefix(',').unwrap_or(after).trim_start();
    }
    Ok(entries)
}

fn entry_of(
    name: &'static str,
    text: &str,
    fields: &'static [Field],
    place: usize,
) -> Result<Entry, KeyError> {
    let mut values = [None; MOST_FIELDS];
    for pair in text.split(',').map(str::trim).filter(|pair| !pair.is_empty()) {
        let kind = |expected| KeyError::Kind(name, excerpt(pair), expected);
        let (field, value) = pair.split_once('=').ok_or_else(|| kind("a field = number"))?;
        let known = fields.iter().zip(&mut values).find(|(known, _)| known.name == field.trim());
        let (_, slot) = known.ok_or_else(|| kind("a field of this table"))?;
        let number = decimal::read(value.trim()).ok_or_else(|| kind("a number"))?;
        if slot.replace(number).is_some() {
            return Err(kind("each field once"));
        }
    }
    let mut entry = Entry::default();
    for ((field, value), slot) in fields.iter().zip(values).zip(&mut entry) {
        *slot = value.ok_or(KeyError::Lacks(name, place, field.name))?;
    }
    Ok(entry)
}

fn unquoted(text: &str) -> &str {
    text.strip_prefix('"').and_then(|text| text.strip_suffix('"')).unwrap_or(text)
}

fn excerpt(text: &str) -> Excerpt {
    let mut excerpt = Excerpt::new();
    for character in text.chars().map(|c| if c.is_control() { ' ' } else { c }) {
        if excerpt.push(character).is_err() {
            break;
        }
    }
    excerpt
}

#[cfg(test)]
mod tests;
