//! A recording as heights over time: altitude, kinetic height, the height of the probe's line.

use super::Recording;
use chirrup_core::pressure_altitude;
use chirrup_core::stages::{AirData, kinetic_height};

/// Heights in metres at increasing times.
#[derive(Clone, Debug, Default)]
pub struct Track {
    /// Time of each sample in seconds.
    pub times_s: Vec<f64>,
    /// Pressure altitude of the standard atmosphere.
    pub altitude_m: Vec<f64>,
    /// True airspeed in m/s; empty unless nearly every sample has one.
    pub speed_mps: Vec<f64>,
    /// Kinetic height in the standard atmosphere's metres; as long as the airspeed.
    pub kinetic_m: Vec<f64>,
    /// Pressure altitude in the probe's line; empty unless nearly every sample has one.
    pub probe_m: Vec<f64>,
    /// sqrt(rho0 / rho).
    pub density_ratio: Vec<f64>,
}

/// A channel missing in more than this share of the samples counts as absent.
const MISSING: f64 = 0.02;

impl Track {
    /// Computes the heights.
    pub fn of(recording: &Recording) -> Self {
        let mut track = Self { times_s: recording.times_s(), ..Self::default() };
        let (mut speeds, mut probes) = (Vec::new(), Vec::new());
        for sample in recording.samples.iter() {
            let Some(air) = AirData::of(&sample) else { continue };
            track.altitude_m.push(f64::from(air.altitude.0));
            track.density_ratio.push(f64::from(air.density_ratio));
            speeds.push(air.true_airspeed.map(|speed| {
                (f64::from(speed.0), f64::from(kinetic_height(speed).0 / air.temperature_ratio))
            }));
            probes.push(
                sample
                    .usable_te_pressure()
                    .map(|pressure| f64::from(pressure_altitude(pressure).0)),
            );
        }
        if let Some(speeds) = filled(speeds) {
            (track.speed_mps, track.kinetic_m) = speeds.into_iter().unzip();
        }
        track.probe_m = filled(probes).unwrap_or_default();
        track
    }
}

/// The values with the few that are missing taken from the one before; `None` where more are
/// missing.
fn filled<T: Copy>(values: Vec<Option<T>>) -> Option<Vec<T>> {
    let missing = values.iter().filter(|value| value.is_none()).count();
    if missing as f64 > MISSING * values.len() as f64 {
        return None;
    }
    let mut last = values.iter().copied().flatten().next()?;
    Some(
        values
            .into_iter()
            .map(|value| {
                last = value.unwrap_or(last);
                last
            })
            .collect(),
    )
}
