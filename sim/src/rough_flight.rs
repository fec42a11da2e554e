//! The flights of [`Rough`] as samples with the truth beside them, without a trace between.

use crate::error::{Error, Result};
use crate::sensed::sample_of;
use chirrup_core::Sample;
use chirrup_flight::plan::flight::Flight;
use chirrup_flight::plan::rough::Rough;
use chirrup_flight::sensors::Sensors;

/// A moment of a flight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flown {
    /// What the sensors gave.
    pub sample: Sample,
    /// When, in s.
    pub time_s: f64,
    /// The true climb since the moment before, in m/s; of the first, 0.
    pub truth_mps: f64,
}

/// Flies it with the random numbers of `seed`.
///
/// # Errors
/// A flight that ends in a crash, or a scenario that is wrong; tests exclude both.
pub fn fly(rough: Rough, seed: u64) -> Result<Vec<Flown>> {
    let (scenario, glider) = rough.scenario()?;
    let mut flight = Flight::new(&scenario, glider, seed);
    let mut sensors = Sensors::new(&scenario.sensors, &scenario.fault, seed);
    let (mut flown, mut before) = (Vec::new(), None);
    loop {
        let moment = flight.moment();
        if let Some(sensed) = sensors.take(&moment) {
            let now = (moment.time_s, moment.energy_height_m());
            let (time_s, height_m) = before.replace(now).unwrap_or((now.0 - 1.0, now.1));
            // The energy is to come from the airspeed.
            let sample = Sample { te_pressure: None, ..sample_of(&sensed) };
            let truth_mps = (now.1 - height_m) / (now.0 - time_s);
            flown.push(Flown { sample, time_s: now.0, truth_mps });
        }
        let flies_on =
            flight.advance().map_err(|crash| Error::Refused(format!("{rough:?}: {crash:?}")))?;
        if !flies_on {
            return Ok(flown);
        }
    }
}
