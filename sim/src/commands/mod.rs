//! The command line: one file a command, each with its arguments, their check into a request to the
//! library, the call, and the printed output.
//!
//! ```text
//! words --clap--> Cli --X::run--> checks --> request of the library --> call --> say
//!   +--> usage (one line about what was typed wrong)
//! ```
//!
//! `common` holds the options that several commands share. Only this folder and `main.rs` use clap;
//! the library has no command line.

#[cfg(feature = "program")]
mod abx;
mod common;
#[cfg(feature = "program")]
mod compare;
mod demo;
#[cfg(feature = "program")]
mod device;
#[cfg(feature = "program")]
mod drill;
#[cfg(feature = "program")]
mod fly;
#[cfg(feature = "program")]
mod inspect;
#[cfg(feature = "program")]
mod listen;
#[cfg(feature = "program")]
mod live;
mod places;
#[cfg(feature = "program")]
mod raw;
#[cfg(feature = "program")]
mod record;
mod replay;
#[cfg(feature = "program")]
mod report;
#[cfg(feature = "program")]
mod response;
mod say;
mod settings;
mod tone;
#[cfg(feature = "program")]
mod tune;
pub mod usage;
mod values;
#[cfg(feature = "program")]
mod watch;

use chirrup::error::Result;
use clap::{Parser, Subcommand};
use std::sync::atomic::AtomicBool;

/// Hear and see what an audio variometer makes of a flight.
///
/// Chirrup replays a pressure trace through the same core that runs in the instrument: pressure
/// becomes total-energy-compensated vertical speed, and that becomes the tone a glider pilot flies
/// by with her eyes outside. Beeps mean climb: the better the climb, the higher and faster they
/// are. A low steady tone means strong sink.
#[derive(Debug, Parser)]
#[command(name = "chirrup", version, about, long_about, after_help = EXAMPLES,
          max_term_width = 100)]
pub struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[cfg(not(feature = "program"))]
const EXAMPLES: &str = "\
This build has the commands of a first look alone. `cargo run --release -p chirrup -- --help` builds
the whole program, and `cargo install --path sim` puts it on your path.

Examples:
  chirrup demo
  chirrup replay flight.igc --wav flight.wav --plot flight.png
  chirrup tone --plot tone.png --wav sweep.wav

Not certified, never a flight's primary reference. Keep the lookout.";

#[cfg(feature = "program")]
const EXAMPLES: &str = "\
Examples:
  chirrup demo
  chirrup replay flight.igc --wav flight.wav --plot flight.png
  chirrup replay flight.igc --from 12:05:00Z --to 12:20:00Z --wav thermal.wav
  chirrup replay log.csv --columns time=t_ms,static=baro:hPa --csv readings.csv
  chirrup replay log.csv --settings my.toml --settings response_s=0.6 --wav quick.wav
  chirrup replay log.csv --against energy=none --wav both.wav
  chirrup replay log.csv --inject frozen@2:30,10 --wav frozen.wav
  chirrup watch my.toml flight.igc --plot flight.png --wav flight.wav
  chirrup fly --list
  chirrup fly pull-ups -o trace.csv
  chirrup inspect flight.igc
  chirrup abx old.toml new.toml flight.igc
  chirrup response --settings response_s=0.6 --plot response.png
  chirrup record /dev/ttyACM0 -o flight.csv
  chirrup device /dev/ttyACM0 settings load my.toml
  chirrup live --i2c /dev/i2c-1 -o flight.csv
  chirrup tone --plot tone.png --wav sweep.wav
  chirrup listen --lesson 2
  chirrup drill --cockpit-db -20 --csv answers.csv

Not certified, never a flight's primary reference. Keep the lookout.";

#[derive(Debug, Subcommand)]
enum Command {
    /// Make the sound, picture and table of a built-in demonstration flight; needs no file
    Demo(demo::DemoArgs),
    /// Replay a pressure trace (CSV or IGC) and make its sound, picture and table
    Replay(Box<replay::ReplayArgs>),
    /// Replay a trace anew whenever its settings file changes
    #[cfg(feature = "program")]
    Watch(Box<watch::WatchArgs>),
    /// Simulate a flight and write its trace, with the true values beside what the sensors measure
    #[cfg(feature = "program")]
    Fly(fly::FlyArgs),
    /// Report sample rate, noise, gaps, launch and compensation of a recording
    #[cfg(feature = "program")]
    Inspect(inspect::InspectArgs),
    /// Find the best settings for recordings, with reasons
    #[cfg(feature = "program")]
    Tune(tune::TuneArgs),
    /// Make a page about a flight: summary, pictures, climbs, sensors; to keep, send or print
    #[cfg(feature = "program")]
    Report(report::ReportArgs),
    /// Compare two settings on recordings
    #[cfg(feature = "program")]
    Compare(compare::CompareArgs),
    /// Blind test: hear two settings without knowing which is which, and see how sure the ear is
    #[cfg(feature = "program")]
    Abx(Box<abx::AbxArgs>),
    /// Measure how quick and how quiet the reading is with given settings, against the best
    /// possible
    #[cfg(feature = "program")]
    Response(response::ResponseArgs),
    /// Record the log of an instrument on a serial port as a trace
    #[cfg(feature = "program")]
    Record(record::RecordArgs),
    /// Show or change the settings of an instrument on a serial port, or run its self-test
    #[cfg(feature = "program")]
    Device(device::DeviceArgs),
    /// Be the instrument on a Raspberry Pi: sensors on its I2C bus, sound from its sound card
    #[cfg(feature = "program")]
    Live(live::LiveArgs),
    /// Show, record or play the sound of each vertical speed, without a flight
    Tone(tone::ToneArgs),
    /// Fly by ear: move the air and the stick with the arrow keys, hear and see the result, take
    /// lessons
    #[cfg(feature = "program")]
    Listen(listen::ListenArgs),
    /// Ear training: identify hidden vertical speeds or changes, with a score; with keys, or on
    /// paper for a class
    #[cfg(feature = "program")]
    Drill(drill::DrillArgs),
    /// Print every setting with its range and meaning, as a settings file to start from
    Settings(settings::SettingsCommandArgs),
}

impl Cli {
    /// Runs the command; `interrupted` stops it.
    ///
    /// # Errors
    /// What stopped it.
    pub fn run(&self, interrupted: &AtomicBool) -> Result<()> {
        match &self.command {
            Command::Demo(args) => demo::run(args, interrupted),
            Command::Replay(args) => replay::run(args, interrupted),
            #[cfg(feature = "program")]
            Command::Watch(args) => watch::run(args, interrupted),
            #[cfg(feature = "program")]
            Command::Fly(args) => fly::run(args, interrupted),
            #[cfg(feature = "program")]
            Command::Inspect(args) => inspect::run(args, interrupted),
            #[cfg(feature = "program")]
            Command::Tune(args) => tune::run(args, interrupted),
            #[cfg(feature = "program")]
            Command::Report(args) => report::run(args, interrupted),
            #[cfg(feature = "program")]
            Command::Compare(args) => compare::run(args, interrupted),
            #[cfg(feature = "program")]
            Command::Abx(args) => abx::run(args, interrupted),
            #[cfg(feature = "program")]
            Command::Response(args) => response::run(args, interrupted),
            #[cfg(feature = "program")]
            Command::Record(args) => record::run(args, interrupted),
            #[cfg(feature = "program")]
            Command::Device(args) => device::run(args, interrupted),
            #[cfg(feature = "program")]
            Command::Live(args) => live::run(args, interrupted),
            Command::Tone(args) => tone::run(args, interrupted),
            #[cfg(feature = "program")]
            Command::Listen(args) => listen::run(args, interrupted),
            #[cfg(feature = "program")]
            Command::Drill(args) => drill::run(args, interrupted),
            Command::Settings(args) => settings::run(args),
        }
    }
}
