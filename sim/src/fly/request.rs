//! `chirrup fly` as typed, checked.

use crate::cli::FlyArgs;
use crate::error::{Error, Result};
use crate::options::place_of;
use chirrup_flight::physics::glider::Glider;
use chirrup_flight::plan::scenario::Scenario;
use chirrup_flight::plan::{builtin, check};
use chirrup_flight::sensors::settings::ChannelSettings;
use std::path::{Path, PathBuf};

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
    /// Where the trace goes.
    pub output: PathBuf,
}

impl Request {
    /// Checks what was typed.
    ///
    /// # Errors
    /// No such scenario, something wrong in it, or a trace over the scenario itself.
    pub fn new(args: &FlyArgs) -> Result<Self> {
        let (file, text) = source(args.scenario.as_deref())?;
        let (mut scenario, glider) = check::read(&file, &text)?;
        let Some(output) = args.output.clone() else {
            return Err(Error::Usage(format!(
                "where should the trace go? type `chirrup fly {file} -o trace.csv`, or -o -"
            )));
        };
        if builtin::find(&file).is_none() && place_of(Path::new(&file)) == place_of(&output) {
            let output = output.display();
            return Err(Error::Usage(format!(
                "the output {output} is the scenario itself; give it another name"
            )));
        }
        if args.json && output == Path::new("-") {
            return Err(Error::Usage(
                "--json and -o - both want standard output; give the trace a file".into(),
            ));
        }
        if let Some(rate_hz) = args.rate {
            if !(0.1..=200.0).contains(&rate_hz) {
                return Err(Error::Usage(format!("--rate is {rate_hz}, expected 0.1 to 200")));
            }
            scenario.sensors.rate_hz = rate_hz;
        }
        if args.ideal {
            make_ideal(&mut scenario);
        }
        let seed = args.seed.unwrap_or(scenario.seed);
        Ok(Self { file, text, scenario, glider, seed, output })
    }
}

/// Name and text of the scenario that was typed.
///
/// # Errors
/// None was typed, or it is neither a built-in one nor a file.
pub fn source(typed: Option<&str>) -> Result<(String, String)> {
    let Some(typed) = typed else {
        return Err(Error::Usage(
            "which scenario? `chirrup fly --list` tells what there is, and a TOML file will do"
                .into(),
        ));
    };
    if let Some(found) = builtin::find(typed) {
        return Ok((typed.to_owned(), found.text.to_owned()));
    }
    match std::fs::read_to_string(typed) {
        Ok(text) => Ok((typed.to_owned(), text)),
        Err(error) if error.kind() == std::io::ErrorKind::InvalidData => Err(Error::Settings(
            format!("{typed}: found bytes that are not text, expected a scenario in TOML"),
        )),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Err(Error::Usage(format!(
            "{typed} is no scenario: there is no such file, and no built-in one of that name; `chirrup fly --list` tells them"
        ))),
        Err(error) => Err(Error::io("cannot read", typed, error)),
    }
}

/// Sensors without a fault: what is left is the rate.
fn make_ideal(scenario: &mut Scenario) {
    let sensors = &mut scenario.sensors;
    sensors.jitter_ms = 0.0;
    sensors.static_port = ChannelSettings::default();
    for channel in [&mut sensors.dynamic, &mut sensors.probe].into_iter().flatten() {
        *channel = ChannelSettings::default();
    }
    sensors.thermometer = sensors.thermometer.as_ref().map(|_| Default::default());
    scenario.fault.clear();
}
