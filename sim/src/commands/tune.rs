//! `chirrup tune`: the best settings for recordings.

use super::common::{ColumnsArg, JsonArg, OUTPUTS, SettingsArgs};
use super::places::{check_places, what_is_read};
use super::say::{say_beside, say_json};
use super::values::{Drawing, drawing};
use chirrup::error::Result;
use chirrup::input;
use chirrup::tune::request::Request;
use chirrup::tune::tune;
use clap::Args;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

/// Arguments of `tune`.
#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct TuneArgs {
    /// The recordings: CSV or IGC files
    #[arg(value_name = "TRACE", required = true)]
    traces: Vec<PathBuf>,
    /// Write the recommended settings as a TOML file
    #[arg(long, short, value_name = "FILE", help_heading = OUTPUTS)]
    output: Option<PathBuf>,
    /// Draw noise against lag, as SVG or PNG by the file's ending
    #[arg(long, value_name = "FILE", value_parser = drawing(), help_heading = OUTPUTS)]
    plot: Option<Drawing>,
    #[command(flatten)]
    json: JsonArg,
    #[command(flatten)]
    columns: ColumnsArg,
    #[command(flatten)]
    settings: SettingsArgs,
}

const HELP: &str = "\
--settings are the present settings, with which the recommended ones are compared.

The truth is the trace's own if `chirrup fly` made it; otherwise it is the recording, smoothed
forward and backward in time. Both filters are tried with response times of 0.25 to 4 s, each with
several thresholds. A recording smoothed like that still holds some of its gusts as climb: tune on
calm days. Compensation and delays come from the speed changes, if the air was calm enough
to measure them.

Example:
  chirrup tune monday.igc tuesday.igc -o tuned.toml --plot tuned.png";

/// Tunes and prints the recommendation with its reasons.
pub fn run(args: &TuneArgs, interrupted: &AtomicBool) -> Result<()> {
    let request = request(args)?;
    let report = tune(&request, interrupted)?;
    if args.json.json {
        say_json(&report)
    } else {
        say_beside(&report.to_string(), request.uses_standard_output())
    }
}

/// Checks the arguments.
fn request(args: &TuneArgs) -> Result<Request> {
    let plot = args.plot.iter().map(|(path, _)| path);
    let written: Vec<&Path> = args.output.iter().chain(plot).map(PathBuf::as_path).collect();
    let traces = args.traces.iter().map(PathBuf::as_path);
    check_places(&what_is_read(traces, &args.settings.settings), &written, args.json.json)?;
    Ok(Request {
        inputs: input::files(&args.traces)?,
        columns: args.columns.map(),
        base: args.settings.load()?,
        output: args.output.clone(),
        plot: args.plot.clone(),
    })
}
