//! `chirrup watch`: a replay made anew whenever its settings file or its trace changes.
//!
//! ```text
//! changes (folders watched; a look once a second) --> bench: what differs?
//!     nothing --> wait          settings in error --> told, outputs kept
//!     settings or trace --> run::replay --> made (one line)
//! ```
//!
//! The trace is read anew each time: with ten minutes at 50 Hz that is a tenth of the work.

mod bench;
mod changes;
mod made;
mod request;

pub use made::{Made, Why};
pub use request::{News, Request};

use crate::error::{Error, Result};
use bench::Bench;
use changes::Changes;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

/// Makes the outputs, and anew at each change until `interrupted`; `tell` is given the news.
///
/// # Errors
/// The files cannot be used at the beginning (for an error inside a settings file or a trace there
/// is news instead), or `tell` fails.
pub fn watch(
    request: Request,
    interrupted: &AtomicBool,
    tell: &mut dyn FnMut(News) -> Result<()>,
) -> Result<()> {
    let (changes, mut why_not) = Changes::of(&[Path::new(&request.settings), &request.trace]);
    let mut bench = Bench::new(request);
    let mut noticed = Instant::now();
    while !interrupted.load(Ordering::Relaxed) {
        match bench.look(noticed, interrupted, tell) {
            Err(Error::Interrupted) => break,
            done => done?,
        }
        if let Some(why_not) = why_not.take() {
            let note = format!("the files are looked at once a second: {why_not}");
            tell(News::Note(note))?;
        }
        noticed = changes.wait(interrupted);
    }
    Ok(())
}
