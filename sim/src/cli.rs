//! The command line as typed. What it means is checked in [`crate::options`].

use crate::time::Moment;
use crate::trace::columns::ColumnMap;
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Hear and see what an audio variometer makes of a flight.
///
/// Chirrup replays a pressure trace through the same core that runs in the instrument: pressure becomes
/// total-energy-compensated vertical speed, and that becomes the tone a glider pilot flies by with her eyes
/// outside. Beeps mean climb, higher and faster the better it is; a low steady tone means strong sink.
#[derive(Debug, Parser)]
#[command(name = "chirrup", version, about, long_about, after_help = EXAMPLES, max_term_width = 100)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

const EXAMPLES: &str = "\
Examples:
  chirrup demo
  chirrup replay flight.igc --wav flight.wav --plot flight.png
  chirrup replay flight.igc --from 12:05:00Z --to 12:20:00Z --wav thermal.wav
  chirrup replay log.csv --columns time=t_ms,static=baro:hPa --csv readings.csv
  chirrup replay log.csv --against energy=none --wav both.wav
  chirrup replay log.csv --inject frozen@2:30,10 --wav frozen.wav
  chirrup response --settings response_s=0.6 --plot response.png

A hobby instrument's bench: not certified, never a flight's primary reference.
Keep the lookout.";

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Make the sound, the picture and the table of a demonstration flight; needs no file
    Demo(DemoArgs),
    /// Replay a pressure trace (CSV or IGC) and make its sound, picture and table
    Replay(Box<ReplayArgs>),
    /// Measure how quick and how quiet the reading is with the settings, and how far from the best possible
    Response(ResponseArgs),
    /// Print every setting with its default and its range, as a settings file to start from
    Settings,
}

/// Arguments of `demo`.
#[derive(Args, Debug)]
pub struct DemoArgs {
    /// Folder to put the files in; made if it is not there
    #[arg(long, value_name = "DIR", default_value = "chirrup-demo")]
    pub out: PathBuf,
}

/// Arguments of `replay`.
#[derive(Args, Debug)]
#[command(after_help = REPLAY_HELP)]
pub struct ReplayArgs {
    /// The trace: a CSV or IGC file, or - for standard input
    #[arg(value_name = "TRACE", required_unless_present = "inject")]
    pub trace: Option<PathBuf>,
    /// Write the sound as a WAV file
    #[arg(long, value_name = "FILE", help_heading = "Outputs")]
    pub wav: Option<PathBuf>,
    /// Draw the picture, as SVG or PNG by the file's ending
    #[arg(long, value_name = "FILE", help_heading = "Outputs")]
    pub plot: Option<PathBuf>,
    /// Write the readings as CSV, one line a sample
    #[arg(long, value_name = "FILE", help_heading = "Outputs")]
    pub csv: Option<PathBuf>,
    /// Print the summary as JSON
    #[arg(long, help_heading = "Outputs")]
    pub json: bool,
    /// Play the sound as it comes, in real time
    #[arg(long, help_heading = "Outputs")]
    pub play: bool,
    /// Samples a second of the WAV file
    #[arg(long, value_name = "HZ", default_value_t = 24_000, value_parser = clap::value_parser!(u32).range(8_000..=192_000),
          help_heading = "Outputs")]
    pub rate: u32,
    /// Settings: a TOML file (see `chirrup settings`), or key=value[,key=value]
    #[arg(long, value_name = "FILE", help_heading = "Instrument")]
    pub settings: Option<String>,
    /// Where total energy comes from, whatever the settings say
    #[arg(long, value_enum, value_name = "SOURCE", help_heading = "Instrument")]
    pub energy: Option<EnergyArg>,
    /// Run a second instrument beside the first: its settings as a TOML file, or as key=value[,key=value] that differ
    /// from the first's. The first is heard in the left ear, the second in the right
    #[arg(long, value_name = "FILE", help_heading = "Instrument")]
    pub against: Option<String>,
    /// Begin here: seconds, m:ss or h:mm:ss of the trace's time, or UTC as 13:05:00Z
    #[arg(long, value_name = "TIME", allow_hyphen_values = true, help_heading = "Trace")]
    pub from: Option<Moment>,
    /// End here
    #[arg(long, value_name = "TIME", allow_hyphen_values = true, help_heading = "Trace")]
    pub to: Option<Moment>,
    /// Put a fault into the trace: FAULT, FAULT@TIME or FAULT@TIME,DURATION, as in frozen@2:30,10; may be given several times.
    /// `--inject list` tells which there are
    #[arg(long, value_name = "FAULT", help_heading = "Trace")]
    pub inject: Vec<String>,
    /// Names of the trace's columns where they are not our own: time=t_s,static=p:hPa
    #[arg(long, value_name = "MAP", help_heading = "Trace")]
    pub columns: Option<ColumnMap>,
}

const REPLAY_HELP: &str = "\
A trace in CSV has a header line with time_s (or time_us) and static_pa, and if it likes
dynamic_pa, ias_mps, tas_mps, te_pa (a total-energy probe's line) and oat_c. Other columns are
ignored, or named with --columns CHANNEL=COLUMN[:UNIT], CHANNEL being one of time, static,
dynamic, ias, tas, te and oat.

As a file, - stands for standard input or standard output.";

/// Arguments of `response`.
#[derive(Args, Debug)]
#[command(after_help = RESPONSE_HELP)]
pub struct ResponseArgs {
    /// Settings: a TOML file (see `chirrup settings`), or key=value[,key=value]
    #[arg(long, value_name = "FILE")]
    pub settings: Option<String>,
    /// Samples a second, 1 to 200
    #[arg(long, value_name = "HZ", default_value_t = 50.0, allow_negative_numbers = true)]
    pub rate: f64,
    /// Standard deviation of the sensor's heights in metres, 0.002 to 5
    #[arg(long, value_name = "M", default_value_t = 0.1, allow_negative_numbers = true)]
    pub noise: f64,
    /// How many runs make a mean, 1 to 1000
    #[arg(long, value_name = "N", default_value_t = 50)]
    pub seeds: u32,
    /// Print the figures as JSON
    #[arg(long)]
    pub json: bool,
    /// Draw the picture, as SVG or PNG by the file's ending
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
}

const RESPONSE_HELP: &str = "\
Every lag is that of the mean reading. Beside it stands the best fixed filter (the steady Kalman
filter) whose reading has the same noise in still air. The sensor's noise is white and seeded, so
that the same command prints the same figures.

Examples:
  chirrup response --settings response_s=0.6 --noise 0.03 --plot quick.png
  chirrup response --settings filter=fixed --rate 20 --json";

/// `--energy` as typed.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum EnergyArg {
    /// Altitude alone: the reading follows the stick
    None,
    /// Static pressure and airspeed
    Electronic,
    /// A total-energy probe's own pressure
    Probe,
    /// The best source the trace has
    Auto,
}
