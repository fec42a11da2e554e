//! A flight to be made: the scenario as it is to be flown, and where its trace goes.

use chirrup_flight::physics::glider::Glider;
use chirrup_flight::plan::scenario::Scenario;
use chirrup_flight::sensors::settings::ChannelSettings;
use std::path::PathBuf;

/// A flight to be made and where its trace goes.
#[derive(Clone, Debug)]
pub struct Request {
    /// What the user calls the scenario: a built-in's name or a file.
    pub file: String,
    /// The scenario's text.
    pub text: String,
    /// The scenario, checked, as the command line changed it.
    pub scenario: Scenario,
    /// Its glider.
    pub glider: Glider,
    /// Seeds everything random.
    pub seed: u64,
    /// Whether the truth stands beside what the sensors say.
    pub truth: bool,
    /// Where the trace goes.
    pub output: PathBuf,
}

/// Takes every imperfection from the sensors; only their rate stays.
pub fn make_ideal(scenario: &mut Scenario) {
    let sensors = &mut scenario.sensors;
    sensors.jitter_ms = 0.0;
    sensors.static_port = ChannelSettings::default();
    for channel in [&mut sensors.dynamic, &mut sensors.probe].into_iter().flatten() {
        *channel = ChannelSettings::default();
    }
    sensors.thermometer = sensors.thermometer.as_ref().map(|_| Default::default());
    scenario.fault.clear();
}
