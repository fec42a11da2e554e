//! Everything that a settings file sets: the instrument, and how the bench speaks of it.

use super::found::Found;
use super::old::Old;
use super::wrong::Wrong;
use crate::units::{self, Units};
use chirrup_core::Settings;
use chirrup_core::rows::{Group, GroupRows, Groups};
use toml::de::DeTable;

/// The settings of an instrument and the bench's own.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct All {
    /// The instrument's.
    pub settings: Settings,
    /// The units in texts, pictures and pages for people.
    pub units: Units,
}

impl All {
    /// These settings, and the bench's own at their defaults.
    pub fn of(settings: &Settings) -> Self {
        Self { settings: settings.clone(), units: Units::default() }
    }
}

const OF_INSTRUMENT: usize = Settings::GROUPS.len();

/// The instrument's groups, then the units.
const ALL: [GroupRows; OF_INSTRUMENT + 1] = {
    let mut all = [units::GROUP; OF_INSTRUMENT + 1];
    let mut place = 0;
    while place < OF_INSTRUMENT {
        all[place] = Settings::GROUPS[place];
        place += 1;
    }
    all
};

impl Groups for All {
    const GROUPS: &'static [GroupRows] = &ALL;

    fn group(&self, place: usize) -> Option<&dyn Group> {
        if place == OF_INSTRUMENT { Some(&self.units) } else { self.settings.group(place) }
    }

    fn group_mut(&mut self, place: usize) -> Option<&mut dyn Group> {
        if place == OF_INSTRUMENT { Some(&mut self.units) } else { self.settings.group_mut(place) }
    }

    fn remove(&mut self, place: usize) -> bool {
        self.settings.remove(place)
    }
}

impl Old for All {
    fn take_old(
        &mut self,
        name: &str,
        table: &DeTable<'_>,
        found: &mut Found,
    ) -> Result<&'static [&'static str], Wrong> {
        self.settings.take_old(name, table, found)
    }
}
