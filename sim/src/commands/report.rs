//! `chirrup report`: a flight as one page.

use super::common::{ColumnsArg, LargeArg, OUTPUTS, SegmentArg, SettingsArgs};
use super::places::{check_places, what_is_read};
use super::say::say_beside;
use chirrup::error::Result;
use chirrup::input;
use chirrup::report::{Request, report};
use chirrup::words::shown_path;
use clap::Args;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

/// Arguments of `report`.
#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct ReportArgs {
    /// The trace, or two to be put side by side: CSV or IGC files
    #[arg(value_name = "TRACE", required = true, num_args = 1..=2)]
    traces: Vec<PathBuf>,
    /// The page to write, one HTML file
    #[arg(long, short, value_name = "FILE", help_heading = OUTPUTS)]
    output: PathBuf,
    /// Write the sound of the first trace too, as a WAV file with a link from the page; the page
    /// itself can play without it
    #[arg(long, value_name = "FILE", help_heading = OUTPUTS)]
    wav: Option<PathBuf>,
    #[command(flatten)]
    large: LargeArg,
    #[command(flatten)]
    columns: ColumnsArg,
    #[command(flatten)]
    segment: SegmentArg,
    #[command(flatten)]
    settings: SettingsArgs,
}

const HELP: &str = "\
Example:
  chirrup report flight.igc -o flight.html
  chirrup report flight.igc -o flight.html --wav flight.wav
  chirrup report hers.igc his.igc -o both.html --settings units.climb=kt,units.height=ft";

/// Makes the page and prints which files were written.
pub fn run(args: &ReportArgs, interrupted: &AtomicBool) -> Result<()> {
    let made = report(&request(args)?, interrupted)?;
    let said: String = made.iter().map(|path| format!("written  {}\n", shown_path(path))).collect();
    say_beside(&said, args.output == Path::new("-"))
}

/// Checks the arguments.
fn request(args: &ReportArgs) -> Result<Request> {
    let inputs = input::files(&args.traces)?;
    let written: Vec<&Path> =
        [&args.output].into_iter().chain(&args.wav).map(PathBuf::as_path).collect();
    check_places(
        &what_is_read(args.traces.iter().map(PathBuf::as_path), &args.settings.settings),
        &written,
        false,
    )?;
    Ok(Request {
        inputs,
        columns: args.columns.map(),
        segment: args.segment.number,
        instrument: args.settings.load()?,
        output: args.output.clone(),
        wav: args.wav.clone(),
        may_be_large: args.large.yes,
    })
}
