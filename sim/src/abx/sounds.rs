//! The sound of passages, of A and of B, as each plays it in the course of the flight.

use super::passages::Passage;
use super::rounds::Side;
use crate::ears::Ears;
use crate::output::watch::Watch;
use crate::render::Renderer;
use crate::replay::{Listening, Row, Stretch};
use chirrup_core::Voice;
use std::convert::Infallible;

/// What sounds in some passages.
pub struct Sounds {
    /// Each passage, and its ticks so far.
    parts: Vec<(Passage, Vec<Ears<Voice>>)>,
    /// Ticks since the replay began.
    tick: u64,
}

impl Sounds {
    /// Nothing of these passages yet; a replay fills them.
    pub fn of(passages: &[Passage]) -> Self {
        Self { parts: passages.iter().map(|passage| (*passage, Vec::new())).collect(), tick: 0 }
    }

    /// The samples of the passage at `place`, as A or B plays it.
    pub fn samples(&self, place: usize, side: Side, sample_rate_hz: u32) -> Vec<i16> {
        let Some((_, voices)) = self.parts.get(place) else { return Vec::new() };
        let one = |both: &Ears<Voice>| Ears {
            left: match side {
                Side::A => both.left,
                Side::B => both.right.unwrap_or_default(),
            },
            right: None,
        };
        let voices: Vec<Ears<Voice>> = voices.iter().map(one).collect();
        let mut samples = Vec::new();
        let mut keep = |part: &[i16]| {
            samples.extend_from_slice(part);
            Ok::<(), Infallible>(())
        };
        let mut renderer = Renderer::new(sample_rate_hz, false);
        let Ok(()) = renderer.render(Stretch::Voices(&voices), &mut keep);
        let Ok(()) = renderer.fade_out(&mut keep);
        samples
    }
}

impl Watch for Sounds {
    fn row(&mut self, _row: &Row) {}

    fn listening(&self) -> Listening {
        Listening::Ticks
    }

    fn sound(&mut self, stretch: Stretch<'_>) {
        let (from, to) = (self.tick, self.tick + stretch.ticks());
        for (passage, voices) in &mut self.parts {
            let (first, last) = (from.max(passage.tick), to.min(passage.end()));
            if first >= last {
                continue;
            }
            match stretch {
                Stretch::Voices(all) => {
                    voices.extend(&all[(first - from) as usize..(last - from) as usize]);
                }
                Stretch::Silence(_) => {
                    let silence = Ears { left: Voice::default(), right: Some(Voice::default()) };
                    voices.extend((first..last).map(|_| silence));
                }
            }
        }
        self.tick = to;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{Hertz, TICKS_PER_SECOND};

    #[test]
    fn a_passage_is_cut_out_of_the_flight_as_each_plays_it() {
        let passage = Passage { tick: 700, from_s: 1.4, difference: 1.0 };
        let mut sounds = Sounds::of(&[passage]);
        let tone = Voice { pitch: Hertz(500.0), gate: true, ..Voice::default() };
        let both = [Ears { left: tone, right: Some(Voice::default()) }; 1_000];
        sounds.sound(Stretch::Voices(&both));
        sounds.sound(Stretch::Silence(100_000));
        let a = sounds.samples(0, Side::A, 8_000);
        let b = sounds.samples(0, Side::B, 8_000);
        // Ten seconds, and 20 ms to fade out.
        assert_eq!((a.len(), b.len()), (80_160, 80_160));
        let heard = (1_000 - 700) * 8_000 / TICKS_PER_SECOND as usize;
        assert!(a[..heard].iter().any(|sample| sample.abs() > 10_000));
        assert!(a[heard + 200..].iter().chain(&b).all(|sample| *sample == 0));
    }
}
