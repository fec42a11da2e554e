//! `chirrup device`: settings, self-test, checks and inertial sensor of an instrument on a serial
//! port.

use super::common::{JsonArg, OUTPUTS};
use super::say::{say, say_beside, say_json};
use super::values::{number, qnh, quantity, whole};
use chirrup::device::{self, check};
use chirrup::error::Result;
use chirrup::words::shown_path;
use clap::{Args, Subcommand, ValueEnum};
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
  chirrup device /dev/ttyACM0 check --qnh 1018 --elevation 432 --leak
  chirrup device /dev/ttyACM0 soundcheck
  chirrup device /dev/ttyACM0 inertial
  chirrup device /dev/ttyACM0 clock
  chirrup device /dev/ttyACM0 flights
  chirrup device /dev/ttyACM0 fetch 3 -o flight.csv";

#[derive(Debug, Subcommand)]
enum DeviceAction {
    /// Show, load or save its settings
    #[command(subcommand)]
    Settings(SettingsAction),
    /// Report the noise, rate and jitter of its sensors; exit code 1 if the self-test fails
    Selftest,
    /// Check sensors, static pressure and pitot zero on the ground, and lines for leaks; exit code
    /// 1 if anything failed or a line is not known to be tight
    Check(CheckArgs),
    /// Play its sound check, a minute, and say what sounds and what to listen for
    Soundcheck,
    /// Report whether its inertial sensor is trusted, and why not
    Inertial,
    /// List the flights that it recorded in its flash
    Flights {
        #[command(flatten)]
        json: JsonArg,
    },
    /// Write a recorded flight as a trace that replays to the bit
    Fetch {
        /// The flight's number, 1 to 65535; `flights` lists them
        #[arg(value_name = "N", value_parser = whole::<u16>(1, 65_535),
              allow_negative_numbers = true)]
        number: u16,
        /// Write the trace here; - is standard output
        #[arg(short, long, value_name = "FILE", help_heading = OUTPUTS)]
        output: PathBuf,
    },
    /// Set its UTC from this computer, so that recorded flights have a date
    Clock {
        /// Print what it takes for UTC instead
        #[arg(long)]
        show: bool,
    },
}

/// Arguments of `device PORT check`.
#[derive(Args, Debug)]
#[command(after_help = CHECK_HELP)]
struct CheckArgs {
    /// Pressure reduced to sea level (QNH) in hPa, 870 to 1085, to check the static pressure
    #[arg(long, value_name = "HPA", requires = "elevation", value_parser = qnh,
          allow_negative_numbers = true)]
    qnh: Option<f64>,
    /// Height of the place above the sea in m, -500 to 6000
    #[arg(long, value_name = "M", requires = "qnh",
          value_parser = quantity(-500.0, 6_000.0, "m, not feet"),
          allow_negative_numbers = true)]
    elevation: Option<f64>,
    /// Test the lines for leaks as well: you hold a pressure for a minute; `--leak=pitot` tests one
    #[arg(long, value_name = "LINE", num_args = 0..=1, require_equals = true,
          default_missing_value = "all")]
    leak: Option<LineArg>,
    /// How long to wait for a pressure, 5 to 600 s
    #[arg(long, value_name = "S", default_value_t = 120.0, value_parser = number(5.0, 600.0),
          allow_negative_numbers = true)]
    wait: f64,
    #[command(flatten)]
    json: JsonArg,
}

const CHECK_HELP: &str = "\
Pitot, static and probe lines are work for a licensed person. Never blow into a line.

Exit code 1 if anything failed, or if a line of --leak was not tested or is not known to be tight.

Example:
  chirrup device /dev/ttyACM0 check --qnh 1018 --elevation 432 --leak";

#[derive(Clone, Copy, Debug, ValueEnum)]
enum LineArg {
    /// Every line that has a sensor
    All,
    /// The pitot's
    Pitot,
    /// The static line
    Static,
    /// A total-energy probe's
    Probe,
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
        DeviceAction::Check(args) => check(port, args, interrupted),
        DeviceAction::Soundcheck => {
            device::sound_check::run(port, interrupted, |line| say(&format!("{line}\n")))
        }
        DeviceAction::Inertial => say(&device::inertial(port, interrupted)?),
        DeviceAction::Flights { json } => {
            let flights = device::flights::list(port, interrupted)?;
            if json.json { say_json(&flights) } else { say(&flights.to_string()) }
        }
        DeviceAction::Fetch { number, output } => {
            let fetched = device::flights::fetch(port, *number, output, interrupted)?;
            say_beside(&format!("{fetched}\n"), output.as_os_str() == "-")
        }
        DeviceAction::Clock { show: true } => {
            say(&(device::clock::show(port, interrupted)? + "\n"))
        }
        DeviceAction::Clock { show: false } => {
            say(&format!("set to {}\n", device::clock::set(port, interrupted)?))
        }
    }
}

fn check(port: &Path, args: &CheckArgs, interrupted: &AtomicBool) -> Result<()> {
    let place = args.qnh.zip(args.elevation);
    let request = check::Request {
        place: place.map(|(qnh_hpa, elevation_m)| check::Place { qnh_hpa, elevation_m }),
        leak: args.leak.is_some(),
        only: match args.leak {
            None | Some(LineArg::All) => None,
            Some(LineArg::Pitot) => Some(check::Line::Pitot),
            Some(LineArg::Static) => Some(check::Line::Static),
            Some(LineArg::Probe) => Some(check::Line::Probe),
        },
        patience_s: args.wait,
    };
    let (findings, ended) = check::check(port, &request, interrupted)?;
    let (report, verdict) = check::report(port, &findings);
    if args.json.json {
        say_json(&findings)?
    } else {
        say(&report)?
    }
    ended.and(verdict)
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
