//! What is known of a setting: its row.

/// One setting: what every reader and writer of settings must know about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// Its whole name in a settings file, such as `tone.volume`.
    pub name: &'static str,
    /// Its unit, such as `m/s`; empty where it has none.
    pub unit: &'static str,
    /// Which values it takes.
    pub kind: Kind,
    /// What it does, in plain sentences.
    pub what: &'static str,
}

/// Which values a setting takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// A number in a range, both ends included.
    Number {
        /// The smallest.
        least: f32,
        /// The largest.
        most: f32,
        /// Whether 0 is allowed too, though it lies outside the range.
        or_zero: bool,
        /// Whether only whole numbers will do.
        whole: bool,
    },
    /// `true` or `false`.
    Flag,
    /// One of these words.
    Word(&'static [Word]),
    /// A list of entries, each with all of these fields.
    List {
        /// The fields.
        fields: &'static [Field],
        /// The least number of entries.
        least: usize,
        /// The largest number of entries there is room for.
        most: usize,
    },
}

/// A word that a setting may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Word {
    /// As written.
    pub word: &'static str,
    /// What it chooses.
    pub what: &'static str,
}

/// A field of the entries of a list; a number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Field {
    /// Its name, such as `pitch_hz`.
    pub name: &'static str,
    /// Its unit; empty where it has none.
    pub unit: &'static str,
    /// The smallest value.
    pub least: f32,
    /// The largest value.
    pub most: f32,
    /// What it is, in plain words.
    pub what: &'static str,
}

/// The most fields that an entry has.
pub const MOST_FIELDS: usize = 4;

/// An entry of a list, field by field; where there is no field, 0.
pub type Entry = [f32; MOST_FIELDS];

/// The value of a setting, whatever its kind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Value {
    /// Of a number, whole or not.
    Number(f32),
    /// Of a flag.
    Flag(bool),
    /// The place of the word among the words of its row.
    Word(usize),
    /// How many entries a list has; [`Setting::entry`](super::Setting::entry) gives them.
    Entries(usize),
}

/// The struct of a list's entries; [`setting_entry!`](crate::setting_entry) makes it.
pub trait EntryRow: Copy {
    /// Its fields, in order.
    const FIELDS: &'static [Field];

    /// Field by field.
    fn to_entry(self) -> Entry;

    /// From its fields.
    fn from_entry(entry: &Entry) -> Self;
}

impl Kind {
    /// A number from `least` to `most`.
    pub const fn number(least: f32, most: f32) -> Self {
        Self::Number { least, most, or_zero: false, whole: false }
    }

    /// 0, or a number from `least` to `most`.
    pub const fn number_or_zero(least: f32, most: f32) -> Self {
        Self::Number { least, most, or_zero: true, whole: false }
    }

    /// A whole number from `least` to `most`.
    pub const fn whole(least: u8, most: u8) -> Self {
        Self::Number { least: least as f32, most: most as f32, or_zero: false, whole: true }
    }

    /// A list of `least` to `most` entries.
    pub const fn list<E: EntryRow>(least: usize, most: usize) -> Self {
        Self::List { fields: E::FIELDS, least, most }
    }
}
