//! `chirrup inspect`: the quality of a recording.

use super::common::{ColumnsArg, JsonArg, OUTPUTS, SegmentArg, SettingsArgs};
use super::places::{check_places, what_is_read};
use super::say::{say_beside, say_json};
use super::values::{Drawing, drawing};
use chirrup::error::{Error, Result};
use chirrup::input::Input;
use chirrup::inspect::{self, Request};
use clap::Args;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

/// Arguments of `inspect`.
#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct InspectArgs {
    /// The traces: CSV or IGC files, or - for standard input
    #[arg(value_name = "TRACE", required = true)]
    traces: Vec<PathBuf>,
    /// Draw height, sample intervals and noise of one trace, as SVG or PNG by the file's ending
    #[arg(long, value_name = "FILE", value_parser = drawing(), help_heading = OUTPUTS)]
    plot: Option<Drawing>,
    /// Let the plot show how one climb was centred, the first being 1: the path through the air,
    /// the lift, each turn
    #[arg(long, value_name = "N", requires = "plot", help_heading = OUTPUTS)]
    climb: Option<usize>,
    /// Write energy height and energy rate of one trace as CSV, smoothed forward and backward in
    /// time
    #[arg(long, value_name = "FILE", help_heading = OUTPUTS)]
    csv: Option<PathBuf>,
    #[command(flatten)]
    json: JsonArg,
    #[command(flatten)]
    columns: ColumnsArg,
    #[command(flatten)]
    segment: SegmentArg,
    #[command(flatten)]
    settings: SettingsArgs,
}

const HELP: &str = "\
Settings with the glider's polar make the fit of the compensation a little better. The JSON is a
list with one entry a trace.

Examples:
  chirrup inspect flight.igc --plot flight.png
  chirrup inspect flight.igc --plot climb.png --climb 3";

/// Inspects the traces and prints what was found.
pub fn run(args: &InspectArgs, interrupted: &AtomicBool) -> Result<()> {
    let inspections = inspect::all(&request(args)?, interrupted)?;
    if args.json.json {
        return say_json(&inspections);
    }
    let taken = args.written().any(|path| path == Path::new("-"));
    say_beside(&inspections.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"), taken)
}

impl InspectArgs {
    fn written(&self) -> impl Iterator<Item = &Path> {
        let plot = self.plot.iter().map(|(path, _)| path);
        plot.chain(&self.csv).map(PathBuf::as_path)
    }
}

/// Checks the arguments.
fn request(args: &InspectArgs) -> Result<Request> {
    if args.traces.len() > 1 && (args.plot.is_some() || args.csv.is_some()) {
        return Err(Error::Usage(
            "--plot and --csv are of one trace; inspect the others one by one".into(),
        ));
    }
    let written: Vec<&Path> = args.written().collect();
    let read = what_is_read(args.traces.iter().map(PathBuf::as_path), &args.settings.settings);
    check_places(&read, &written, args.json.json)?;
    let instrument = args.settings.load()?;
    Ok(Request {
        inputs: args.traces.iter().map(|path| Input::new(path)).collect(),
        columns: args.columns.map(),
        segment: args.segment.number,
        settings: instrument.settings,
        units: instrument.units,
        plot: args.plot.clone(),
        climb: args.climb,
        csv: args.csv.clone(),
    })
}
