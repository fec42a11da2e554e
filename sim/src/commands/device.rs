//! `chirrup device`: settings, self-test and inertial sensor of an instrument on a serial port.

use super::say::{say, say_beside};
use chirrup::device;
use chirrup::error::Result;
use chirrup::words::shown_path;
use clap::{Args, Subcommand};
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

/// Arguments of `device`.
#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct DeviceArgs {
    /// The serial port, such as /dev/ttyACM0 or COM3
    #[arg(value_name = "PORT")]
    port: PathBuf,
    /// The action on the instrument.
    #[command(subcommand)]
    action: DeviceAction,
}

const HELP: &str = "\
Examples:
  chirrup device /dev/ttyACM0 settings show
  chirrup device /dev/ttyACM0 settings load my.toml
  chirrup device /dev/ttyACM0 selftest
  chirrup device /dev/ttyACM0 inertial";

#[derive(Debug, Subcommand)]
enum DeviceAction {
    /// Show, load or save its settings
    #[command(subcommand)]
    Settings(SettingsAction),
    /// Report the noise, rate and jitter of its sensors; exit code 1 if the self-test fails
    Selftest,
    /// Report whether its inertial sensor is trusted, and why not
    Inertial,
}

#[derive(Debug, Subcommand)]
enum SettingsAction {
    /// Print its settings as a settings file
    Show,
    /// Send it a settings file, to use at once; `settings save` keeps them for the next start
    Load {
        /// The settings file; `chirrup settings` prints one, `settings show` the one in use
        #[arg(value_name = "FILE")]
        file: String,
    },
    /// Keep the settings in use for the next start
    Save,
}

/// Does the action and prints the answer.
pub fn run(args: &DeviceArgs, interrupted: &AtomicBool) -> Result<()> {
    let port = &args.port;
    match &args.action {
        DeviceAction::Settings(action) => settings(port, action, interrupted),
        DeviceAction::Selftest => {
            let (report, verdict) = device::selftest::report(port, interrupted)?;
            say(&report)?;
            verdict
        }
        DeviceAction::Inertial => say(&device::inertial(port, interrupted)?),
    }
}

fn settings(port: &Path, action: &SettingsAction, interrupted: &AtomicBool) -> Result<()> {
    match action {
        SettingsAction::Show => say(&device::settings::show(port, interrupted)?),
        SettingsAction::Load { file } => {
            for old in device::settings::load(port, file, interrupted)? {
                say_beside(&format!("note: {old}\n"), true)?;
            }
            say(&format!(
                "in use; `chirrup device {} settings save` keeps them for the next start\n",
                shown_path(port)
            ))
        }
        SettingsAction::Save => {
            device::settings::save(port, interrupted)?;
            say("saved\n")
        }
    }
}
