//! `chirrup compare`: two settings on the same recordings.

use super::common::{ColumnsArg, JsonArg, OUTPUTS, SegmentArg};
use super::places::{check_places, what_is_read};
use super::say::{say, say_json};
use super::values::{Drawing, drawing, share};
use chirrup::compare::{Request, compare};
use chirrup::error::{Error, Result};
use chirrup::input;
use chirrup::settings_file;
use chirrup_core::Settings;
use clap::Args;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

/// Arguments of `compare`.
#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct CompareArgs {
    /// The first settings: a TOML file, or key=value[,key=value]
    #[arg(value_name = "A")]
    a: String,
    /// The second settings, written like A
    #[arg(value_name = "B")]
    b: String,
    /// The recordings: CSV or IGC files
    #[arg(value_name = "TRACE", required = true)]
    traces: Vec<PathBuf>,
    /// Draw both on every recording, as SVG or PNG by the file's ending
    #[arg(long, value_name = "FILE", value_parser = drawing(), help_heading = OUTPUTS)]
    plot: Option<Drawing>,
    #[command(flatten)]
    json: JsonArg,
    /// Exit with code 1 if B costs more than A by more than this share, such as 5% or 0.05
    #[arg(long, value_name = "SHARE", value_parser = share, allow_hyphen_values = true)]
    fail_if_worse: Option<f64>,
    #[command(flatten)]
    columns: ColumnsArg,
    #[command(flatten)]
    segment: SegmentArg,
}

const HELP: &str = "\
Example:
  chirrup compare response_s=1 my.toml monday.igc tuesday.igc --plot compared.png";

/// Compares and prints the table; an error if B is worse than allowed.
pub fn run(args: &CompareArgs, interrupted: &AtomicBool) -> Result<()> {
    let comparison = compare(&request(args)?, interrupted)?;
    if args.json.json {
        say_json(&comparison)?;
    } else {
        say(&comparison.to_string())?;
    }
    comparison.verdict(args.fail_if_worse)
}

/// Checks the arguments.
fn request(args: &CompareArgs) -> Result<Request> {
    let a = settings_file::load(&args.a, &Settings::default())?;
    let b = settings_file::load(&args.b, &Settings::default())?;
    let written: Vec<&Path> = args.plot.iter().map(|(path, _)| path.as_path()).collect();
    let read = what_is_read(args.traces.iter().map(PathBuf::as_path), [&args.a, &args.b]);
    check_places(&read, &written, false)?;
    if written.contains(&Path::new("-")) {
        return Err(Error::Usage(
            "--plot - and the table both want standard output; give the picture a file".into(),
        ));
    }
    Ok(Request {
        inputs: input::files(&args.traces)?,
        columns: args.columns.map(),
        segment: args.segment.number,
        a,
        b,
        plot: args.plot.clone(),
    })
}
