//! `chirrup tune`: the best settings for recordings.

use super::common::{ColumnsArg, JsonArg, OUTPUTS, SegmentArg, SettingsArgs};
use super::places::{check_places, what_is_read};
use super::say::{say_beside, say_json};
use super::values::{Drawing, drawing, number, rate, seconds, share};
use chirrup::error::Result;
use chirrup::input;
use chirrup::tune::choose::Wanted;
use chirrup::tune::limits::Limits;
use chirrup::tune::request::Request;
use chirrup::tune::score::Weights;
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
    /// Recommend only what beeps falsely at most so often in air that does not climb: 60/h, 1/min
    #[arg(long, value_name = "RATE", value_parser = rate, help_heading = LIMITS)]
    most_false_beeps: Option<f64>,
    /// Recommend only what is at most so late, such as 1s
    #[arg(long, value_name = "TIME", value_parser = seconds, help_heading = LIMITS)]
    most_lag: Option<f64>,
    /// Recommend only what misses at most this share of the climbs, such as 5%
    #[arg(long, value_name = "SHARE", value_parser = share, help_heading = LIMITS)]
    most_missed: Option<f64>,
    /// What one false beep a minute costs, in m/s of error
    #[arg(long, value_name = "M/S", default_value_t = 0.02, value_parser = number(0.0, 10.0),
          help_heading = LIMITS)]
    false_beep_costs: f64,
    /// What it costs to miss every climb, in m/s of error
    #[arg(long, value_name = "M/S", default_value_t = 0.5, value_parser = number(0.0, 10.0),
          help_heading = LIMITS)]
    missed_costs: f64,
    #[command(flatten)]
    json: JsonArg,
    #[command(flatten)]
    columns: ColumnsArg,
    #[command(flatten)]
    segment: SegmentArg,
    #[command(flatten)]
    settings: SettingsArgs,
}

/// The heading of what the best is.
const LIMITS: &str = "What is wanted";

const HELP: &str = "\
--settings are the present settings, with which the recommended ones are compared.

The truth is the trace's own if `chirrup fly` made it. Otherwise the climb is estimated from all of
the recording, with gusts told apart by what height and airspeed do together, and its error is
stated. Where a recording cannot rank filters (samples more than 2 s apart, too few climbs, gusts
as large as climbs) it says so and recommends nothing. Both filters are tried with response times
of 0.25 to 4 s; where there is a limit to keep, each with several thresholds. Compensation and
delays come from the speed changes, if the air was calm enough to measure them.

The best has the lowest cost: its error, and what false beeps and missed climbs cost; among what is
within the limits, if there are any.

Examples:
  chirrup tune monday.igc tuesday.igc -o tuned.toml --plot tuned.png
  chirrup tune monday.csv --most-false-beeps 60/h --most-lag 1s --most-missed 5%";

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
        segment: args.segment.number,
        base: args.settings.load()?,
        wanted: Wanted {
            weights: Weights {
                false_beep_mps: args.false_beep_costs,
                missed_mps: args.missed_costs,
            },
            limits: Limits {
                false_beeps_per_min: args.most_false_beeps,
                lag_s: args.most_lag,
                missed_share: args.most_missed,
            },
        },
        output: args.output.clone(),
        plot: args.plot.clone(),
    })
}
