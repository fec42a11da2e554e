//! A recording as heights over time: altitude, kinetic height, the height of the probe's line.

use super::Recording;
use super::contents::Contents;
use chirrup_core::pressure_altitude;
use chirrup_core::stages::{AirData, kinetic_height};

/// Heights in metres at increasing times.
#[derive(Clone, Debug, Default)]
pub struct Track {
    /// Time of each sample in seconds.
    pub times_s: Vec<f64>,
    /// Pressure altitude of the standard atmosphere.
    pub altitude_m: Vec<f64>,
    /// True airspeed in m/s; empty unless nearly every sample has one that is a measurement
    /// ([`Contents::has_airspeed`]).
    pub speed_mps: Vec<f64>,
    /// Kinetic height in the standard atmosphere's metres; as long as the airspeed.
    pub kinetic_m: Vec<f64>,
    /// Pressure altitude in the probe's line; empty unless nearly every sample has one.
    pub probe_m: Vec<f64>,
    /// sqrt(rho0 / rho).
    pub density_ratio: Vec<f64>,
    /// What the recording holds and what it lacks.
    pub contents: Contents,
}

/// A channel missing in more than this share of the samples counts as absent.
const MISSING: f64 = 0.02;

impl Track {
    /// Computes the heights.
    pub fn of(recording: &Recording) -> Self {
        let count = recording.samples.len();
        let mut track = Self {
            times_s: recording.times_s(),
            altitude_m: Vec::with_capacity(count),
            density_ratio: Vec::with_capacity(count),
            ..Self::default()
        };
        let [mut speed, mut kinetic, mut probe] = [(); 3].map(|()| Filled::default());
        for sample in recording.samples.iter() {
            track.contents.take(&sample);
            let Some(air) = AirData::of(&sample) else { continue };
            track.altitude_m.push(f64::from(air.altitude.0));
            track.density_ratio.push(f64::from(air.density_ratio));
            let airspeed = air.true_airspeed;
            speed.take(airspeed.map(|speed| f64::from(speed.0)), count);
            let kinetic_m = |speed| f64::from(kinetic_height(speed).0 / air.temperature_ratio);
            kinetic.take(airspeed.map(kinetic_m), count);
            let probe_m = |pressure| f64::from(pressure_altitude(pressure).0);
            probe.take(sample.usable_te_pressure().map(probe_m), count);
        }
        if track.contents.has_airspeed() {
            (track.speed_mps, track.kinetic_m) = (speed.finish(), kinetic.finish());
        }
        track.probe_m = probe.finish();
        track
    }
}

/// A channel's values as they come, the few that are missing taken from the one before, or from the
/// first. A channel that never comes needs no memory.
#[derive(Default)]
pub(crate) struct Filled {
    values: Vec<f64>,
    taken: usize,
    missing: usize,
}

impl Filled {
    /// Takes the next value of about `count`.
    pub fn take(&mut self, value: Option<f64>, count: usize) {
        if value.is_none() {
            self.missing += 1;
        }
        if let Some(value) = value.or(self.values.last().copied()) {
            if self.values.is_empty() {
                self.values.reserve_exact(count);
                self.values.resize(self.taken, value);
            }
            self.values.push(value);
        }
        self.taken += 1;
    }

    /// All of them; none where more are missing than may be.
    pub fn finish(self) -> Vec<f64> {
        let is_absent = self.missing as f64 > MISSING * self.taken as f64;
        if is_absent { Vec::new() } else { self.values }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn filled(values: &[Option<f64>]) -> Vec<f64> {
        let mut filled = Filled::default();
        values.iter().for_each(|value| filled.take(*value, values.len()));
        filled.finish()
    }

    #[test]
    fn the_few_that_are_missing_are_as_the_one_before_and_at_first_as_the_first() {
        let mut values: Vec<Option<f64>> = (0..200).map(|place| Some(f64::from(place))).collect();
        (values[0], values[1], values[100], values[199]) = (None, None, None, None);
        let found = filled(&values);
        assert_eq!((found.len(), found[0], found[1], found[2]), (200, 2.0, 2.0, 2.0));
        assert_eq!((found[100], found[198], found[199]), (99.0, 198.0, 198.0));
        values[50] = None;
        assert_eq!(filled(&values), [0.0; 0], "more than 2 % are missing");
        assert_eq!(filled(&[None; 10]), [0.0; 0]);
    }
}
