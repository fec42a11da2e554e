//! `chirrup drill`: ear training, with keys in a terminal or on paper for a class.
//!
//! | module | what it does |
//! |---|---|
//! | `args` | the arguments, and the drill that they describe |
//! | `terminal` | asks one question after another, answered with the keys 1 to 5 |
//! | `paper` | records the questions for a class, and scores answers from a file |

mod args;
mod paper;
mod terminal;

pub use args::DrillArgs;

use super::say::say;
use chirrup::drill::table;
use chirrup::error::Result;
use chirrup::output::place::write_text;
use std::sync::atomic::AtomicBool;

/// Runs the drill and prints the score; or records it and prints the answer sheet.
pub fn run(args: &DrillArgs, interrupted: &AtomicBool) -> Result<()> {
    if let Some(path) = &args.wav {
        return say(&paper::record(args, path)?);
    }
    let drill = match &args.answers {
        Some(path) => paper::score(args, path)?,
        None => terminal::ask(args, interrupted)?,
    };
    if let Some(path) = &args.csv {
        write_text(path, &table::csv(&drill, args.cockpit_db))?;
    }
    say(&format!("{}\n\n{}", table::sentence(&drill), table::text(&drill)))
}
