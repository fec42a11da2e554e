//! `chirrup live`: the instrument on this computer's I2C bus, with the sound of its sound card.

#[cfg(all(feature = "i2c", target_os = "linux"))]
mod flight;
#[cfg(all(feature = "i2c", target_os = "linux"))]
mod log;

use super::common::{OUTPUTS, SettingsArgs};
use chirrup::error::Result;
use clap::Args;
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;

/// Arguments of `live`.
#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct LiveArgs {
    /// The I2C bus with the sensors, such as /dev/i2c-1
    #[arg(long, value_name = "BUS")]
    i2c: PathBuf,
    /// Write the log as a trace for `chirrup replay`
    #[arg(short, long, value_name = "FILE", help_heading = OUTPUTS)]
    output: Option<PathBuf>,
    #[command(flatten)]
    settings: SettingsArgs,
}

const HELP: &str = "\
While it runs, type a letter and Enter: m mutes for five minutes or ends that, + and - change the
volume, q ends. Any line of the instrument's console works as well, such as selftest or zero; help
lists them.

A hobby instrument: not certified, never a flight's primary reference. Keep the lookout.

Example:
  chirrup live --i2c /dev/i2c-1 --settings my.toml -o flight.csv";

/// Runs the instrument until `q` or Ctrl-C.
#[cfg(all(feature = "i2c", target_os = "linux"))]
pub fn run(args: &LiveArgs, interrupted: &AtomicBool) -> Result<()> {
    let settings = args.settings.load()?.settings;
    flight::run(&args.i2c, settings, args.output.as_deref(), interrupted)
}

/// Explains how to build with a bus, or that there is none.
#[cfg(not(all(feature = "i2c", target_os = "linux")))]
pub fn run(args: &LiveArgs, _interrupted: &AtomicBool) -> Result<()> {
    let LiveArgs { i2c, output: _, settings: _ } = args;
    let bus = chirrup::words::shown_path(i2c);
    Err(chirrup::error::Error::Usage(if cfg!(target_os = "linux") {
        format!(
            "this build cannot use {bus}; type `sudo apt-get install libasound2-dev`, then \
             `cargo install --path sim --features i2c`"
        )
    } else {
        format!("cannot use {bus}: `live` needs the I2C bus of Linux, as on a Raspberry Pi")
    }))
}
