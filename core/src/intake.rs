//! The stages before the filter: from a sample to a height, a new measurement or not.
//!
//! ```text
//! sample -> clock -> held values -> air data -> energy height -> repeats -> the filter's due
//! ```
//!
//! None of them depends on the filter: one intake serves many filters, where a bench compares them
//! on one flight.

use crate::air::air_data::AirData;
use crate::air::energy::{Energy, EnergyHeight, EnergySettings, EnergySource, EnergyState};
use crate::error::SettingsError;
use crate::motion::channel::Due;
use crate::motion::estimator::Estimate;
use crate::reading::{Status, VerticalScale};
use crate::sensing::clock::{Arrival, ClockState};
use crate::sensing::held::Held;
use crate::sensing::repeats::{Freshness, RepeatState, is_round};
use crate::sensing::sample::{Sample, Speed};
use crate::units::{Metre, Micros, Pascal};

/// The stages with their settings.
#[derive(Clone, Debug, PartialEq)]
pub struct Intake {
    energy: Energy,
    scale: VerticalScale,
}

/// Their state.
#[derive(Clone, Debug, Default)]
pub struct IntakeState {
    /// Of the samples with a static pressure.
    pub(crate) clock: ClockState,
    pub(crate) held: Held,
    energy: EnergyState,
    /// Time that has passed over the samples used, from any origin.
    pub(crate) running: Micros,
    repeats: RepeatState,
    freshness: Freshness,
    /// The filter has a height since the last restart, and that is so long ago.
    has_begun: bool,
    waited: Micros,
}

/// What a sample with a static pressure brings to any filter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Taken {
    /// Its height.
    pub due: Due,
    /// [`Status::Gap`] or [`Status::ClockReset`] where nothing before it counts.
    pub restarted: Option<Status>,
    /// The sensor is dead, so that there is no reading.
    pub frozen: bool,
    /// Metres in which vertical speeds are given, for one of the standard atmosphere.
    pub scale: f32,
}

/// All that is known of a sample before the filter.
#[derive(Clone, Debug)]
pub(crate) struct Measured {
    pub(crate) taken: Taken,
    /// Time since the sample before; zero at the first and where the clock was set back.
    pub(crate) elapsed: Micros,
    /// Time since the last sample with or without a static pressure.
    pub(crate) since_last: Micros,
    /// The airspeed, its own or held for it, where it is usable.
    pub(crate) speed: Option<Speed>,
    pub(crate) air: AirData,
    pub(crate) energy: EnergyHeight,
}

impl Intake {
    /// # Errors
    /// A setting out of range.
    pub(crate) fn of(energy: &EnergySettings, scale: VerticalScale) -> Result<Self, SettingsError> {
        Ok(Self { energy: Energy::new(energy)?, scale })
    }

    /// Takes a sample, with or without a static pressure.
    ///
    /// # Errors
    /// The status of one that brings no height: it has none ([`Status::Partial`]), or it is not
    /// used.
    pub fn step(&self, state: &mut IntakeState, sample: &Sample) -> Result<Taken, Status> {
        if sample.static_pressure.is_none() {
            state.hold(sample)?;
            return Err(Status::Partial);
        }
        self.take(state, sample).map(|measured| measured.taken)
    }

    /// Takes a sample with a static pressure.
    ///
    /// # Errors
    /// Why it is not used.
    #[inline]
    pub(crate) fn take(
        &self,
        state: &mut IntakeState,
        sample: &Sample,
    ) -> Result<Measured, Status> {
        let pressure = sample.usable_static_pressure().ok_or(Status::BadPressure)?;
        let (elapsed, restarted) = match state.clock.step(sample.time) {
            Arrival::Repeated => return Err(Status::RepeatedTime),
            Arrival::Backward => return Err(Status::TimeWentBack),
            Arrival::First => (Micros(0), None),
            Arrival::After(elapsed) => (elapsed, None),
            Arrival::AfterGap(elapsed) => (elapsed, Some(Status::Gap)),
            Arrival::ClockReset => (Micros(0), Some(Status::ClockReset)),
        };
        if restarted.is_some() {
            state.restart();
        }
        state.running = Micros(state.running.0.saturating_add(elapsed.0));
        let since_last = state.held.since_last(sample.time).unwrap_or(elapsed);
        let filled = state.held.filled(sample);
        let sample = filled.as_ref().unwrap_or(sample);
        let air = AirData::at(pressure, sample);
        let te_pressure = sample.usable_te_pressure();
        let energy = self.energy.step(&mut state.energy, state.running, &air, te_pressure);
        let due = state.due(elapsed, &air, &energy, te_pressure);
        let frozen = state.freshness == Freshness::Frozen;
        let taken = Taken { due, restarted, frozen, scale: self.scale.of(&air) };
        Ok(Measured { taken, elapsed, since_last, speed: sample.usable_speed(), air, energy })
    }
}

impl IntakeState {
    /// Takes a sample without a static pressure: its values are held for the next that has one.
    /// Returns the time since the sample before it.
    ///
    /// # Errors
    /// [`Status::TimeWentBack`] where it is not used.
    pub(crate) fn hold(&mut self, sample: &Sample) -> Result<Micros, Status> {
        if !self.held.is_in_order(sample.time) {
            return Err(Status::TimeWentBack);
        }
        let since_last = self.held.since_last(sample.time).unwrap_or_default();
        self.held.filled(sample);
        Ok(since_last)
    }

    /// The source of total energy in use.
    pub(crate) fn source(&self) -> EnergySource {
        self.energy.source()
    }

    /// What the filter is due; a pressure that is not a new measurement leaves it unchanged.
    fn due(
        &mut self,
        elapsed: Micros,
        air: &AirData,
        energy: &EnergyHeight,
        te_pressure: Option<Pascal>,
    ) -> Due {
        let pressure = match energy.source {
            EnergySource::Probe => te_pressure.unwrap_or(air.pressure),
            _ => air.pressure,
        };
        // A round pressure looks like a coarse sensor's.
        let round = || is_round(air.pressure, air.altitude);
        let thawed = self.freshness == Freshness::Frozen;
        self.freshness = self.repeats.step(elapsed, pressure, round);
        self.waited = Micros(self.waited.0.saturating_add(elapsed.0));
        let waited = (!self.has_begun || self.freshness == Freshness::Fresh).then_some(self.waited);
        if waited.is_some() {
            (self.has_begun, self.waited) = (true, Micros(0));
        }
        Due {
            height: energy.height,
            kinetic: kinetic_part(energy, air),
            waited,
            thawed,
            // While the source is missing, the stick bends the height.
            bare: energy.source == EnergySource::None || energy.held,
        }
    }

    /// Clears what depends on past heights; the clock and what is known about the sensor stay.
    fn restart(&mut self) {
        self.energy.restart();
        (self.has_begun, self.waited) = (false, Micros(0));
    }
}

impl Taken {
    /// The status of a sample of which the filter says `estimate`, as far as these two tell it;
    /// `None` where the reading is good and only the checks of the sensors remain.
    pub fn status(&self, estimate: &Estimate) -> Option<Status> {
        self.restarted.or(if !estimate.settled {
            Some(Status::Settling)
        } else if estimate.suspect {
            Some(Status::Suspect)
        } else {
            None
        })
    }
}

/// The part of the energy height that comes from the airspeed; 0 with a probe, which feels no push
/// at the static ports.
fn kinetic_part(energy: &EnergyHeight, air: &AirData) -> Metre {
    match energy.source {
        EnergySource::Electronic => Metre(energy.height.0 - air.altitude.0),
        _ => Metre(0.0),
    }
}
