//! The figures, in the shape of their JSON. "Fixed" is the fixed filter, the steady Kalman filter,
//! of some response time.

use super::air::Edge;
use super::centring::report::CentringReport;
use super::rough::report::RoughReport;
use super::tuning::TuningReport;
use crate::error::{Error, Result};
use chirrup_core::Settings;
use serde::Serialize;
use serde_json::{Number, Value};

/// What was measured.
#[derive(Clone, Debug, Serialize)]
pub struct Answer {
    /// The user's name for the settings.
    pub name: String,
    /// All of them.
    #[serde(serialize_with = "crate::settings_file::as_json")]
    pub settings: Settings,
    /// Still air and smooth thermals.
    #[serde(flatten)]
    pub still: Option<Report>,
    /// Rough air.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rough: Option<RoughReport>,
    /// Pilots who centre thermals by ear.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pilots: Option<CentringReport>,
    /// Planted flights, tuned with their truth and without.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tuning: Option<TuningReport>,
}

/// What was measured in still air and smooth thermals.
#[derive(Clone, Debug, Serialize)]
pub struct Report {
    /// The user's name for the settings.
    #[serde(skip)]
    pub name: String,
    /// All of them.
    #[serde(skip)]
    pub settings: Settings,
    /// Samples a second.
    pub rate_hz: f64,
    /// Standard deviation of the sensor's heights.
    pub sensor_noise_m: f64,
    /// How many runs made a mean.
    pub seeds: u32,
    /// In still air.
    pub still_air: StillAir,
    /// At the edges of thermals.
    pub edges: Vec<EdgeReport>,
    /// Under a steady acceleration.
    pub ramp: Ramp,
    /// For sinusoidal vertical speeds.
    pub waves: Waves,
    /// The settings relative to the front of fixed filters.
    pub limit: Limit,
    /// The fixed filters: the choice without adapting.
    pub front: Vec<FrontPoint>,
    /// Twenty minutes of still air and thermals.
    pub flight: FlightReport,
}

/// In still air.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct StillAir {
    /// Noise of the reading, rms.
    pub noise_mps: f64,
    /// Where climb begins to sound.
    pub climb_from_mps: f64,
    /// Share of the time at which the reading is beyond that.
    pub beyond_climb_threshold_fraction: f64,
    /// Response time of the fixed filter with the same noise: "fixed" in all that follows.
    pub equally_quiet_fixed_response_s: f64,
}

/// At one edge.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct EdgeReport {
    /// Climb before.
    pub from_mps: f64,
    /// Climb after.
    pub to_mps: f64,
    /// How long the change takes.
    pub edge_s: f64,
    /// The settings' mean reading.
    pub present: Quickness,
    /// That of the fixed filter.
    pub fixed: Quickness,
    /// The settings' lag to 50 % as a share of the fixed filter's.
    pub lag_50_ratio: Option<f64>,
    /// The same, to 90 %.
    pub lag_90_ratio: Option<f64>,
}

/// Lags of a mean reading; `None` where it did not reach the level.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Quickness {
    /// When it has gone half of the way, after the truth has.
    pub lag_50_s: Option<f64>,
    /// The same for nine tenths.
    pub lag_90_s: Option<f64>,
    /// How far it goes beyond, as a share of the way.
    pub overshoot_fraction: f64,
}

/// Under a steady acceleration.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Ramp {
    /// The acceleration.
    pub acceleration_mps2: f64,
    /// How long ago the truth was what the settings' mean reading is.
    pub delay_s: f64,
    /// The same of the fixed filter, measured too.
    pub fixed_delay_s: f64,
}

/// For sinusoidal vertical speeds.
#[derive(Clone, Debug, Serialize)]
pub struct Waves {
    /// Of the truth. The adaptive filter's answer depends on it.
    pub amplitude_mps: f64,
    /// Up to a quarter of the sample rate.
    pub points: Vec<Wave>,
}

/// At one frequency.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Wave {
    /// The frequency.
    pub frequency_hz: f64,
    /// Amplitude of the settings' mean reading per amplitude of the truth.
    pub gain: f64,
    /// How far it is behind.
    pub phase_lag_deg: f64,
    /// The fixed filter's, in closed form.
    pub fixed_gain: f64,
    /// The fixed filter's, in closed form.
    pub fixed_phase_lag_deg: f64,
}

/// The settings relative to the front of fixed filters.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Limit {
    /// Noise of the fixed filter whose delay under the steady acceleration is the settings', in
    /// closed form.
    pub fixed_noise_of_ramp_delay_mps: f64,
    /// The settings' noise as a share of it.
    pub noise_ratio_of_ramp_delay: f64,
    /// The settings' lag to 50 % at the edge of the front's lags.
    pub lag_50_s: Option<f64>,
    /// Response time of the fixed filter with that lag there.
    pub equally_quick_fixed_response_s: Option<f64>,
    /// Noise of that filter, in closed form.
    pub equally_quick_fixed_noise_mps: Option<f64>,
    /// The settings' noise as a share of it.
    pub noise_ratio_of_equal_lag: Option<f64>,
}

/// One fixed filter.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct FrontPoint {
    /// Its response time, which is its delay under a steady acceleration.
    pub response_s: f64,
    /// Its noise in still air, in closed form.
    pub noise_mps: f64,
    /// Its lag at the edge from 0 to 2 m/s within 1 s.
    pub lag_50_s: Option<f64>,
    /// The same, to 90 %.
    pub lag_90_s: Option<f64>,
}

/// Twenty minutes of still air and thermals.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct FlightReport {
    /// Its length.
    pub lasts_s: f64,
    /// The settings.
    pub present: FlightError,
    /// The fixed filter that did best, chosen in hindsight.
    pub best_fixed: FlightError,
    /// The fixed filter with the noise of the settings.
    pub equally_quiet_fixed: FlightError,
}

/// How one filter did.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct FlightError {
    /// Response time, of a fixed filter.
    pub response_s: Option<f64>,
    /// Error of the reading against the truth, rms.
    pub error_mps: f64,
    /// Noise of the reading in still air, rms.
    pub still_air_noise_mps: f64,
}

impl EdgeReport {
    /// What the air did.
    pub fn edge(&self) -> Edge {
        Edge { from_mps: self.from_mps, to_mps: self.to_mps, lasts_s: self.edge_s }
    }
}

impl Report {
    /// What was measured at the edge of the front's lags.
    pub fn at_front_edge(&self) -> Option<&EdgeReport> {
        self.edges.iter().find(|report| report.edge() == Edge::FRONT)
    }
}

impl Answer {
    /// The figures for programs, each with six significant digits.
    ///
    /// # Errors
    /// Never for an answer of [`super::respond`].
    pub fn to_json(&self) -> Result<String> {
        let refused = |error: serde_json::Error| Error::Refused(error.to_string());
        let mut value = serde_json::to_value(self).map_err(refused)?;
        round(&mut value);
        Ok(serde_json::to_string_pretty(&value).map_err(refused)? + "\n")
    }
}

/// Rounds every number to six significant digits: further digits mean nothing.
fn round(value: &mut Value) {
    match value {
        Value::Number(number) => {
            let digits = number
                .as_f64()
                .filter(|_| number.is_f64())
                .and_then(|full| format!("{full:.5e}").parse().ok());
            if let Some(rounded) = digits.and_then(Number::from_f64) {
                *number = rounded;
            }
        }
        Value::Array(values) => values.iter_mut().for_each(round),
        Value::Object(values) => values.values_mut().for_each(round),
        _ => {}
    }
}
