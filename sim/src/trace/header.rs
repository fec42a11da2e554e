//! The header of a CSV: the names of its columns, what its first rows hold, and where a channel is.

use super::column::Column;
use super::columns::{Channel, ColumnMap, list};
use super::first::First;
use super::guess::{Origin, Values};
use super::lines::excerpt;
use super::number::Style;
use super::unit::Unit;

/// No more columns are compared by their values: a header may have tens of thousands.
pub(super) const MOST_COMPARED: usize = 16;

/// The names of the columns, trimmed, where they stand, and the rows below.
pub(super) struct Header<'a> {
    /// The file, for messages.
    pub file: &'a str,
    /// The line of the header.
    pub line: u64,
    /// The names; of a file without them the numbers of the columns.
    pub names: Vec<String>,
    /// Whether the file has them.
    pub has_names: bool,
    /// The first rows; none for a header in the middle of a file.
    pub first: &'a First,
    /// How numbers are written.
    pub style: Style,
}

/// A column and where its unit comes from.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    /// Place in the row, the first being 0.
    pub index: usize,
    /// Its unit, as far as names and the user say.
    pub unit: &'static Unit,
    /// Who says so.
    pub origin: Origin,
}

impl Header<'_> {
    /// The column of a channel: the one that the user named, else the one with our own name, else
    /// the one with the channel's name and a unit.
    pub fn place(&self, channel: Channel, map: &ColumnMap) -> Option<Place> {
        if let Some(named) = map.named(channel) {
            let index = self.position(&named.column)?;
            return Some(Place { index, unit: named.unit, origin: named.origin });
        }
        let own = channel.own_columns().iter().find_map(|own| self.position(own));
        let index =
            own.or_else(|| self.names.iter().position(|name| channel.is_with_unit(name)))?;
        let unit = channel.unit_of(&self.names[index]);
        Some(Place { index, unit, origin: Origin::Name })
    }

    /// The same as a column.
    pub fn find(&self, channel: Channel, map: &ColumnMap) -> Option<Column> {
        self.place(channel, map).map(|place| self.column(place.index, place.unit))
    }

    /// A column of this unit.
    pub fn column(&self, index: usize, unit: &'static Unit) -> Column {
        let name = excerpt(self.names[index].as_bytes());
        Column { index, name, unit, style: self.style }
    }

    /// Where the column of a name is, or the one of a number such as `#2`.
    pub fn position(&self, name: &str) -> Option<usize> {
        let named = self.names.iter().position(|own| own.to_lowercase() == name.to_lowercase());
        named.or_else(|| {
            let number: usize = name.strip_prefix('#')?.parse().ok()?;
            number.checked_sub(1).filter(|index| *index < self.names.len())
        })
    }

    /// How to name a column in `--columns`: by its name, or by its number where that cannot be
    /// typed or is another's.
    pub fn word(&self, index: usize) -> String {
        let name = &self.names[index];
        let is_odd = |c: char| c.is_control() || "\u{fffd},:=\"#".contains(c);
        let is_typed = !name.is_empty() && name.trim() == name && !name.chars().any(is_odd);
        if is_typed && self.position(name) == Some(index) {
            name.clone()
        } else {
            format!("#{}", index + 1)
        }
    }

    /// The first values of a column, for `judge`.
    pub fn with_values<T>(&self, index: usize, judge: impl FnOnce(&Values<'_>) -> T) -> T {
        let cells = self.first.column(index);
        judge(&Values::of(&cells, self.style))
    }

    /// The names as a message says them.
    pub fn list_of_names(&self) -> String {
        const MOST: usize = 12;
        if !self.has_names {
            return format!("no names of columns, but {} columns of values", self.names.len());
        }
        let shown: Vec<_> =
            self.names.iter().take(MOST).map(|name| excerpt(name.as_bytes())).collect();
        match (self.names.len(), self.names.len().saturating_sub(MOST)) {
            (1, _) => format!("only the column {}", shown[0]),
            (_, 0) => format!("the columns {}", list(shown, "and")),
            (_, more) => format!("the columns {} and {more} more", shown.join(", ")),
        }
    }
}
