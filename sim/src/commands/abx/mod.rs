//! `chirrup abx`: a blind test of two settings, by keys in a terminal or by sound files.
//!
//! | module | what it does |
//! |---|---|
//! | `args` | the arguments, checked into the request |
//! | `terminal` | plays A, B and X by keys, and takes the answers |
//! | `player` | the sound device, playing whichever is wished last |
//! | `paper` | writes the passages as sound files, and reads answers from a file |

mod args;
mod paper;
mod player;
mod terminal;

pub use args::AbxArgs;

use super::say::{say, say_json};
use chirrup::abx::{self, AbxResult};
use chirrup::error::Result;
use std::sync::atomic::AtomicBool;

/// Runs the test and prints the score; or writes its sound files.
pub fn run(args: &AbxArgs, interrupted: &AtomicBool) -> Result<()> {
    let request = args.request()?;
    let by_keys = args.answers.is_none() && args.wav.is_none();
    // Before the work, so that a missing device is reported at once.
    let player = by_keys.then(|| terminal::open(interrupted)).transpose()?;
    let test = abx::test(&request, interrupted)?;
    let sounds = || abx::sounds(&request, &test, interrupted);
    if let Some(folder) = &args.wav {
        return say(&paper::write(&request, &test, &sounds()?, folder, args.sound_rate.hz)?);
    }
    let answers = match (player, &args.answers) {
        (Some(player), _) => terminal::ask(&request, &test, &sounds()?, player, interrupted)?,
        (None, Some(path)) => paper::read(path, test.rounds.len())?,
        (None, None) => Vec::new(),
    };
    let result = AbxResult::new(&request, &test, &answers)?;
    if args.json.json { say_json(&result) } else { say(&result.to_string()) }
}
