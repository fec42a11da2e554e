//! The text to check, and the positions of its keys.

use crate::plan::Wrong;
use std::fmt::Display;
use toml::de::{DeTable, DeValue};

/// A table of the file, or an entry of a list of tables, the first being 0.
#[derive(Clone, Copy)]
pub(super) struct Place {
    pub table: &'static str,
    pub entry: Option<usize>,
}

impl Place {
    pub const ROOT: Place = Place::table("");

    pub const fn table(table: &'static str) -> Self {
        Self { table, entry: None }
    }

    pub const fn entry(table: &'static str, entry: usize) -> Self {
        Self { table, entry: Some(entry) }
    }
}

/// The text to check.
pub(super) struct Page<'a> {
    pub file: &'a str,
    pub text: &'a str,
}

/// The line of a leg's header, for messages about the flight.
pub fn line_of_leg(text: &str, leg: usize) -> usize {
    let page = Page { file: "", text };
    page.line_of(Place::entry("leg", leg), "")
}

impl Page<'_> {
    /// An error at an offset of the text.
    pub fn at(&self, offset: usize, what: &str) -> Wrong {
        Wrong(format!("{}:{}: {}", self.file, line_at(self.text, offset), one_line(what)))
    }

    /// The parser's message, followed by `help`.
    pub fn unreadable(&self, error: &toml::de::Error, help: &str) -> Wrong {
        let start = error.span().map_or(0, |span| span.start);
        self.at(start, &format!("{}; {help}", error.message()))
    }

    pub fn wrong<T>(
        &self,
        place: Place,
        key: &str,
        found: impl Display,
        expected: impl Display,
    ) -> Result<T, Wrong> {
        let line = self.line_of(place, key);
        let within = match place {
            Place { table: "", .. } => String::new(),
            Place { table, entry: None } => format!("{table}."),
            Place { table, entry: Some(entry) } => format!("{table} {}: ", entry + 1),
        };
        Err(Wrong(format!("{}:{line}: {within}{key} is {found}, expected {expected}", self.file)))
    }

    /// Checks that each of `values` is a number in its range.
    pub fn ranges(&self, place: Place, values: &[(&str, f64, f64, f64)]) -> Result<(), Wrong> {
        let wrong = values.iter().find(|(_, value, least, most)| !(least..=most).contains(&value));
        match wrong {
            Some((key, value, least, most)) => {
                self.wrong(place, key, value, format!("{least} to {most}"))
            }
            None => Ok(()),
        }
    }

    /// Checks that those of `values` that are present are in their ranges.
    pub fn optional(
        &self,
        place: Place,
        values: &[(&str, Option<f64>, f64, f64)],
    ) -> Result<(), Wrong> {
        let there =
            values.iter().filter_map(|&(key, value, least, most)| Some((key, value?, least, most)));
        self.ranges(place, &there.collect::<Vec<_>>())
    }

    /// Checks positions on the map: each a number and within a thousand kilometres.
    pub fn places(&self, place: Place, key: &str, places: &[[f64; 2]]) -> Result<(), Wrong> {
        let values: Vec<_> =
            places.iter().flatten().map(|value| (key, *value, -1e6, 1e6)).collect();
        self.ranges(place, &values)
    }

    pub fn above(
        &self,
        place: Place,
        key: &str,
        value: f64,
        least: f64,
        what: &str,
    ) -> Result<(), Wrong> {
        if value > least {
            Ok(())
        } else {
            self.wrong(place, key, value, format!("more than {least}, {what}"))
        }
    }

    /// The line of a key, or of its table's header where the key is absent, or 1.
    fn line_of(&self, place: Place, key: &str) -> usize {
        self.offset_of(place, key).map_or(1, |offset| line_at(self.text, offset))
    }

    fn offset_of(&self, place: Place, key: &str) -> Option<usize> {
        let document = DeTable::parse(self.text).ok()?;
        let (mut table, mut start) = (document.get_ref(), document.span().start);
        for part in place.table.split('.').filter(|part| !part.is_empty()) {
            let value = table.get(part)?;
            let value = match (value.get_ref(), place.entry) {
                (DeValue::Array(entries), Some(entry)) => entries.get(entry)?,
                _ => value,
            };
            start = value.span().start;
            table = value.get_ref().as_table()?;
        }
        let written = table.iter().find(|(written, _)| written.get_ref() == key);
        Some(written.map_or(start, |(written, _)| written.span().start))
    }
}

/// The line of `text` in which `offset` lies, the first being 1.
fn line_at(text: &str, offset: usize) -> usize {
    text.bytes().take(offset).filter(|&byte| byte == b'\n').count() + 1
}

/// The parser's message in one line and without Rust's terms. Control characters are removed: a
/// file may hold anything, and must not control the terminal.
fn one_line(message: &str) -> String {
    let message = message.replace(char::is_control, " ");
    let line = message.split_whitespace().collect::<Vec<_>>().join(" ");
    let plain = [
        ("expected f64", "expected a number"),
        ("expected a boolean", "expected true or false"),
        ("expected a sequence", "expected a list of entries"),
    ];
    plain.iter().fold(line, |line, (rust, words)| line.replace(rust, words))
}
