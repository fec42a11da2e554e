//! The settings of the instrument itself: what is soldered to it. The core's settings say what
//! it makes of the air; these say nothing a simulator needs.

use serde::{Deserialize, Serialize};

/// What a second barometer is plumbed to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum SecondBarometer {
    /// There is none.
    #[default]
    None,
    /// A total-energy probe.
    Probe,
    /// The pitot: the difference from the static barometer is the dynamic pressure.
    Pitot,
}

/// How the differential sensor was ordered: which share of its counts spans its range.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum DifferentialOutput {
    /// Output type A: 10 % to 90 % of the counts.
    #[default]
    A,
    /// Output type B: 5 % to 95 % of the counts.
    B,
}

/// The settings of the instrument itself. Keys of the console are these names after `device.`.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct DeviceSettings {
    /// What a second barometer, at the other address, is plumbed to. Default none.
    ///
    /// With `none` the static barometer may have either address; else it is the one at 0x77 and the
    /// second the one at 0x76.
    pub second_barometer: SecondBarometer,
    /// Full scale of the differential sensor in pascals, 500 to 40 000; default 6895 (1 psi).
    pub differential_range_pa: f32,
    /// Output type of the differential sensor. Default A.
    pub differential_output: DifferentialOutput,
    /// What the dynamic pressure reads with the glider at rest out of the wind, in pascals, taken
    /// off; -2000 to 2000, default 0. `zero` on the console measures it.
    pub dynamic_zero_pa: f32,
    /// Below this the battery is low, in volts, 0 (never) to 30; default 3.5, for one lithium cell.
    pub battery_low_v: f32,
    /// Rows a second of the log from the start on, 0 (none) to 50. Default 0.
    pub log_hz: u8,
}

impl Default for DeviceSettings {
    fn default() -> Self {
        Self {
            second_barometer: SecondBarometer::None,
            differential_range_pa: 6_895.0,
            differential_output: DifferentialOutput::A,
            dynamic_zero_pa: 0.0,
            battery_low_v: 3.5,
            log_hz: 0,
        }
    }
}

impl DeviceSettings {
    /// The first setting that is out of its range: its name, what it is, and the range.
    pub fn out_of_range(&self) -> Option<(&'static str, f32, f32, f32)> {
        let checks = [
            ("device.differential_range_pa", self.differential_range_pa, 500.0, 40_000.0),
            ("device.dynamic_zero_pa", self.dynamic_zero_pa, -2_000.0, 2_000.0),
            ("device.battery_low_v", self.battery_low_v, 0.0, 30.0),
            ("device.log_hz", f32::from(self.log_hz), 0.0, 50.0),
        ];
        checks.into_iter().find(|(_, value, least, most)| !(least..=most).contains(&value))
    }
}
