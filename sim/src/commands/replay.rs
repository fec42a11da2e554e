//! `chirrup replay`: a trace through the instrument, to its sound, picture and table.

use super::common::{
    ColumnsArg, INSTRUMENT, JsonArg, LargeArg, OUTPUTS, SettingsArgs, SoundRateArg, SpanArgs, TRACE,
};
use super::places::{check_places, what_is_read};
use super::say::{say, say_beside, say_json};
use super::values::{Drawing, drawing};
use chirrup::ears::Ears;
use chirrup::error::{Error, Result};
use chirrup::inject::{self, Injection};
use chirrup::input::Input;
use chirrup::output::files::Files;
use chirrup::output::watch::Nobody;
use chirrup::run::{self, ReplayOptions};
use chirrup::settings_file::{self, Instrument};
use chirrup_core::EnergyChoice;
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

/// Arguments of `replay`.
#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct ReplayArgs {
    /// The trace: a CSV or IGC file, or - for standard input
    #[arg(value_name = "TRACE", required_unless_present = "inject")]
    trace: Option<PathBuf>,
    /// Write the sound as a WAV file
    #[arg(long, value_name = "FILE", help_heading = OUTPUTS)]
    wav: Option<PathBuf>,
    /// Draw the picture, as SVG or PNG by the file's ending
    #[arg(long, value_name = "FILE", value_parser = drawing(), help_heading = OUTPUTS)]
    plot: Option<Drawing>,
    /// Write the readings as CSV, one line a sample
    #[arg(long, value_name = "FILE", help_heading = OUTPUTS)]
    csv: Option<PathBuf>,
    /// Play the sound, in real time
    #[arg(long, help_heading = OUTPUTS)]
    play: bool,
    #[command(flatten)]
    json: JsonArg,
    #[command(flatten)]
    sound_rate: SoundRateArg,
    #[command(flatten)]
    large: LargeArg,
    #[command(flatten)]
    settings: SettingsArgs,
    /// Source of the total energy, whatever the settings say
    #[arg(long, value_enum, value_name = "SOURCE", help_heading = INSTRUMENT)]
    energy: Option<EnergyArg>,
    /// Run a second instrument beside the first and hear it in the right ear: its settings as a
    /// TOML file, or as key=value[,key=value] to change the first instrument's. May be given
    /// several times, like --settings
    #[arg(long, value_name = "FILE|KEY=VALUE", help_heading = INSTRUMENT)]
    against: Vec<String>,
    #[command(flatten)]
    span: SpanArgs,
    /// Inject a fault: FAULT, FAULT@TIME or FAULT@TIME,DURATION, as in frozen@2:30,10. May be given
    /// several times; `--inject list` lists the faults
    #[arg(long, value_name = "FAULT", help_heading = TRACE)]
    inject: Vec<String>,
    #[command(flatten)]
    columns: ColumnsArg,
}

const HELP: &str = "\
A trace in CSV has a header row with time_s (or time_us) and static_pa, and optionally
dynamic_pa, ias_mps, tas_mps, te_pa (pressure at a total-energy probe) and oat_c; of an inertial
sensor accel_x_mps2, accel_y_mps2, accel_z_mps2, gyro_x_radps, gyro_y_radps and gyro_z_radps; of a
satellite receiver gnss_vn_mps, gnss_ve_mps and gnss_vd_mps. Columns with other names are ignored
unless --columns names them.

As a file, - stands for standard input or standard output.

Examples:
  chirrup replay flight.igc --wav flight.wav --plot flight.png
  chirrup replay flight.igc --from 12:05:00Z --to 12:20:00Z --wav thermal.wav
  chirrup replay log.csv --columns time=t_ms,static=baro:hPa --csv readings.csv
  chirrup replay log.csv --settings my.toml --settings response_s=0.6 --json
  chirrup replay log.csv --against energy=none --wav both.wav
  chirrup replay log.csv --inject frozen@2:30,10 --wav frozen.wav";

/// `--energy` as typed.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum EnergyArg {
    /// No compensation: pitch inputs move the reading
    None,
    /// Static pressure and airspeed
    Electronic,
    /// The pressure at a total-energy probe
    Probe,
    /// The best source that the trace has
    Auto,
}

/// Replays the trace and prints the summary.
pub fn run(args: &ReplayArgs, interrupted: &AtomicBool) -> Result<()> {
    if args.inject.iter().any(|typed| typed == "list") {
        return say(&inject::list());
    }
    let options = options(args)?;
    let summary = run::replay(&options, interrupted, &mut Nobody)?;
    if args.json.json {
        return say_json(&summary);
    }
    say_beside(&summary.to_string(), options.files.use_standard_output())
}

/// Checks the arguments.
fn options(args: &ReplayArgs) -> Result<ReplayOptions> {
    let plots = args.plot.iter().cloned().collect();
    let may_be_large = args.large.yes;
    let files = Files { wav: args.wav.clone(), plots, csv: args.csv.clone(), may_be_large };
    let trace = args.trace.as_deref().ok_or_else(|| {
        Error::Usage(
            "--inject needs a trace to put the fault into; `--inject list` alone lists the faults"
                .into(),
        )
    })?;
    check_places(&read_by(trace, args), &files.all().collect::<Vec<_>>(), args.json.json)?;
    args.span.check()?;
    Ok(ReplayOptions {
        input: Input::new(trace),
        columns: args.columns.map(),
        from: args.span.from,
        to: args.span.to,
        injections: args.inject.iter().map(|typed| injection(typed)).collect::<Result<_>>()?,
        instruments: instruments(args)?,
        files,
        sample_rate_hz: args.sound_rate.hz,
        play: args.play,
        title: None,
    })
}

fn injection(typed: &str) -> Result<Injection> {
    typed.parse().map_err(|error| Error::Usage(format!("--inject {typed}: {error}")))
}

/// The input files of a replay.
fn read_by<'a>(trace: &'a Path, args: &'a ReplayArgs) -> Vec<(&'a str, &'a Path)> {
    what_is_read([trace], args.settings.settings.iter().chain(&args.against))
}

fn instruments(args: &ReplayArgs) -> Result<Ears<Instrument>> {
    let mut left = args.settings.load()?;
    if let Some(energy) = args.energy {
        left.settings.energy.choice = energy.into();
        left = settings_file::build(&left.name, left.settings)?;
    }
    let right = match &args.against[..] {
        [] => None,
        sources => Some(settings_file::load_layers(sources, &left.settings)?),
    };
    Ok(Ears { left, right })
}

impl From<EnergyArg> for EnergyChoice {
    fn from(typed: EnergyArg) -> Self {
        match typed {
            EnergyArg::None => EnergyChoice::None,
            EnergyArg::Electronic => EnergyChoice::Electronic,
            EnergyArg::Probe => EnergyChoice::Probe,
            EnergyArg::Auto => EnergyChoice::Auto,
        }
    }
}
