//! `chirrup abx`: can an ear tell two settings apart? In each round a passage of a flight is heard
//! as A, as B and as X, which secretly is one of them; the answers are scored against guessing.
//!
//! ```text
//! trace --replay, A and B--> survey (seconds that differ) --> passages
//! seed --> rounds (what X is, which passage)
//! trace --replay again--> sounds of the passages --> played or written (commands/abx)
//!                                     answers --> score --> result
//! ```
//!
//! Both are heard as loud as they are: how loud it is belongs to the settings.

mod passages;
mod request;
mod result;
mod rounds;
mod score;
mod sounds;
mod survey;

pub use passages::{PASSAGE_S, Passage};
pub use request::Request;
pub use result::AbxResult;
pub use rounds::{Round, Side, Test};
pub use score::{Interval, interval, least_right, p_of_guessing};
pub use sounds::Sounds;

use crate::ears::Ears;
use crate::error::{Error, Result};
use crate::output::files::Files;
use crate::output::watch::Watch;
use crate::run::{self, ReplayOptions};
use std::sync::atomic::AtomicBool;

/// Samples a second that a replay without a WAV would have; not used.
const NO_WAV_HZ: u32 = 24_000;

/// Finds the passages in which A and B sound most different, and draws the rounds.
///
/// # Errors
/// A trace that cannot be used, an interruption, or two settings that sound the same everywhere.
pub fn test(request: &Request, interrupted: &AtomicBool) -> Result<Test> {
    let mut survey = survey::Survey::default();
    replay(request, interrupted, &mut survey)?;
    let passages = passages::choose(&survey.finish(), request.rounds);
    if passages.is_empty() {
        return Err(Error::Refused(format!(
            "{} and {} sound the same everywhere in {}; choose settings that differ in sound, or \
             another flight",
            request.a.name,
            request.b.name,
            request.input.name()
        )));
    }
    Ok(Test::new(request.seed, request.rounds, passages))
}

/// What sounds in the passages of `test`.
///
/// # Errors
/// A trace that cannot be read again, or an interruption.
pub fn sounds(request: &Request, test: &Test, interrupted: &AtomicBool) -> Result<Sounds> {
    let mut sounds = Sounds::of(&test.passages);
    replay(request, interrupted, &mut sounds)?;
    Ok(sounds)
}

fn replay(request: &Request, interrupted: &AtomicBool, watcher: &mut dyn Watch) -> Result<()> {
    let options = ReplayOptions {
        input: request.input.clone(),
        columns: request.columns.clone(),
        from: request.from,
        to: request.to,
        injections: Vec::new(),
        instruments: Ears { left: request.a.clone(), right: Some(request.b.clone()) },
        files: Files::default(),
        sample_rate_hz: NO_WAV_HZ,
        play: false,
        title: None,
    };
    run::replay(&options, interrupted, watcher).map(|_| ())
}
