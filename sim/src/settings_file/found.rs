//! What was read out of a settings file besides the settings.

use super::wrong::Wrong;
use chirrup_core::SettingsError;
use std::collections::HashMap;

/// Notes on the file.
#[derive(Clone, Debug, Default)]
pub struct Found {
    places: HashMap<Place, usize>,
    /// Settings in an earlier format: the line, and how to write them now.
    pub old: Vec<Wrong>,
}

/// A setting, or a field of the entry of a list: the name, and the entry and its field.
type Place = (&'static str, Option<(usize, &'static str)>);

impl Found {
    /// Enters the setting `name`, whose key is at the byte `at`.
    pub fn setting(&mut self, name: &'static str, at: usize) {
        self.places.insert((name, None), at);
    }

    /// Enters a field of an entry of the list `name`, the first entry being 1.
    pub fn field(&mut self, name: &'static str, entry: usize, field: &'static str, at: usize) {
        self.places.insert((name, Some((entry, field))), at);
    }

    /// The offset of the setting `name`, where the text has it.
    pub fn place(&self, name: &'static str) -> Option<usize> {
        self.places.get(&(name, None)).copied()
    }

    /// The names of all settings that the text has.
    pub fn names(&self) -> Vec<&'static str> {
        self.places.keys().filter(|(_, field)| field.is_none()).map(|(name, _)| *name).collect()
    }

    /// The offset of the setting that `error` is about, or else of its list, where the text has it.
    pub fn place_of(&self, error: &SettingsError) -> Option<usize> {
        let list = error.entry.map_or(error.parameter, |(list, _)| list);
        let field = error.entry.map(|(_, entry)| (entry, error.parameter));
        self.places.get(&(list, field)).or_else(|| self.places.get(&(list, None))).copied()
    }
}
