//! The tone law, without a flight: `chirrup tone`.
//!
//! | module | what it does |
//! |---|---|
//! | [`request`] | the checked request |
//! | [`check`] | a minute by which the ear finds loudspeaker and volume |
//! | [`hearing`] | loudness, masking by noise, just noticeable steps |
//! | [`law`] | the sound of every vertical speed, and what the ear makes of it |
//! | [`sweep`] | a reading that moves evenly, tick by tick through the core |
//! | [`text`](self), [`picture`] | the law for people, printed and drawn |

pub mod check;
pub mod hearing;
pub mod law;
pub mod picture;
pub mod request;
pub mod sweep;
mod text;

use crate::ears::Ears;
use crate::error::{Error, Result};
use crate::output::Output;
use crate::output::picture_file::PictureFile;
use crate::output::place::{Placed, place_all};
use crate::output::wav::WavOutput;
use crate::replay::Stretch;
use crate::run::live_output;
use chirrup_core::Voice;
use law::Law;
use request::Request;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};

/// Ticks of sound handed over at a time.
const BATCH: usize = 4_096;

/// Makes the requested outputs and returns the law with the files written; `interrupted` stops it
/// between two pieces of sound.
///
/// # Errors
/// When something cannot be written or played, or on an interruption; no file is then under its
/// name.
pub fn sound(request: &Request, interrupted: &AtomicBool) -> Result<(Law, Vec<PathBuf>)> {
    let law = Law::new(&request.instrument, &request.sounder, request.what);
    let mut sealed = Vec::new();
    let mut outputs = create_outputs(request, interrupted)?;
    let pictures =
        request.files.plots.iter().map(PictureFile::create).collect::<Result<Vec<_>>>()?;
    let table = request.files.csv.as_ref().map(|path| Placed::create(path)).transpose()?;
    if !outputs.is_empty() {
        let voices: Vec<_> = voices(request)?.map(|left| Ears { left, right: None }).collect();
        for piece in voices.chunks(BATCH) {
            if interrupted.load(Ordering::Relaxed) {
                return Err(Error::Interrupted);
            }
            outputs.iter_mut().try_for_each(|output| output.sound(Stretch::Voices(piece)))?;
        }
    }
    for output in outputs {
        sealed.extend(output.finish()?);
    }
    for file in pictures {
        sealed.push(file.write(&picture::draw(&law))?);
    }
    if let Some(file) = table {
        sealed.push(file.seal_with(law.to_csv().as_bytes())?);
    }
    Ok((law, place_all(sealed)?))
}

/// What is heard, tick by tick.
fn voices(request: &Request) -> Result<Box<dyn Iterator<Item = Voice> + '_>> {
    if request.check {
        let voices = check::voices(&request.instrument.settings.tone)
            .map_err(|error| Error::Settings(error.to_string()))?;
        return Ok(Box::new(voices.into_iter()));
    }
    Ok(request.what.voices(&request.sounder))
}

fn create_outputs<'a>(
    request: &Request,
    interrupted: &'a AtomicBool,
) -> Result<Vec<Box<dyn Output + 'a>>> {
    let mut outputs: Vec<Box<dyn Output + 'a>> = Vec::new();
    if let Some(path) = &request.files.wav {
        outputs.push(Box::new(WavOutput::create(path, request.sample_rate_hz, false)?));
    }
    if request.play {
        outputs.push(live_output(false, interrupted)?);
    }
    Ok(outputs)
}
