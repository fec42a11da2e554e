//! A flight as one page to keep, send or print, or two flights side by side: `chirrup report`.
//!
//! | module | what it is |
//! |---|---|
//! | `flown` | a recording, its analysis, its replay |
//! | `overview`, `together`, `axes` | pictures of a whole flight, and of two |
//! | `facts`, `view`, `page` | words and tables, as the template in `sim/templates` takes them |
//! | `player` | samples, settings and the core as WebAssembly, for the sound on the page |
//! | `link` | the link to a sound file |
//! | `script/` | what the page runs |

mod axes;
mod facts;
mod flown;
mod link;
mod overview;
mod page;
mod player;
mod request;
mod together;
mod view;

pub use request::Request;

use crate::error::Result;
use crate::output::Output;
use crate::output::place::{Placed, Sealed, place_all};
use crate::output::sizes::Sizes;
use crate::output::wav::{self, WavOutput};
use crate::recording::Recording;
use crate::replay::Stretch;
use flown::Flown;
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;

/// Samples a second of the sound.
const SOUND_HZ: u32 = 24_000;

/// Makes the page, and the sound if requested; returns the files made.
///
/// # Errors
/// A trace that cannot be used, or a file that cannot be written; nothing is then there.
pub fn report(request: &Request, interrupted: &AtomicBool) -> Result<Vec<PathBuf>> {
    // Before the work, so that a missing folder is reported at once.
    let file = Placed::create(&request.output)?;
    let wav = request.wav.as_deref().map(|path| WavOutput::create(path, SOUND_HZ, false));
    let mut wav = wav.transpose()?;
    let mut flights = Vec::new();
    for (place, input) in request.inputs.iter().enumerate() {
        let read = Recording::read(input, &request.columns, interrupted)?;
        let recording = read.segment(request.segment)?;
        let mut wav = wav.as_mut().filter(|_| place == 0);
        if wav.is_some() {
            check_sound(request, &recording)?;
        }
        let mut sound = |stretch: Stretch<'_>| match &mut wav {
            Some(wav) => wav.sound(stretch),
            None => Ok(()),
        };
        flights.push(Flown::of(request, recording, &mut sound, interrupted)?);
    }
    let page = page::html(request, &flights)?;
    let mut sealed: Vec<Sealed> = vec![file.seal_with(page.as_bytes())?];
    if let Some(wav) = wav {
        sealed.extend(Box::new(wav).finish()?);
    }
    place_all(sealed)
}

/// Refuses a sound that is too long for its file, or large without having been asked for.
fn check_sound(request: &Request, recording: &Recording) -> Result<()> {
    let (name, seconds) = (&recording.name, recording.duration_s());
    wav::check_length(name, seconds, SOUND_HZ, 1)?;
    let sound = Sizes::of_sound(seconds, SOUND_HZ, 1);
    Sizes { sound, readings: 0 }.check(name, request.may_be_large)
}
