//! `chirrup compare`: two settings on the same recordings.

use super::checks::{check_places, drawing, what_is_read};
use super::common::{ColumnsArg, JsonArg, OUTPUTS};
use super::say::{say, say_json};
use chirrup::compare::{Request, compare};
use chirrup::error::{Error, Result};
use chirrup::input;
use chirrup::settings_file;
use chirrup_core::settings::Settings;
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
    #[arg(long, value_name = "FILE", help_heading = OUTPUTS)]
    plot: Option<PathBuf>,
    #[command(flatten)]
    json: JsonArg,
    /// Exit with code 1 if B costs more than A by more than this share, such as 5% or 0.05
    #[arg(long, value_name = "SHARE")]
    fail_if_worse: Option<String>,
    #[command(flatten)]
    columns: ColumnsArg,
}

const HELP: &str = "\
Example:
  chirrup compare response_s=1 my.toml monday.igc tuesday.igc --plot compared.png";

/// Compares and prints the table; an error if B is worse than was allowed.
pub fn run(args: &CompareArgs, interrupted: &AtomicBool) -> Result<()> {
    let most_worse = args.fail_if_worse.as_deref().map(share).transpose()?;
    let comparison = compare(&request(args)?, interrupted)?;
    if args.json.json {
        say_json(&comparison)?;
    } else {
        say(&comparison.to_string())?;
    }
    comparison.verdict(most_worse)
}

/// Checks what was typed.
fn request(args: &CompareArgs) -> Result<Request> {
    let a = settings_file::load(&args.a, &Settings::default())?;
    let b = settings_file::load(&args.b, &Settings::default())?;
    let plot = drawing(args.plot.as_deref())?;
    let written: Vec<&Path> = args.plot.iter().map(PathBuf::as_path).collect();
    let read = what_is_read(args.traces.iter().map(PathBuf::as_path), [&args.a, &args.b]);
    check_places(&read, &written, false)?;
    if args.plot.as_deref() == Some(Path::new("-")) {
        return Err(Error::Usage(
            "--plot - and the table both want standard output; give the picture a file".into(),
        ));
    }
    Ok(Request { inputs: input::files(&args.traces)?, columns: args.columns.map(), a, b, plot })
}

/// `5%` or `0.05` as a share.
fn share(typed: &str) -> Result<f64> {
    let (number, scale) = typed.strip_suffix('%').map_or((typed, 1.0), |number| (number, 0.01));
    let value = number.trim().parse::<f64>().ok().map(|value| value * scale);
    value.filter(|value| (0.0..=10.0).contains(value)).ok_or_else(|| {
        Error::Usage(format!(
            "--fail-if-worse is {typed}, expected a share such as 5% or 0.05, up to 1000%"
        ))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_read_with_and_without_their_sign() {
        assert_eq!(share("5%").unwrap(), 0.05);
        assert_eq!(share("0.2").unwrap(), 0.2);
        assert!(share("five").unwrap_err().to_string().contains("expected a share such as 5%"));
        assert!(share("-1%").is_err());
    }
}
