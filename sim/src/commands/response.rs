//! `chirrup response`: lag and noise of the reading.

use super::common::{JsonArg, OUTPUTS, SettingsArgs};
use super::say::{say, say_beside};
use super::values::{Drawing, drawing, number, whole};
use chirrup::error::{Error, Result};
use chirrup::response::request::{Part, Request};
use chirrup::response::respond;
use clap::{Args, ValueEnum};
use std::path::Path;
use std::sync::atomic::AtomicBool;

/// Arguments of `response`.
#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct ResponseArgs {
    /// Samples a second of the sensor, 1 to 200
    #[arg(long, alias = "rate", value_name = "HZ", default_value_t = 50.0,
          value_parser = number(1.0, 200.0), allow_negative_numbers = true)]
    sensor_rate: f64,
    /// Standard deviation of the heights that the sensor gives, in metres, 0.002 to 5
    #[arg(long, value_name = "M", default_value_t = 0.1, value_parser = number(0.002, 5.0),
          allow_negative_numbers = true)]
    noise: f64,
    /// Number of runs to average, 1 to 1000, each with its own random seed
    #[arg(long, alias = "seeds", value_name = "N", default_value_t = 50,
          value_parser = whole::<u32>(1, 1000), allow_negative_numbers = true)]
    runs: u32,
    /// Number of flights in each case of rough air, 1 to 100, each with its own random seed; the
    /// worst counts
    #[arg(long, value_name = "N", default_value_t = 5, value_parser = whole::<u32>(1, 100),
          allow_negative_numbers = true)]
    rough_runs: u32,
    /// Number of thermals that scripted pilots centre by ear in each air, 1 to 10000
    #[arg(long, value_name = "N", default_value_t = 24, value_parser = whole::<u32>(1, 10_000),
          allow_negative_numbers = true)]
    thermals: u32,
    /// Number of planted flights that are tuned, 2 to 200, with gusts from 0 to 1 m/s
    #[arg(long, value_name = "N", default_value_t = 20, value_parser = whole::<u32>(2, 200),
          allow_negative_numbers = true)]
    flights: u32,
    /// Measure only this part: still air and smooth thermals, rough air, pilots who centre
    /// thermals, or planted flights tuned with their truth and without
    #[arg(long, value_name = "PART")]
    only: Option<PartArg>,
    #[command(flatten)]
    json: JsonArg,
    /// Draw the picture, as SVG or PNG by the file's ending
    #[arg(long, value_name = "FILE", value_parser = drawing(), help_heading = OUTPUTS)]
    plot: Option<Drawing>,
    #[command(flatten)]
    settings: SettingsArgs,
}

/// A part of the measurement.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum PartArg {
    /// Still air and smooth thermals
    Still,
    /// Gusts, turbulence, thermals to be found, circles
    Rough,
    /// Scripted pilots who centre thermals by ear, against a perfect tone
    Pilots,
    /// Planted flights, tuned with their truth and without; not measured unless asked for
    Tuning,
}

impl PartArg {
    fn part(self) -> Part {
        match self {
            PartArg::Still => Part::Still,
            PartArg::Rough => Part::Rough,
            PartArg::Pilots => Part::Pilots,
            PartArg::Tuning => Part::Tuning,
        }
    }
}

const HELP: &str = "\
In still air every lag is that of the mean reading. Beside it stands the best fixed filter (the
steady Kalman filter) whose reading has the same noise. In rough air every case is flown through the
whole instrument, and the best fixed filter is the one with the least error there. The sensor's
noise is white, and all random seeds are fixed, so that the same command prints the same figures.

Pilots who centre thermals fly with sensors of their own: 50 Hz, 0.1 m and 1 Pa of noise.

Examples:
  chirrup response --settings response_s=0.6 --noise 0.03 --plot quick.png
  chirrup response --settings filter=fixed --sensor-rate 20 --json
  chirrup response --only rough --plot rough.png";

/// Measures and prints the figures.
pub fn run(args: &ResponseArgs, interrupted: &AtomicBool) -> Result<()> {
    let request = request(args)?;
    let answer = respond(&request, interrupted)?;
    if args.json.json {
        say(&answer.to_json()?)
    } else {
        say_beside(&answer.to_string(), request.uses_standard_output())
    }
}

/// Checks the arguments.
fn request(args: &ResponseArgs) -> Result<Request> {
    if args.json.json && args.plot.iter().any(|(path, _)| path == Path::new("-")) {
        return Err(Error::Usage(
            "--json and --plot - both want standard output; give the plot a file".into(),
        ));
    }
    if let (Some(only @ (PartArg::Pilots | PartArg::Tuning)), Some(_)) = (args.only, &args.plot) {
        let name = if let PartArg::Pilots = only { "pilots" } else { "tuning" };
        return Err(Error::Usage(format!("--only {name} has no picture; leave out --plot")));
    }
    Ok(Request {
        instrument: args.settings.load()?,
        rate_hz: args.sensor_rate,
        noise_m: args.noise,
        seeds: args.runs,
        rough_seeds: args.rough_runs,
        thermals: args.thermals,
        flights: args.flights,
        only: args.only.map(PartArg::part),
        plot: args.plot.clone(),
    })
}
