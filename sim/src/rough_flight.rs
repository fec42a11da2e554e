//! The flights of [`Rough`] as samples with the truth beside them, without a trace between.

use crate::error::{Error, Result};
use crate::sensed::sample_of;
use chirrup_core::Sample;
use chirrup_flight::physics::glider::Glider;
use chirrup_flight::plan::flight::Flight;
use chirrup_flight::plan::rough::Rough;
use chirrup_flight::plan::scenario::Scenario;
use chirrup_flight::sensors::Sensors;
use chirrup_flight::sensors::inertial_settings::{GnssSettings, InertialSettings};

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

/// Flies it with the random numbers of `seed`, without an inertial sensor.
///
/// # Errors
/// A flight that ends in a crash, or a scenario that is wrong; tests exclude both.
pub fn fly(rough: Rough, seed: u64) -> Result<Vec<Flown>> {
    fly_changed(rough, seed, |_| {})
}

/// Flies it with an inertial sensor as well, and a satellite receiver where there is one. The
/// pressures are those of the same flight without them.
///
/// # Errors
/// As [`fly`].
pub fn fly_inertial(
    rough: Rough,
    seed: u64,
    inertial: &InertialSettings,
    gnss: Option<&GnssSettings>,
) -> Result<Vec<Flown>> {
    fly_changed(rough, seed, |scenario| {
        scenario.sensors.inertial = Some(inertial.clone());
        scenario.sensors.gnss = gnss.cloned();
    })
}

fn fly_changed(rough: Rough, seed: u64, change: impl Fn(&mut Scenario)) -> Result<Vec<Flown>> {
    let (mut scenario, glider) = rough.scenario()?;
    change(&mut scenario);
    fly_scenario(&scenario, glider, seed)
}

/// Flies any scenario with the random numbers of `seed`.
///
/// # Errors
/// A flight that ends in a crash.
pub fn fly_scenario(scenario: &Scenario, glider: Glider, seed: u64) -> Result<Vec<Flown>> {
    let mut flight = Flight::new(scenario, glider, seed);
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
        let flies_on = flight
            .advance()
            .map_err(|crash| Error::Refused(format!("{}: {crash:?}", scenario.name)))?;
        if !flies_on {
            return Ok(flown);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inertial_sensor_changes_no_pressure_and_feels_a_load_of_one_straight_on() {
        let gnss = GnssSettings::default();
        let bare = fly(Rough::Glide, 3).expect("it is flown");
        let inertial = InertialSettings::perfect();
        let with = fly_inertial(Rough::Glide, 3, &inertial, Some(&gnss)).expect("it is flown");
        assert_eq!(bare.len(), with.len());
        let (mut velocities, mut level_mps2) = (0, 0.0);
        for (bare, with) in bare.iter().zip(&with) {
            let stripped = Sample { inertial: None, ground_velocity: None, ..with.sample };
            assert_eq!((stripped, bare.truth_mps), (bare.sample, with.truth_mps));
            velocities += usize::from(with.sample.ground_velocity.is_some());
            level_mps2 += with.sample.inertial.map_or(0.0, |it| f64::from(it.specific_force.z.0));
        }
        assert!((velocities as f64 / bare.len() as f64 - 0.1).abs() < 0.001, "{velocities}");
        // Straight on the load is one.
        let mean_mps2 = level_mps2 / bare.len() as f64;
        assert!((mean_mps2 + 9.8).abs() < 0.1, "{mean_mps2}");
    }
}
