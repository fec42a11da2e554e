//! The sensors and their faults as written in a scenario, with units in the names.

use super::inertial_settings::{GnssSettings, InertialSettings};
use super::positions::PositionSettings;
use serde::Deserialize;

/// The sensors.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(default, deny_unknown_fields, expecting = "a table such as [sensors]")]
pub struct SensorSettings {
    /// Samples a second, taken on a grid of 5 ms. 0.1 to 200, default 20.
    pub rate_hz: f64,
    /// Error of the time stamps, ms rms. 0 to 50, default 0.
    pub jitter_ms: f64,
    /// The static port and its sensor.
    #[serde(rename = "static")]
    pub static_port: ChannelSettings,
    /// Pitot minus static, and its sensor; absent where the table is.
    pub dynamic: Option<ChannelSettings>,
    /// A total-energy probe and its sensor.
    pub probe: Option<ChannelSettings>,
    /// A thermometer.
    pub thermometer: Option<ThermometerSettings>,
    /// An inertial sensor.
    pub inertial: Option<InertialSettings>,
    /// A satellite receiver that measures its velocity.
    pub gnss: Option<GnssSettings>,
    /// A satellite receiver that gives its position.
    pub positions: Option<PositionSettings>,
}

impl Default for SensorSettings {
    fn default() -> Self {
        Self {
            rate_hz: 20.0,
            jitter_ms: 0.0,
            static_port: ChannelSettings::default(),
            dynamic: Some(ChannelSettings::default()),
            probe: None,
            thermometer: None,
            inertial: None,
            gnss: None,
            positions: None,
        }
    }
}

/// A pressure line and the sensor at its end.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default, deny_unknown_fields, expecting = "a table such as [sensors.static]")]
pub struct ChannelSettings {
    /// White noise of the sensor, Pa rms. 0 to 100.
    pub noise_pa: f64,
    /// Step of its output, Pa; 0 for none. 0 to 100.
    pub step_pa: f64,
    /// Its error when it is switched on, Pa. -1000 to 1000.
    pub warm_up_pa: f64,
    /// Time in which that error falls to 37 %, s. 1 to 10000, default 300 where there is one.
    pub warm_up_s: Option<f64>,
    /// Time constant of the tubing, s; the pitot's, for `dynamic`. 0 to 10.
    pub lag_s: f64,
    /// Delay of the sensor, s. 0 to 2.
    pub delay_s: f64,
    /// Static port: its error in units of the dynamic pressure. -0.2 to 0.2.
    pub position_error: f64,
    /// Probe: its pressure coefficient. -2 to 0, default -1.
    pub coefficient: Option<f64>,
}

/// A thermometer for the outside air.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default, deny_unknown_fields, expecting = "a table such as [sensors.thermometer]")]
pub struct ThermometerSettings {
    /// White noise, K rms. 0 to 10.
    pub noise_k: f64,
    /// How much it reads too high, K. -20 to 20.
    pub error_k: f64,
    /// Its time constant, s. 0 to 300.
    pub lag_s: f64,
}

/// The line or sensor of a fault.
#[derive(Clone, Copy, Debug, Deserialize, Eq, PartialEq)]
#[serde(rename_all = "lowercase")]
pub enum Line {
    /// The static port's.
    Static,
    /// The pitot's.
    Dynamic,
    /// The probe's.
    Probe,
}

/// What can go wrong.
#[derive(Clone, Copy, Debug, Deserialize, Eq, PartialEq)]
#[serde(rename_all = "lowercase")]
pub enum FaultKind {
    /// The line is blocked: its pressure stays.
    Blocked,
    /// Water in the line: its pressure follows slowly, with `lag_s`.
    Water,
    /// One sample is wrong by `size_pa`.
    Spike,
    /// No samples at all.
    Dropout,
}

/// A fault.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, expecting = "a table such as [[fault]]")]
pub struct FaultSettings {
    /// What it is.
    pub kind: FaultKind,
    /// Where it is; not for a dropout.
    pub line: Option<Line>,
    /// When it begins, s.
    pub from_s: f64,
    /// How long it lasts, s. Not for a spike.
    pub for_s: Option<f64>,
    /// Water: the line's time constant, s. 0.1 to 60, default 5.
    pub lag_s: Option<f64>,
    /// Spike: how large, Pa.
    pub size_pa: Option<f64>,
}
