//! The inertial sensor and the satellite receiver as written in a scenario, and how good the grades
//! of sensors are.
//!
//! | | `perfect` | `good` | `common` | `poor` | source |
//! |---|---|---|---|---|---|
//! | accelerometer's bias, mg | 0 | 10 | 15 | 50 | below |
//! | its drift, mg/K | 0 | 0.1 | 0.1 | 0.5 | |
//! | its noise, µg/√Hz | 0 | 70 | 70 | 400 | |
//! | gyroscope's bias, °/s | 0 | 0.15 | 0.3 | 2 | |
//! | its drift, °/s/K | 0 | 0.005 | 0.01 | 0.05 | |
//! | its noise, m°/s/√Hz | 0 | 2.8 | 3.8 | 5 | |
//! | scale of an axis, % | 0 | 0.3 | 0.6 | 3 | |
//! | cross-axis, % | 0 | 0.3 | 0.5 | 2 | |
//! | largest, g and °/s | none | 16, 1000 | 8, 500 | 4, 500 | |
//!
//! `good` is of the kind of an ICM-42688-P: the noise is from the first page of its data sheet, the
//! rest from memory of its typical values (bias 20 mg and 0.5 °/s before the instrument has zeroed
//! it; what is left is a guess). `common` is a three-dollar sensor, within an LSM6DSO's data sheet
//! (20 mg, 1 °/s, 0.1 mg/K, 0.01 °/s/K, 3.8 m°/s/√Hz, 1 %: from memory; the 0.3 °/s that zeroing
//! leaves is a guess). `poor` is of the kind of an MPU-6050 (50 mg, 400 µg/√Hz, 5 m°/s/√Hz, 3 % and
//! 2 %: from memory; its bias of 20 °/s is taken off at switching on, and the 2 °/s left are a
//! guess).

use serde::Deserialize;

/// Standard gravity, m/s2.
const G: f64 = 9.80665;

/// How good an inertial sensor is.
#[derive(Clone, Copy, Debug, Default, Deserialize, Eq, PartialEq)]
#[serde(rename_all = "lowercase")]
pub enum Grade {
    /// Without any error.
    Perfect,
    /// Of the better ones that hobbyists can buy.
    Good,
    /// A three-dollar one.
    #[default]
    Common,
    /// An old one.
    Poor,
}

/// An inertial sensor: three accelerometers and three gyroscopes.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(default, deny_unknown_fields, expecting = "a table such as [sensors.inertial]")]
pub struct InertialSettings {
    /// How good it is: `perfect`, `good`, `common` or `poor`. Default `common`.
    pub grade: Grade,
    /// Its errors as a multiple of the grade's. 0 to 10, default 1.
    pub errors: f64,
    /// How it is mounted: roll, pitch and yaw of its axes against the glider's, degrees. -180 to
    /// 180.
    pub mounted_deg: [f64; 3],
    /// Where it is, forward, right and down of the centre of mass, m. -5 to 5.
    pub lever_m: [f64; 3],
    /// Vibration along each axis, m/s2 rms. 0 to 50, default 0.03.
    pub vibration_mps2: f64,
    /// The frequency about which it lies, Hz. 5 to 95, default 40 (a guess).
    pub vibration_hz: f64,
    /// How late its values are, s. 0 to 1.
    pub delay_s: f64,
    /// How much warmer than the air it gets, K; its biases drift with that. -20 to 40, default 8 (a
    /// guess).
    pub self_heating_k: f64,
    /// The largest force along an axis that it can measure, g. 1 to 32, default the grade's.
    pub largest_g: Option<f64>,
}

impl Default for InertialSettings {
    fn default() -> Self {
        Self {
            grade: Grade::default(),
            errors: 1.0,
            mounted_deg: [0.0; 3],
            lever_m: [0.0; 3],
            vibration_mps2: 0.03,
            vibration_hz: 40.0,
            delay_s: 0.0,
            self_heating_k: 8.0,
            largest_g: None,
        }
    }
}

impl InertialSettings {
    /// A sensor without errors, vibration and delay, in the axes of the glider and in its centre of
    /// mass.
    pub fn perfect() -> Self {
        Self { grade: Grade::Perfect, vibration_mps2: 0.0, self_heating_k: 0.0, ..Self::default() }
    }
}

/// A satellite receiver that measures its velocity over the ground.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(default, deny_unknown_fields, expecting = "a table such as [sensors.gnss]")]
pub struct GnssSettings {
    /// Velocities a second. 0.1 to 50, default 5.
    pub rate_hz: f64,
    /// How late they are, s. 0 to 2, default 0.1.
    pub delay_s: f64,
    /// White noise of each component, m/s rms. 0 to 10, default 0.05 (of receivers that hobbyists
    /// buy; data sheets say 0.05 m/s: from memory).
    pub noise_mps: f64,
    /// Whether the trace says how late they are. Default false.
    pub says_age: bool,
}

impl Default for GnssSettings {
    fn default() -> Self {
        Self { rate_hz: 5.0, delay_s: 0.1, noise_mps: 0.05, says_age: false }
    }
}

/// Errors of three accelerometers or three gyroscopes, in m/s2 or rad/s.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Errors {
    /// Bias of each axis, of either sign.
    pub bias: f64,
    /// Its change by a kelvin.
    pub drift_per_k: f64,
    /// White noise in one reading, rms.
    pub noise: f64,
    /// Gain of an axis above one, of either sign.
    pub scale: f64,
    /// Share of another axis in it, of either sign.
    pub cross: f64,
    /// The largest that it measures, where there is a limit; its steps are 1/32768 of that.
    pub largest: Option<f64>,
}

impl Grade {
    /// Errors of the accelerometers and the gyroscopes read `rate_hz` times a second.
    pub(super) fn errors(self, rate_hz: f64) -> [Errors; 2] {
        let (mg, dps) = (1e-3 * G, 1.0_f64.to_radians());
        // White noise up to half the rate.
        let root_hz = (0.5 * rate_hz).sqrt();
        let accelerometer = |bias, drift, micro_g, largest_g: f64| Errors {
            bias: mg * bias,
            drift_per_k: mg * drift,
            noise: 1e-3 * mg * micro_g * root_hz,
            largest: Some(largest_g * G),
            ..Errors::default()
        };
        let gyroscope = |bias, drift, milli_dps, largest_dps: f64| Errors {
            bias: dps * bias,
            drift_per_k: dps * drift,
            noise: 1e-3 * dps * milli_dps * root_hz,
            largest: Some(largest_dps * dps),
            ..Errors::default()
        };
        let (percent, cross, both) = match self {
            Self::Perfect => return [Errors::default(); 2],
            Self::Good => (
                0.3,
                0.3,
                [accelerometer(10.0, 0.1, 70.0, 16.0), gyroscope(0.15, 0.005, 2.8, 1000.0)],
            ),
            Self::Common => {
                (0.6, 0.5, [accelerometer(15.0, 0.1, 70.0, 8.0), gyroscope(0.3, 0.01, 3.8, 500.0)])
            }
            Self::Poor => {
                (3.0, 2.0, [accelerometer(50.0, 0.5, 400.0, 4.0), gyroscope(2.0, 0.05, 5.0, 500.0)])
            }
        };
        both.map(|errors| Errors { scale: 0.01 * percent, cross: 0.01 * cross, ..errors })
    }
}
