//! The arguments of `chirrup drill`, and the drill that they describe.

use super::super::common::{OUTPUTS, SoundRateArg};
use super::super::values::{number, seed, whole};
use chirrup::drill::Drill;
use chirrup::drill::question::Kind;
use chirrup::session::Session;
use chirrup::session::cockpit::OFF_DB;
use chirrup::session::control::Control;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// Arguments of `drill`.
#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct DrillArgs {
    /// What to identify
    #[arg(long, value_enum, value_name = "KIND", default_value = "changes")]
    kind: KindArg,
    /// Number of questions, 1 to 100 [default: 12; for threshold at most 100]
    #[arg(long, value_name = "N", value_parser = whole::<usize>(1, 100),
          allow_negative_numbers = true)]
    questions: Option<usize>,
    /// Random seed: the same one asks the same questions
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = seed,
          allow_negative_numbers = true)]
    seed: u64,
    /// Add cockpit noise of this level, in dB below full scale: -60 is hardly audible, -12 is very
    /// loud
    #[arg(long, value_name = "DB", value_parser = number(-60.0, -12.0),
          allow_negative_numbers = true)]
    pub(super) cockpit_db: Option<f64>,
    /// Write every answer as CSV
    #[arg(long, value_name = "FILE", help_heading = OUTPUTS)]
    pub(super) csv: Option<PathBuf>,
    /// Record all questions for a class instead of asking them, and print the answer sheet
    #[arg(long, value_name = "FILE", conflicts_with = "answers", help_heading = OUTPUTS)]
    pub(super) wav: Option<PathBuf>,
    #[command(flatten)]
    pub(super) sound_rate: SoundRateArg,
    /// Score answers written on paper: a file with one a line, as number or name, an empty line
    /// for a blank; - is standard input
    #[arg(long, value_name = "FILE")]
    pub(super) answers: Option<PathBuf>,
}

const HELP: &str = "\
Examples:
  chirrup drill --kind speeds --seed 7
  chirrup drill --wav class.wav --seed 7            the class listens and writes down numbers
  chirrup drill --answers anna.txt --seed 7 --csv anna.csv";

/// `--kind` as typed.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum KindArg {
    /// How a climb changes: weaker, the same, stronger, lift to sink
    Changes,
    /// How fast it climbs or sinks
    Speeds,
    /// The same changes in flights: heard through sensors and filter, in uneven air
    Flights,
    /// The smallest change that you hear: each question depends on your answers, and it ends when
    /// it knows to a fifth
    Threshold,
}

impl DrillArgs {
    pub(super) fn kind(&self) -> Kind {
        match self.kind {
            KindArg::Changes => Kind::Changes,
            KindArg::Speeds => Kind::Speeds,
            KindArg::Flights => Kind::Flights,
            KindArg::Threshold => Kind::Threshold,
        }
    }

    /// This drill, before its first question.
    pub(super) fn drill(&self) -> Drill {
        let wanted = self.questions.unwrap_or(self.kind().usual_questions());
        Drill::new(self.kind(), self.seed, wanted)
    }

    /// A session with its cockpit noise.
    pub(super) fn session(&self, sample_rate_hz: u32) -> Session {
        let mut session = Session::new(sample_rate_hz, 0);
        session.set(Control::Cockpit, self.cockpit_db.unwrap_or(OFF_DB));
        session
    }
}
