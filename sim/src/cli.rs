//! The command line as typed. What it means is checked in [`crate::options`].

use crate::time::Moment;
use crate::trace::columns::ColumnMap;
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Hear and see what an audio variometer makes of a flight.
///
/// Chirrup replays a pressure trace through the same core that runs in the instrument: pressure
/// becomes total-energy-compensated vertical speed, and that becomes the tone a glider pilot flies
/// by with her eyes outside. Beeps mean climb, higher and faster the better it is; a low steady
/// tone means strong sink.
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
  chirrup fly --list
  chirrup fly pull-ups -o trace.csv
  chirrup inspect flight.igc
  chirrup response --settings response_s=0.6 --plot response.png
  chirrup record /dev/ttyACM0 -o flight.csv
  chirrup device /dev/ttyACM0 settings load my.toml
  chirrup tone --plot tone.png --wav sweep.wav
  chirrup listen --lesson 2
  chirrup drill --cockpit-db -20 --csv answers.csv

A hobby instrument's bench: not certified, never a flight's primary reference.
Keep the lookout.";

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Make the sound, the picture and the table of a demonstration flight; needs no file
    Demo(DemoArgs),
    /// Replay a pressure trace (CSV or IGC) and make its sound, picture and table
    Replay(Box<ReplayArgs>),
    /// Fly a scenario and write its trace, with the truth beside what the sensors say
    Fly(FlyArgs),
    /// Tell what a recording is like: rate, noise, steps, gaps, launch, the compensation its speed
    /// changes ask for
    Inspect(InspectArgs),
    /// Find the best settings for recordings, with reasons
    Tune(TuneArgs),
    /// Make a page of a flight: summary, pictures, climbs, sensors; to keep, to send or to print
    Report(ReportArgs),
    /// Set two settings against one another on recordings
    Compare(CompareArgs),
    /// Measure how quick and how quiet the reading is with the settings, and how far from the best
    /// possible
    Response(ResponseArgs),
    /// Record the log of an instrument on a serial port as a trace
    Record(RecordArgs),
    /// Show or change the settings of an instrument on a serial port, or have it test itself
    Device(DeviceArgs),
    /// Show, record or play what each vertical speed sounds like, without a flight
    Tone(ToneArgs),
    /// Fly by ear: move the air and the stick with the arrow keys, hear and see what it sounds
    /// like, play lessons
    Listen(ListenArgs),
    /// Train the ear: tell hidden vertical speeds or changes, with a score; by keys, or on paper
    /// for a class
    Drill(DrillArgs),
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
    /// Run a second instrument beside the first: its settings as a TOML file, or as
    /// key=value[,key=value] that differ from the first's. The first is heard in the left ear, the
    /// second in the right
    #[arg(long, value_name = "FILE", help_heading = "Instrument")]
    pub against: Option<String>,
    /// Begin here: seconds, m:ss or h:mm:ss of the trace's time, or UTC as 13:05:00Z
    #[arg(long, value_name = "TIME", allow_hyphen_values = true, help_heading = "Trace")]
    pub from: Option<Moment>,
    /// End here
    #[arg(long, value_name = "TIME", allow_hyphen_values = true, help_heading = "Trace")]
    pub to: Option<Moment>,
    /// Put a fault into the trace: FAULT, FAULT@TIME or FAULT@TIME,DURATION, as in frozen@2:30,10;
    /// may be given several times. `--inject list` tells which there are
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

/// Arguments of `fly`.
#[derive(Args, Debug)]
#[command(after_help = FLY_HELP)]
pub struct FlyArgs {
    /// The scenario: the name of a built-in one, or a TOML file
    #[arg(value_name = "SCENARIO")]
    pub scenario: Option<String>,
    /// Write the trace here; - is standard output
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// List the built-in scenarios
    #[arg(long)]
    pub list: bool,
    /// Print the scenario's TOML, to start from
    #[arg(long)]
    pub show: bool,
    /// Seed of everything random, in place of the scenario's
    #[arg(long, value_name = "N")]
    pub seed: Option<u64>,
    /// Samples a second, 0.1 to 200, in place of the scenario's
    #[arg(long, value_name = "HZ", allow_negative_numbers = true)]
    pub rate: Option<f64>,
    /// Perfect sensors: no noise, no lag, no fault
    #[arg(long)]
    pub ideal: bool,
    /// Print the account, or the list, as JSON
    #[arg(long)]
    pub json: bool,
}

const FLY_HELP: &str = "\
The trace has the columns that `chirrup replay` reads and, for whoever wants to know how right the
instrument is, truth_air_mps, truth_vertical_mps, truth_energy_mps, truth_altitude_m and truth_phase.
The same scenario and seed give the same bytes everywhere.

Examples:
  chirrup fly winch-and-circuit -o winch.csv
  chirrup fly pull-ups --ideal --rate 50 -o - | chirrup replay - --energy electronic
  chirrup fly weak-blue-day --show > mine.toml";

/// Arguments of `inspect`.
#[derive(Args, Debug)]
pub struct InspectArgs {
    /// The traces: CSV or IGC files, or - for standard input
    #[arg(value_name = "TRACE", required = true)]
    pub traces: Vec<PathBuf>,
    /// Names of the traces' columns where they are not our own; see `chirrup replay --help`
    #[arg(long, value_name = "MAP")]
    pub columns: Option<ColumnMap>,
    /// Settings with the glider's polar, which makes the fit of the compensation a little better
    #[arg(long, value_name = "FILE")]
    pub settings: Option<String>,
    /// Draw height, intervals and noise, as SVG or PNG by the file's ending; of one trace
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
    /// Write the energy height and its rate as they were, smoothed from before and after, as CSV;
    /// of one trace
    #[arg(long, value_name = "FILE")]
    pub csv: Option<PathBuf>,
    /// Print the figures as JSON, a list with one entry a trace
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `tune`.
#[derive(Args, Debug)]
#[command(after_help = TUNE_HELP)]
pub struct TuneArgs {
    /// The recordings: CSV or IGC files
    #[arg(value_name = "TRACE", required = true)]
    pub traces: Vec<PathBuf>,
    /// The present settings: a TOML file (see `chirrup settings`), or key=value[,key=value]
    #[arg(long, value_name = "FILE")]
    pub settings: Option<String>,
    /// Write the recommended settings as a TOML file
    #[arg(long, short, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Draw noise against lag, as SVG or PNG by the file's ending
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
    /// Names of the recordings' columns where they are not our own; see `chirrup replay --help`
    #[arg(long, value_name = "MAP")]
    pub columns: Option<ColumnMap>,
    /// Print the figures as JSON
    #[arg(long)]
    pub json: bool,
}

const TUNE_HELP: &str = "\
The truth is the trace's own where `chirrup fly` made it, else the recording smoothed from before
and after. Both filters are tried with response times of 0.25 to 4 s, each with several thresholds;
compensation and delays come from the speed changes, where the air was calm enough to tell.

Example:
  chirrup tune monday.igc tuesday.igc -o tuned.toml --plot tuned.png";

/// Arguments of `report`.
#[derive(Args, Debug)]
pub struct ReportArgs {
    /// The trace: a CSV or IGC file
    #[arg(value_name = "TRACE")]
    pub trace: PathBuf,
    /// The page, one HTML file
    #[arg(long, short, value_name = "FILE")]
    pub output: PathBuf,
    /// Write the sound too, and link it from the page
    #[arg(long, value_name = "FILE")]
    pub wav: Option<PathBuf>,
    /// Settings: a TOML file (see `chirrup settings`), or key=value[,key=value]
    #[arg(long, value_name = "FILE")]
    pub settings: Option<String>,
    /// Names of the trace's columns where they are not our own; see `chirrup replay --help`
    #[arg(long, value_name = "MAP")]
    pub columns: Option<ColumnMap>,
}

/// Arguments of `compare`.
#[derive(Args, Debug)]
pub struct CompareArgs {
    /// The first settings: a TOML file, or key=value[,key=value]
    #[arg(value_name = "A")]
    pub a: String,
    /// The second
    #[arg(value_name = "B")]
    pub b: String,
    /// The recordings: CSV or IGC files
    #[arg(value_name = "TRACE", required = true)]
    pub traces: Vec<PathBuf>,
    /// Draw both on every recording, as SVG or PNG by the file's ending
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
    /// End with exit code 1 where B costs more than A by more than this share
    #[arg(long, value_name = "SHARE")]
    pub fail_if_worse: Option<String>,
    /// Names of the recordings' columns where they are not our own; see `chirrup replay --help`
    #[arg(long, value_name = "MAP")]
    pub columns: Option<ColumnMap>,
    /// Print the figures as JSON
    #[arg(long)]
    pub json: bool,
}

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

/// Arguments of `record`.
#[derive(Args, Debug)]
#[command(after_help = RECORD_HELP)]
pub struct RecordArgs {
    /// The serial port, such as /dev/ttyACM0 or COM3
    #[arg(value_name = "PORT")]
    pub port: PathBuf,
    /// The file to write, or - for standard output
    #[arg(short, long, value_name = "FILE")]
    pub out: PathBuf,
    /// Rows a second
    #[arg(long, value_name = "HZ", default_value_t = 50, value_parser = clap::value_parser!(u8).range(1..=50))]
    pub rate: u8,
    /// End after so many seconds; without it, Ctrl-C ends
    #[arg(long, value_name = "S", value_parser = positive)]
    pub seconds: Option<f64>,
}

const RECORD_HELP: &str = "\
The file is a trace for `chirrup replay`. It has its name only once the recording has ended: Ctrl-C
ends it well. A port that goes is waited for; what is missing stands in the file as a comment.";

fn positive(text: &str) -> Result<f64, String> {
    let seconds = text.parse().ok().filter(|seconds: &f64| *seconds > 0.0 && *seconds <= 1.0e6);
    seconds.ok_or_else(|| "expected seconds, above 0 and up to 1000000".into())
}

/// Arguments of `device`.
#[derive(Args, Debug)]
pub struct DeviceArgs {
    /// The serial port, such as /dev/ttyACM0 or COM3
    #[arg(value_name = "PORT")]
    pub port: PathBuf,
    /// What to do with the instrument there.
    #[command(subcommand)]
    pub action: DeviceAction,
}

/// What `device` does.
#[derive(Debug, Subcommand)]
pub enum DeviceAction {
    /// Show, load or save its settings
    #[command(subcommand)]
    Settings(DeviceSettingsAction),
    /// Report its sensors with their noise, rate and jitter; fails where the instrument does
    Selftest,
}

/// What `device settings` does.
#[derive(Debug, Subcommand)]
pub enum DeviceSettingsAction {
    /// Print them as a settings file
    Show,
    /// Use those of a settings file, all or none; settings save keeps them
    Load {
        /// The settings file; `chirrup settings` prints one, settings show the one in use
        #[arg(value_name = "FILE")]
        file: String,
    },
    /// Keep those in use for the next start
    Save,
}

/// Arguments of `tone`.
#[derive(Args, Debug)]
#[command(after_help = TONE_HELP)]
pub struct ToneArgs {
    /// Settings: a TOML file (see `chirrup settings`), or key=value[,key=value]
    #[arg(long, value_name = "FILE")]
    pub settings: Option<String>,
    /// One vertical speed in m/s, -60 to 60, instead of a sweep
    #[arg(long, value_name = "M/S", allow_negative_numbers = true, conflicts_with_all = ["from", "to", "fault"])]
    pub at: Option<f64>,
    /// The fault call instead of a sweep
    #[arg(long, conflicts_with_all = ["from", "to"])]
    pub fault: bool,
    /// Where the sweep begins, in m/s
    #[arg(long, value_name = "M/S", default_value_t = -5.0, allow_negative_numbers = true)]
    pub from: f64,
    /// Where it ends
    #[arg(long, value_name = "M/S", default_value_t = 10.0, allow_negative_numbers = true)]
    pub to: f64,
    /// How long it sounds, in seconds: 60 for a sweep, 6 for one value
    #[arg(long, value_name = "S", allow_negative_numbers = true)]
    pub over: Option<f64>,
    /// Write the sound as a WAV file
    #[arg(long, value_name = "FILE")]
    pub wav: Option<PathBuf>,
    /// Play the sound
    #[arg(long)]
    pub play: bool,
    /// Draw the law, as SVG or PNG by the file's ending
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
    /// Write the law as CSV, one line every 0.1 m/s
    #[arg(long, value_name = "FILE")]
    pub csv: Option<PathBuf>,
    /// Print the law as JSON
    #[arg(long)]
    pub json: bool,
    /// Samples a second of the WAV file
    #[arg(long, value_name = "HZ", default_value_t = 24_000, value_parser = clap::value_parser!(u32).range(8_000..=192_000))]
    pub rate: u32,
}

const TONE_HELP: &str = "\
The law is printed, unless standard output is taken by a file. A limen is the least difference that
an ear hears. In a cruise mode (--settings tone.mode=netto, or speed) the values are those of netto,
or of the airspeed less the speed to fly.

Examples:
  chirrup tone --plot tone.png --wav sweep.wav
  chirrup listen --lesson 2
  chirrup drill --cockpit-db -20 --csv answers.csv
  chirrup tone --at 2.5 --play
  chirrup tone --settings tone.timbre=reed --from 0 --to 5 --over 20 --wav reed.wav
  chirrup tone --fault --wav fault.wav";

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

/// Arguments of `listen`.
#[derive(Args, Debug)]
#[command(after_help = LISTEN_HELP)]
pub struct ListenArgs {
    /// Begin with a lesson, 1 to 6
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=6))]
    pub lesson: Option<u32>,
    /// Record the session as a WAV file
    #[arg(long, value_name = "FILE")]
    pub wav: Option<PathBuf>,
    /// End by itself after so many seconds
    #[arg(long = "for", value_name = "SECONDS", value_parser = clap::value_parser!(u32).range(1..=86_400))]
    pub seconds: Option<u32>,
    /// Sows the noise of the sensors
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
}

const LISTEN_HELP: &str = "\
Where there is no sound device, or the program is built without one, the session is recorded instead,
as chirrup-listen.wav unless --wav names another file.

The glider and its air are invented. Not certified, never a flight's primary reference.
Keep the lookout.";

/// Arguments of `drill`.
#[derive(Args, Debug)]
#[command(after_help = DRILL_HELP)]
pub struct DrillArgs {
    /// What is to be told
    #[arg(long, value_enum, value_name = "KIND", default_value = "changes")]
    pub kind: KindArg,
    /// How many questions, 1 to 100
    #[arg(long, value_name = "N", default_value_t = 12, value_parser = clap::builder::RangedU64ValueParser::<usize>::new().range(1..=100))]
    pub questions: usize,
    /// Number of the drill: the same number asks the same questions
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// Noise of a cockpit, in dB below full scale: -60 for hardly any, -12 for a storm
    #[arg(long, value_name = "DB", value_parser = cockpit_db, allow_negative_numbers = true)]
    pub cockpit_db: Option<f64>,
    /// Write every answer as CSV
    #[arg(long, value_name = "FILE")]
    pub csv: Option<PathBuf>,
    /// Record all questions instead, for a class, and print the sheet with the answers
    #[arg(long, value_name = "FILE", conflicts_with = "answers")]
    pub wav: Option<PathBuf>,
    /// Samples a second of the WAV file
    #[arg(long, value_name = "HZ", default_value_t = 24_000, value_parser = clap::value_parser!(u32).range(8_000..=192_000))]
    pub rate: u32,
    /// Score answers on paper: a file with one a line, as number or name; - is standard input
    #[arg(long, value_name = "FILE")]
    pub answers: Option<PathBuf>,
}

const DRILL_HELP: &str = "\
Examples:
  chirrup drill --kind speeds --seed 7
  chirrup drill --wav class.wav --seed 7            the class hears it and writes numbers down
  chirrup drill --answers anna.txt --seed 7 --csv anna.csv";

/// `--kind` as typed.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum KindArg {
    /// What becomes of a climb: weaker, the same, stronger, lift to sink
    Changes,
    /// How fast it climbs or sinks
    Speeds,
}

fn cockpit_db(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(level) if (-60.0..=-12.0).contains(&level) => Ok(level),
        _ => Err("expected a level from -60 to -12 dB".into()),
    }
}
