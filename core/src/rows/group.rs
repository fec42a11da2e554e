//! Settings together: a struct of them, and all the structs.

use super::row::Row;
use super::setting::Setting;
use crate::error::SettingsError;

/// A struct of settings, reached by the places of its rows.
pub trait Group {
    /// Its rows, in order.
    fn rows(&self) -> &'static [Row];

    /// The setting of the row at `place`; `None` where there is no such row.
    fn setting(&self, place: usize) -> Option<&dyn Setting>;

    /// The same, to be changed.
    fn setting_mut(&mut self, place: usize) -> Option<&mut dyn Setting>;

    /// Whether every value is in the range of its row.
    ///
    /// # Errors
    /// The first that is not, by name, with its value and the range.
    fn check_ranges(&self) -> Result<(), SettingsError> {
        for (place, row) in self.rows().iter().enumerate() {
            if let Some(setting) = self.setting(place) {
                setting.check(row)?;
            }
        }
        Ok(())
    }
}

/// What is known of a group without having one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GroupRows {
    /// The name of its table in a settings file; empty for keys that stand outside any table.
    pub name: &'static str,
    /// What it is about, in plain sentences.
    pub what: &'static str,
    /// Its rows.
    pub rows: &'static [Row],
    /// Whether it describes the instrument's own hardware, which the core and a bench do not use.
    pub is_device: bool,
    /// Whether settings are whole without it.
    pub is_optional: bool,
}

impl GroupRows {
    /// A group whose keys stand outside any table.
    pub const fn outside(what: &'static str, rows: &'static [Row]) -> Self {
        Self { name: "", what, rows, is_device: false, is_optional: false }
    }

    /// A group with a table of its own.
    pub const fn table(name: &'static str, what: &'static str, rows: &'static [Row]) -> Self {
        Self { name, what, rows, is_device: false, is_optional: false }
    }

    /// The same, which may be absent.
    pub const fn optional(name: &'static str, what: &'static str, rows: &'static [Row]) -> Self {
        Self { name, what, rows, is_device: false, is_optional: true }
    }

    /// A table about the instrument's own hardware.
    pub const fn device(name: &'static str, what: &'static str, rows: &'static [Row]) -> Self {
        Self { is_device: true, ..Self::table(name, what, rows) }
    }
}

/// All the settings of something, group by group.
pub trait Groups: Clone + Default {
    /// What the groups are, in order; those outside any table come first.
    const GROUPS: &'static [GroupRows];

    /// The group at `place`; `None` for an optional one that is not there.
    fn group(&self, place: usize) -> Option<&dyn Group>;

    /// The group at `place`, at its defaults if it was not there.
    fn group_mut(&mut self, place: usize) -> Option<&mut dyn Group>;

    /// Takes an optional group away; `false` where the group at `place` is not optional.
    fn remove(&mut self, place: usize) -> bool;
}

/// The place of the setting called `name`: of its group, and of its row in it.
pub fn find<S: Groups>(name: &str) -> Option<(usize, usize)> {
    S::GROUPS.iter().enumerate().find_map(|(group, known)| {
        let row = known.rows.iter().position(|row| row.name == name)?;
        Some((group, row))
    })
}
