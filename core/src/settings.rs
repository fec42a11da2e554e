//! All the settings: one group a stage, each with its own rows and ranges.
//!
//! A [`Settings`] is plain data. Fill it in, or set it by the names of its rows, as whatever reads
//! a settings file does; then [`Settings::build`] checks it once and gives the pipeline that runs.

use crate::air::altimeter::AltimeterSettings;
use crate::air::energy::EnergySettings;
use crate::device::DeviceSettings;
use crate::inertial::settings::InertialSettings;
use crate::motion::average::AverageSettings;
use crate::motion::estimator::FilterSettings;
use crate::motion::polar::PolarSettings;
use crate::reading::ReadingSettings;
use crate::rows::{Group, GroupRows, Groups};
use crate::sound::settings::ToneSettings;

/// The settings of an instrument.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Settings {
    /// Where total energy comes from.
    pub energy: EnergySettings,
    /// Which filter makes the vertical speed, and how quick it is.
    pub filter: FilterSettings,
    /// Whether an inertial sensor is used.
    pub inertial: InertialSettings,
    /// Over which time the average is taken.
    pub average: AverageSettings,
    /// How readings are given.
    pub reading: ReadingSettings,
    /// What the altimeter is set to.
    pub altimeter: AltimeterSettings,
    /// The glider's polar; without one there is neither netto nor a speed to fly.
    pub polar: Option<PolarSettings>,
    /// What climb and sink sound like.
    pub tone: ToneSettings,
    /// What is soldered to the instrument.
    pub device: DeviceSettings,
}

impl Groups for Settings {
    const GROUPS: &'static [GroupRows] = &[
        GroupRows::outside(EnergySettings::ABOUT, EnergySettings::ROWS),
        GroupRows::outside(FilterSettings::ABOUT, FilterSettings::ROWS),
        GroupRows::outside(InertialSettings::ABOUT, InertialSettings::ROWS),
        GroupRows::outside(AverageSettings::ABOUT, AverageSettings::ROWS),
        GroupRows::outside(ReadingSettings::ABOUT, ReadingSettings::ROWS),
        GroupRows::table("altimeter", AltimeterSettings::ABOUT, AltimeterSettings::ROWS),
        GroupRows::optional("polar", PolarSettings::ABOUT, PolarSettings::ROWS),
        GroupRows::table("tone", ToneSettings::ABOUT, ToneSettings::ROWS),
        GroupRows::device("device", DeviceSettings::ABOUT, DeviceSettings::ROWS),
    ];

    fn group(&self, place: usize) -> Option<&dyn Group> {
        match place {
            0 => Some(&self.energy),
            1 => Some(&self.filter),
            2 => Some(&self.inertial),
            3 => Some(&self.average),
            4 => Some(&self.reading),
            5 => Some(&self.altimeter),
            6 => self.polar.as_ref().map(|polar| polar as &dyn Group),
            7 => Some(&self.tone),
            8 => Some(&self.device),
            _ => None,
        }
    }

    fn group_mut(&mut self, place: usize) -> Option<&mut dyn Group> {
        match place {
            0 => Some(&mut self.energy),
            1 => Some(&mut self.filter),
            2 => Some(&mut self.inertial),
            3 => Some(&mut self.average),
            4 => Some(&mut self.reading),
            5 => Some(&mut self.altimeter),
            6 => Some(self.polar.get_or_insert_default()),
            7 => Some(&mut self.tone),
            8 => Some(&mut self.device),
            _ => None,
        }
    }

    fn remove(&mut self, place: usize) -> bool {
        let is_polar = place == 6;
        if is_polar {
            self.polar = None;
        }
        is_polar
    }
}
