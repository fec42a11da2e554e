//! `chirrup tone`: what each vertical speed sounds like.

use super::common::{INSTRUMENT, JsonArg, OUTPUTS, SettingsArgs, SoundRateArg};
use super::places::{check_places, what_is_read};
use super::say::{say, say_beside};
use super::values::{Drawing, drawing, number};
use chirrup::error::Result;
use chirrup::output::files::Files;
use chirrup::tone;
use chirrup::tone::check::GUIDE;
use chirrup::tone::request::{Request, sounder};
use chirrup::tone::sweep::{Sweep, What};
use chirrup::words::shown_path;
use chirrup_core::Speaker;
use clap::Args;
use clap::builder::PossibleValuesParser;
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;

/// How long one value sounds, unless --seconds says otherwise.
const ONE_VALUE_S: f64 = 6.0;
/// How long the sweep takes, unless --seconds says otherwise.
const SWEEP_S: f64 = 60.0;
/// How long the fault sounds, unless --seconds says otherwise: two calls of the default settings.
const FAULT_S: f64 = 30.0;

/// Arguments of `tone`.
#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct ToneArgs {
    /// Vertical speed at the beginning of the sweep, in m/s, -60 to 60
    #[arg(long, alias = "from", value_name = "M/S", default_value_t = -5.0,
          value_parser = number(-60.0, 60.0), allow_negative_numbers = true)]
    sweep_from: f64,
    /// Vertical speed at the end of the sweep, in m/s, -60 to 60
    #[arg(long, alias = "to", value_name = "M/S", default_value_t = 10.0,
          value_parser = number(-60.0, 60.0), allow_negative_numbers = true)]
    sweep_to: f64,
    /// One vertical speed instead of a sweep, in m/s, -60 to 60
    #[arg(long, value_name = "M/S", value_parser = number(-60.0, 60.0),
          allow_negative_numbers = true,
          conflicts_with_all = ["sweep_from", "sweep_to", "fault"])]
    at: Option<f64>,
    /// The sound of a failed sensor instead of a sweep
    #[arg(long, conflicts_with_all = ["sweep_from", "sweep_to"])]
    fault: bool,
    /// A minute of sink, climb and fault by which you find tone.speaker and the volume for your
    /// loudspeaker; prints what sounds when
    #[arg(long, conflicts_with_all = ["sweep_from", "sweep_to", "at", "fault", "seconds", "plot",
          "csv", "json", "speaker"])]
    check: bool,
    /// What it is played on, over the settings: flat, small, piezo
    #[arg(long, value_name = "WHAT", value_parser = speakers(), help_heading = INSTRUMENT)]
    speaker: Option<String>,
    /// How long it sounds, in seconds, 0.1 to 3600; by default 60 for a sweep, 6 for one vertical
    /// speed, 30 for a fault
    #[arg(long, alias = "over", value_name = "S", value_parser = number(0.1, 3600.0),
          allow_negative_numbers = true)]
    seconds: Option<f64>,
    /// Write the sound as a WAV file
    #[arg(long, value_name = "FILE", help_heading = OUTPUTS)]
    wav: Option<PathBuf>,
    /// Play the sound
    #[arg(long, help_heading = OUTPUTS)]
    play: bool,
    /// Draw pitch and beeps against vertical speed, as SVG or PNG by the file's ending
    #[arg(long, value_name = "FILE", value_parser = drawing(), help_heading = OUTPUTS)]
    plot: Option<Drawing>,
    /// Write the same as CSV, one line every 0.1 m/s
    #[arg(long, value_name = "FILE", help_heading = OUTPUTS)]
    csv: Option<PathBuf>,
    #[command(flatten)]
    json: JsonArg,
    #[command(flatten)]
    sound_rate: SoundRateArg,
    #[command(flatten)]
    settings: SettingsArgs,
}

const HELP: &str = "\
Prints a table of pitch and beeps against vertical speed, unless an output goes to standard output.
In a cruise mode (--settings tone.mode=netto, or speed) the values are netto, or airspeed less the
speed to fly, instead of vertical speed.

Examples:
  chirrup tone --plot tone.png --wav sweep.wav
  chirrup tone --at 2.5 --play
  chirrup tone --settings tone.timbre=reed --sweep-from 0 --sweep-to 5 --seconds 20 --wav reed.wav
  chirrup tone --fault --wav fault.wav
  chirrup tone --check --play";

/// The words of `tone.speaker`.
fn speakers() -> PossibleValuesParser {
    PossibleValuesParser::new(Speaker::ALL.map(Speaker::name))
}

/// Makes the sound and prints the table.
pub fn run(args: &ToneArgs, interrupted: &AtomicBool) -> Result<()> {
    let request = request(args)?;
    let (law, places) = tone::sound(&request, interrupted)?;
    if args.json.json {
        return say(&law.to_json()?);
    }
    let told = if args.check { GUIDE.to_owned() } else { law.to_string() };
    let written: String =
        places.iter().map(|place| format!("written   {}\n", shown_path(place))).collect();
    say_beside(&format!("{told}{written}"), request.files.use_standard_output())
}

/// Checks the arguments.
fn request(args: &ToneArgs) -> Result<Request> {
    let plots = args.plot.iter().cloned().collect();
    let files = Files { wav: args.wav.clone(), plots, csv: args.csv.clone(), ..Files::default() };
    let read = what_is_read([], &args.settings.settings);
    check_places(&read, &files.all().collect::<Vec<_>>(), args.json.json)?;
    let speaker = args.speaker.iter().map(|speaker| format!("tone.speaker={speaker}"));
    let settings = args.settings.settings.iter().cloned().chain(speaker).collect();
    let instrument = SettingsArgs { settings }.load()?;
    Ok(Request {
        sounder: sounder(&instrument)?,
        instrument,
        what: what(args),
        check: args.check,
        files,
        sample_rate_hz: args.sound_rate.hz,
        play: args.play,
    })
}

fn what(args: &ToneArgs) -> What {
    match (args.fault, args.at) {
        (true, _) => What::Fault { seconds: args.seconds.unwrap_or(FAULT_S) },
        (_, Some(value_mps)) => {
            What::One { value_mps, seconds: args.seconds.unwrap_or(ONE_VALUE_S) }
        }
        _ => What::Sweep(Sweep {
            from_mps: args.sweep_from,
            to_mps: args.sweep_to,
            seconds: args.seconds.unwrap_or(SWEEP_S),
        }),
    }
}
