//! Plays passages on a sound device, whichever is wished last.

use chirrup::error::{Error, Result};
use chirrup::output::live::Speaker;
use std::sync::atomic::AtomicBool;

/// How far the sound is buffered ahead of the ear, s.
const AHEAD_S: f64 = 0.06;
/// Frames handed over at a time.
const BLOCK: usize = 128;
/// A passage that is broken off fades out within so many blocks.
const FADE: usize = 4;

/// A sound device, and what it still has to play.
pub struct Player<'a> {
    speaker: Speaker<'a>,
    samples: Vec<i16>,
    played: usize,
}

impl<'a> Player<'a> {
    /// Opens the default sound device.
    ///
    /// # Errors
    /// There is none; the message says what to do instead.
    pub fn open(interrupted: &'a AtomicBool) -> Result<Self> {
        let speaker = Speaker::open(1, AHEAD_S, interrupted).map_err(instead)?;
        Ok(Self { speaker, samples: Vec::new(), played: 0 })
    }

    /// Samples a second of the device.
    pub fn sample_rate_hz(&self) -> u32 {
        self.speaker.sample_rate_hz()
    }

    /// Plays something else from now on; what sounded fades out, so that nothing clicks.
    pub fn turn_to(&mut self, samples: Vec<i16>) {
        let rest = self.samples.get(self.played..).unwrap_or_default();
        self.samples = faded(rest, FADE * BLOCK).chain(samples).collect();
        self.played = 0;
    }

    /// Hands over what the device has room for; silence at the end.
    ///
    /// # Errors
    /// The device is lost.
    pub fn play(&mut self) -> Result<()> {
        while self.speaker.room() >= BLOCK {
            let rest = self.samples.get(self.played..).unwrap_or_default();
            let mut block = [0; BLOCK];
            block.iter_mut().zip(rest).for_each(|(to, from)| *to = *from);
            self.played += BLOCK;
            self.speaker.push(&block)?;
        }
        Ok(())
    }
}

/// The first of `samples`, at most `most`, fading out.
fn faded(samples: &[i16], most: usize) -> impl Iterator<Item = i16> {
    let length = samples.len().min(most);
    let fade = move |(place, sample): (usize, &i16)| {
        (i32::from(*sample) * (length - place) as i32 / length as i32) as i16
    };
    samples.iter().take(length).enumerate().map(fade)
}

/// What to do without a sound device.
fn instead(error: Error) -> Error {
    let why = error.to_string();
    // The first half says what is wrong.
    let why = why.split(';').next().unwrap_or(&why);
    Error::Refused(format!(
        "{why}; write the sounds with --wav FOLDER and give the answers with --answers FILE"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_broken_off_fades_out() {
        let fade: Vec<i16> = faded(&[1000; 9], 4).collect();
        assert_eq!(fade, [1000, 750, 500, 250]);
        assert_eq!(faded(&[], 4).count(), 0);
    }
}
