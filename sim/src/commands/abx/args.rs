//! The arguments of `chirrup abx`, checked into the request.

use super::super::common::{ColumnsArg, JsonArg, OUTPUTS, SoundRateArg, SpanArgs};
use super::super::values::{seed, whole};
use chirrup::abx::Request;
use chirrup::error::Result;
use chirrup::input::Input;
use chirrup::settings_file;
use chirrup_core::Settings;
use clap::Args;
use std::hash::{BuildHasher, RandomState};
use std::path::PathBuf;

/// Seeds that nobody has asked for are below this: six digits can be typed again.
const SEEDS: u64 = 1_000_000;

/// Arguments of `abx`.
#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct AbxArgs {
    /// The first settings: a TOML file, or key=value[,key=value]
    #[arg(value_name = "A")]
    a: String,
    /// The second settings, written like A
    #[arg(value_name = "B")]
    b: String,
    /// The flight: a CSV or IGC file
    #[arg(value_name = "TRACE")]
    trace: PathBuf,
    /// Number of rounds, 1 to 100. With 12, 10 right are better than guessing (p = 0.019)
    #[arg(long, value_name = "N", default_value_t = 12,
          value_parser = whole::<usize>(1, 100), allow_negative_numbers = true)]
    rounds: usize,
    /// Random seed: which of the two X is in each round; without it, a new one each time
    #[arg(long, value_name = "N", value_parser = seed, allow_negative_numbers = true)]
    seed: Option<u64>,
    /// Write the sounds of every round into this folder instead of playing them, and the key as
    /// key.csv beside them
    #[arg(long, value_name = "FOLDER", conflicts_with_all = ["answers", "json"],
          help_heading = OUTPUTS)]
    pub(super) wav: Option<PathBuf>,
    /// Score answers given to sound files, with the same --seed: a file with a or b on each line,
    /// in the order of the rounds; - is standard input
    #[arg(long, value_name = "FILE", requires = "seed")]
    pub(super) answers: Option<PathBuf>,
    #[command(flatten)]
    pub(super) json: JsonArg,
    #[command(flatten)]
    pub(super) sound_rate: SoundRateArg,
    #[command(flatten)]
    span: SpanArgs,
    #[command(flatten)]
    columns: ColumnsArg,
}

const HELP: &str = "\
Each round is a passage of 10 s in which the two settings sound most different. Keys: 1 plays it as
A, 2 as B, space as X, which secretly is one of them; a or b is your answer; q ends the test and
scores what was answered. Whether an answer was right is shown only at the end, so that nobody stops
while it goes well. Both are as loud as they would be in flight.

Examples:
  chirrup abx response_s=0.6 my.toml flight.csv
  chirrup abx old.toml new.toml flight.igc --rounds 20
  chirrup abx old.toml new.toml flight.igc --wav blind --seed 7
  chirrup abx old.toml new.toml flight.igc --answers anna.txt --seed 7 --json";

impl AbxArgs {
    /// Checks the arguments.
    pub(super) fn request(&self) -> Result<Request> {
        self.span.check()?;
        Ok(Request {
            input: Input::new(&self.trace).to_be_read_twice()?,
            columns: self.columns.map(),
            from: self.span.from,
            to: self.span.to,
            a: settings_file::load(&self.a, &Settings::default())?,
            b: settings_file::load(&self.b, &Settings::default())?,
            rounds: self.rounds,
            // The standard library's hasher is seeded by the system.
            seed: self.seed.unwrap_or_else(|| RandomState::new().hash_one(0) % SEEDS),
        })
    }
}
