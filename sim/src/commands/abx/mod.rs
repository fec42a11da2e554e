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
    if args.answers.is_none() && args.wav.is_none() {
        terminal::check()?;
    }
    let test = abx::test(&request, interrupted)?;
    let answers = match (&args.answers, &args.wav) {
        (Some(path), _) => paper::read(path, test.rounds.len())?,
        (None, Some(folder)) => {
            let sounds = abx::sounds(&request, &test, interrupted)?;
            return say(&paper::write(&request, &test, &sounds, folder, args.sound_rate.hz)?);
        }
        (None, None) => {
            let sounds = abx::sounds(&request, &test, interrupted)?;
            terminal::ask(&request, &test, &sounds, interrupted)?
        }
    };
    let result = AbxResult::new(&request, &test, &answers)?;
    if args.json.json { say_json(&result) } else { say(&result.to_string()) }
}
