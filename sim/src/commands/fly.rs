//! `chirrup fly`: a simulated flight, written as a trace with the truth beside it.

use super::common::{JsonArg, OUTPUTS};
use super::places::place_of;
use super::say::{say, say_beside, say_json};
use super::values::{number, seed};
use chirrup::error::{Error, Result};
use chirrup::fly::fly;
use chirrup::fly::list::List;
use chirrup::fly::request::{Changes, Request, SENSOR_RATES_HZ, source};
use chirrup::words::shown_path;
use chirrup_flight::plan::builtin;
use clap::Args;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

/// Arguments of `fly`.
#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct FlyArgs {
    /// The scenario: the name of a built-in one, or a TOML file
    #[arg(value_name = "SCENARIO")]
    scenario: Option<String>,
    /// Write the trace here; - is standard output
    #[arg(short, long, value_name = "FILE", help_heading = OUTPUTS)]
    output: Option<PathBuf>,
    /// List the built-in scenarios
    #[arg(long)]
    list: bool,
    /// Print the scenario as TOML, to start one of your own from
    #[arg(long)]
    show: bool,
    /// Random seed of the flight and the sensor noise, instead of the scenario's
    #[arg(long, value_name = "N", value_parser = seed,
          allow_negative_numbers = true)]
    seed: Option<u64>,
    /// Samples a second of the sensors, 0.1 to 200, instead of the scenario's
    #[arg(long, alias = "rate", value_name = "HZ",
          value_parser = number(*SENSOR_RATES_HZ.start(), *SENSOR_RATES_HZ.end()),
          allow_negative_numbers = true)]
    sensor_rate: Option<f64>,
    /// Perfect sensors: no noise, no lag, no fault
    #[arg(long)]
    ideal: bool,
    /// Calm air: the scenario without its turbulence
    #[arg(long)]
    calm: bool,
    /// Write only what the sensors say, without the truth
    #[arg(long)]
    sensors_only: bool,
    /// Write the trace even if it is more than 1 GB
    #[arg(long)]
    yes: bool,
    #[command(flatten)]
    json: JsonArg,
}

const HELP: &str = "\
The trace has the columns that `chirrup replay` reads and, to check the accuracy of a reading, the
truth: truth_air_mps, truth_vertical_mps, truth_climb_mps, truth_altitude_m and truth_phase.
The same scenario and seed give the same bytes on every machine.

Examples:
  chirrup fly winch-and-circuit -o winch.csv
  chirrup fly pull-ups --ideal --sensor-rate 50 -o - | chirrup replay - --energy electronic
  chirrup fly rough-thermals --calm --seed 3 -o calm.csv
  chirrup fly weak-blue-day --show > mine.toml";

/// Lists or shows scenarios, or flies one and prints a report of the flight.
pub fn run(args: &FlyArgs, interrupted: &AtomicBool) -> Result<()> {
    if args.list {
        let list = List::new()?;
        return if args.json.json { say_json(&list.0) } else { say(&list.to_string()) };
    }
    if args.show {
        return say(&typed(args.scenario.as_deref())?.1);
    }
    let request = request(args)?;
    let report = fly(&request, interrupted)?;
    if args.json.json {
        say_json(&report)
    } else {
        say_beside(&report.to_string(), request.output.as_os_str() == "-")
    }
}

/// Checks the arguments.
fn request(args: &FlyArgs) -> Result<Request> {
    let changes = Changes {
        seed: args.seed,
        sensor_rate_hz: args.sensor_rate,
        ideal: args.ideal,
        calm: args.calm,
    };
    let request = Request::new(typed(args.scenario.as_deref())?, &changes, PathBuf::new())?;
    let output = output(args, &request.file)?;
    Ok(Request { truth: !args.sensors_only, output, may_be_large: args.yes, ..request })
}

/// Where the trace of the scenario `file` goes.
fn output(args: &FlyArgs, file: &str) -> Result<PathBuf> {
    let Some(output) = args.output.clone() else {
        return Err(Error::Usage(format!(
            "where should the trace go? type `chirrup fly {file} -o trace.csv`, or -o -"
        )));
    };
    if builtin::find(file).is_none() && place_of(Path::new(file)) == place_of(&output) {
        let output = shown_path(&output);
        return Err(Error::Usage(format!(
            "the output {output} is the scenario itself; give it another name"
        )));
    }
    if args.json.json && output == Path::new("-") {
        return Err(Error::Usage(
            "--json and -o - both want standard output; give the trace a file".into(),
        ));
    }
    Ok(output)
}

/// Name and text of the scenario that was typed.
fn typed(scenario: Option<&str>) -> Result<(String, String)> {
    let scenario = scenario.ok_or_else(|| {
        Error::Usage(
            "which scenario? `chirrup fly --list` lists the built-in ones; a TOML file works too"
                .into(),
        )
    })?;
    source(scenario)
}
