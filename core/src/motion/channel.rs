//! The path from one height to its vertical speed: which filter takes it, and when.
//!
//! A height that is no new measurement leaves the estimate unchanged. One that follows a dead
//! sensor is a new start.

use crate::error::SettingsError;
use crate::motion::estimator::{Estimate, Estimator, EstimatorState, FilterSettings};
use crate::units::{Metre, MetrePerSecond, Micros};

/// The filter for the altitude alone, and the same for heights of total energy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Filters {
    pub(crate) altitude: Estimator,
    energy: Estimator,
}

/// What a sample brings to the filter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Due {
    /// The height, compensated where it can be.
    pub height: Metre,
    /// The part of it that comes from the airspeed.
    pub kinetic: Metre,
    /// Time since the filter took a height; `None` where this one is no new measurement.
    pub waited: Option<Micros>,
    /// The sensor was frozen until then.
    pub thawed: bool,
    /// Without total energy, so that the stick bends the height.
    pub bare: bool,
}

/// State of the path.
#[derive(Clone, Copy, Debug, Default)]
pub struct Channel {
    estimator: EstimatorState,
    estimate: Option<Estimate>,
}

impl Filters {
    /// # Errors
    /// A setting out of range.
    pub(crate) fn of(settings: &FilterSettings) -> Result<Self, SettingsError> {
        let altitude = Estimator::of(settings)?;
        Ok(Self { altitude, energy: altitude.of_energy() })
    }
}

impl Channel {
    /// Takes what a sample brings.
    #[inline]
    pub fn step(&mut self, filters: &Filters, due: &Due) -> Estimate {
        let waited = match (self.estimate, due.waited) {
            (Some(estimate), None) => return estimate,
            (_, waited) => waited.unwrap_or_default(),
        };
        if due.thawed {
            self.estimator.restart();
        }
        let filter = if due.bare { &filters.altitude } else { &filters.energy };
        let estimate = filter.step_energy(&mut self.estimator, waited, due.height, due.kinetic);
        *self.estimate.insert(estimate)
    }

    /// The last estimate, where there is one.
    pub(crate) fn estimate(&self) -> Option<&Estimate> {
        self.estimate.as_ref()
    }

    /// Deviation of the last reading of the pressures, where there is one.
    pub(crate) fn deviation(&self) -> Option<MetrePerSecond> {
        self.estimate.map(|estimate| estimate.deviation)
    }

    /// Clears what depends on past heights, after a gap; keeps what is known about the sensor.
    pub fn restart(&mut self) {
        self.estimator.restart();
        self.estimate = None;
    }
}
