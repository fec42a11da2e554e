//! The sound of a replay as samples.

use chirrup::error::{Error, Result};
use chirrup::output::sizes::{MOST_UNASKED, Sizes};
use chirrup::output::watch::Watch;
use chirrup::render::Renderer;
use chirrup::replay::{Listening, Row, Stretch};
use chirrup::segments::flown::Flown;
use chirrup::trace::arrays::{Arrays, Channels};
use chirrup::trace::{Item, Trace};

/// The sound so far, of one ear.
pub struct Sound {
    renderer: Renderer,
    samples: Vec<i16>,
}

impl Sound {
    /// Silence so far, at so many samples a second.
    pub fn new(rate_hz: u32) -> Self {
        Self { renderer: Renderer::new(rate_hz, false), samples: Vec::new() }
    }

    /// All of it, with the fade-out of what still sounds.
    pub fn into_samples(mut self) -> Vec<i16> {
        let Self { renderer, samples } = &mut self;
        let Ok(()) = renderer.fade_out(&mut |part| keep(samples, part));
        self.samples
    }
}

impl Watch for Sound {
    fn row(&mut self, _row: &Row) {}

    fn listening(&self) -> Listening {
        Listening::Ticks
    }

    fn sound(&mut self, stretch: Stretch<'_>) {
        let Self { renderer, samples } = self;
        let Ok(()) = renderer.render(stretch, &mut |part| keep(samples, part));
    }
}

fn keep(samples: &mut Vec<i16>, part: &[i16]) -> std::result::Result<(), std::convert::Infallible> {
    samples.extend_from_slice(part);
    Ok(())
}

/// Refuses sound that would fill the memory.
///
/// # Errors
/// More than 1 GB of it.
pub fn check_size(channels: &Channels<'_>, rate_hz: u32) -> Result<()> {
    let mut flown = Flown::default();
    let mut trace = Arrays::new(*channels);
    while let Some(item) = trace.next() {
        if let Item::Sample { sample, .. } = item? {
            flown.take(&sample);
        }
    }
    let seconds = flown.total().0 as f64 * 1e-6;
    let sizes = Sizes { sound: Sizes::of_sound(seconds, rate_hz, 1), readings: 0 };
    if sizes.sound > MOST_UNASKED {
        return Err(Error::Refused(format!(
            "{sizes}, more than 1 GB; render a part of it, or with a lower rate_hz"
        )));
    }
    Ok(())
}
