//! A flight to simulate: the scenario to fly, and the output of its trace.

use crate::error::{Error, Result};
use crate::text_file;
use crate::words::shown;
use chirrup_flight::physics::glider::Glider;
use chirrup_flight::plan::scenario::Scenario;
use chirrup_flight::plan::{builtin, check};
use chirrup_flight::sensors::inertial_settings::InertialSettings;
use chirrup_flight::sensors::settings::ChannelSettings;
use std::io::ErrorKind;
use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};

/// A flight to simulate and the output of its trace.
#[derive(Clone, Debug)]
pub struct Request {
    /// The user's name for the scenario: a built-in one's or a file.
    pub file: String,
    /// The scenario's text.
    pub text: String,
    /// The checked scenario, with the changes of the command line.
    pub scenario: Scenario,
    /// Its glider.
    pub glider: Glider,
    /// Random seed of the flight.
    pub seed: u64,
    /// Whether the true values are written beside the sensor values.
    pub truth: bool,
    /// Where the trace goes.
    pub output: PathBuf,
    /// Whether the trace may be larger than [`crate::output::sizes::MOST_UNASKED`].
    pub may_be_large: bool,
}

/// Samples a second that sensors may have.
pub const SENSOR_RATES_HZ: RangeInclusive<f64> = 0.1..=200.0;

/// What is to be otherwise than the scenario says.
#[derive(Clone, Copy, Debug, Default)]
pub struct Changes {
    /// Random seed of the flight.
    pub seed: Option<u64>,
    /// Samples a second of the sensors, within [`SENSOR_RATES_HZ`].
    pub sensor_rate_hz: Option<f64>,
    /// Whether the sensors are perfect.
    pub ideal: bool,
    /// Whether there is no turbulence.
    pub calm: bool,
}

impl Request {
    /// The flight of a scenario of this name and text, with changes, the truth beside the sensors.
    ///
    /// # Errors
    /// A scenario that cannot be flown.
    pub fn new((file, text): (String, String), changes: &Changes, output: PathBuf) -> Result<Self> {
        let (mut scenario, glider) = check::read(&file, &text)?;
        if let Some(rate_hz) = changes.sensor_rate_hz {
            scenario.sensors.rate_hz = rate_hz;
        }
        if changes.ideal {
            make_ideal(&mut scenario);
        }
        if changes.calm {
            scenario.turbulence = None;
        }
        let seed = changes.seed.unwrap_or(scenario.seed);
        Ok(Self { file, text, scenario, glider, seed, truth: true, output, may_be_large: false })
    }
}

/// Removes every imperfection of the sensors; only their rate stays.
fn make_ideal(scenario: &mut Scenario) {
    let sensors = &mut scenario.sensors;
    sensors.jitter_ms = 0.0;
    sensors.static_port = ChannelSettings::default();
    for channel in [&mut sensors.dynamic, &mut sensors.probe].into_iter().flatten() {
        *channel = ChannelSettings::default();
    }
    sensors.thermometer = sensors.thermometer.as_ref().map(|_| Default::default());
    sensors.inertial = sensors.inertial.as_ref().map(|_| InertialSettings::perfect());
    if let Some(gnss) = &mut sensors.gnss {
        (gnss.delay_s, gnss.noise_mps) = (0.0, 0.0);
    }
    if let Some(positions) = &mut sensors.positions {
        positions.error_m = 0.0;
    }
    scenario.fault.clear();
}

/// Name and text of a scenario: a built-in one, or a file.
///
/// # Errors
/// There is neither, or the file is no text.
pub fn source(typed: &str) -> Result<(String, String)> {
    if let Some(found) = builtin::find(typed) {
        return Ok((typed.to_owned(), found.text.to_owned()));
    }
    let read = text_file::read(Path::new(typed));
    let typed = &*shown(typed);
    match read {
        Ok(text) => Ok((typed.to_owned(), text)),
        Err(error) if error.kind() == ErrorKind::FileTooLarge => Err(Error::Settings(format!(
            "{typed}: found more than 1 MB, expected a scenario in TOML"
        ))),
        Err(error) if error.kind() == ErrorKind::InvalidData => Err(Error::Settings(format!(
            "{typed}: found bytes that are not text, expected a scenario in TOML"
        ))),
        Err(error) if error.kind() == ErrorKind::NotFound => Err(Error::Usage(format!(
            "unknown scenario {typed}: no built-in one has that name, and there is no such file; \
             run `chirrup fly --list`"
        ))),
        Err(error) => Err(Error::io("cannot read", typed, error)),
    }
}
