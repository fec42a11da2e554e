//! `chirrup record`: the log of an instrument into a file.

use super::common::OUTPUTS;
use super::say::say_beside;
use super::values::{Expected, whole};
use chirrup::device;
use chirrup::error::Result;
use clap::Args;
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;

/// Arguments of `record`.
#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct RecordArgs {
    /// The serial port, such as /dev/ttyACM0 or COM3
    #[arg(value_name = "PORT")]
    port: PathBuf,
    /// The file to write, or - for standard output
    #[arg(short, long, alias = "out", value_name = "FILE", help_heading = OUTPUTS)]
    output: PathBuf,
    /// Samples a second of the sensors, 1 to 50; each is one row
    #[arg(long, alias = "rate", value_name = "HZ", default_value_t = 50,
          value_parser = whole::<u8>(1, 50), allow_negative_numbers = true)]
    sensor_rate: u8,
    /// Stop after this many seconds; without it, Ctrl-C stops
    #[arg(long, value_name = "S", value_parser = positive, allow_negative_numbers = true)]
    seconds: Option<f64>,
}

const HELP: &str = "\
The file is a trace for `chirrup replay`. It appears under its name once the recording has ended,
and Ctrl-C is a good way to end it. If the port disappears, `record` waits for it to come back and
writes the gap into the file as a comment.

Example:
  chirrup record /dev/ttyACM0 -o flight.csv";

/// Records until the time is over or Ctrl-C, and prints the result.
pub fn run(args: &RecordArgs, interrupted: &AtomicBool) -> Result<()> {
    let RecordArgs { port, output, sensor_rate, seconds } = args;
    let recorded = device::record::record(port, output, *sensor_rate, *seconds, interrupted)?;
    say_beside(&format!("{recorded}\n"), recorded.file.is_none())
}

fn positive(text: &str) -> std::result::Result<f64, Expected> {
    let seconds = text.parse().ok().filter(|seconds: &f64| *seconds > 0.0 && *seconds <= 1.0e6);
    seconds.ok_or_else(|| Expected("seconds, above 0 and up to 1000000".into()))
}
