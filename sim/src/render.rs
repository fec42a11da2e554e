//! Turns voices into samples: the core's synthesiser, one for each ear, at any sample rate.
//!
//! A control tick is rarely a whole number of samples; sample `n` belongs to the tick that holds
//! its time, `floor(n ticks_per_second / sample_rate)`, in integers, so that a day of sound does
//! not drift by a sample.

use crate::ears::Ears;
use crate::replay::Stretch;
use chirrup_core::{TICKS_PER_SECOND, Voice, Waveform, WaveformState};

/// Samples of silence handed over at a time.
const SILENCE: usize = 4_096;

/// A synthesiser for one or two ears.
pub struct Renderer {
    waveform: Waveform,
    states: Ears<WaveformState>,
    sample_rate_hz: u64,
    ticks: u64,
    samples: u64,
    ear: Vec<i16>,
    interleaved: Vec<i16>,
}

impl Renderer {
    /// Silence so far; `two_ears` makes frames of left and right.
    pub fn new(sample_rate_hz: u32, two_ears: bool) -> Self {
        Self {
            waveform: Waveform::new(sample_rate_hz),
            states: Ears {
                left: WaveformState::default(),
                right: two_ears.then(WaveformState::default),
            },
            sample_rate_hz: u64::from(sample_rate_hz),
            ticks: 0,
            samples: 0,
            ear: Vec::new(),
            interleaved: Vec::new(),
        }
    }

    /// Channels in a frame: 1 or 2.
    pub fn channels(&self) -> u16 {
        self.states.count()
    }

    /// Renders `stretch` and hands the frames to `out` in pieces, interleaved where there are two
    /// ears.
    ///
    /// # Errors
    /// Whatever `out` returns.
    pub fn render<E>(
        &mut self,
        stretch: Stretch<'_>,
        out: &mut impl FnMut(&[i16]) -> Result<(), E>,
    ) -> Result<(), E> {
        match stretch {
            Stretch::Voices(voices) => {
                self.interleaved.clear();
                let mut rest = voices;
                while let Some(first) = rest.first() {
                    let run = rest.iter().take_while(|voices| *voices == first).count();
                    self.fill(*first, run as u64);
                    rest = &rest[run..];
                }
                out(&self.interleaved)
            }
            Stretch::Silence(ticks) => self.silence(ticks, out),
        }
    }

    /// The fade-out of sounds that have just been ended.
    pub fn fade_out<E>(&mut self, out: &mut impl FnMut(&[i16]) -> Result<(), E>) -> Result<(), E> {
        self.silence(u64::from(TICKS_PER_SECOND) / 50, out)
    }

    /// Appends a run of equal ticks to the interleaved frames.
    fn fill(&mut self, voices: Ears<Voice>, ticks: u64) {
        let count = self.samples_for(ticks) as usize;
        let channels = usize::from(self.channels());
        let start = self.interleaved.len();
        self.interleaved.resize(start + count * channels, 0);
        let frames = &mut self.interleaved[start..];
        if channels == 1 {
            self.waveform.fill(&mut self.states.left, voices.left, frames);
            return;
        }
        self.ear.resize(count, 0);
        let voices = [voices.left, voices.right.unwrap_or_default()];
        for (channel, (state, voice)) in self.states.iter_mut().zip(voices).enumerate() {
            self.waveform.fill(state, voice, &mut self.ear);
            for (frame, sample) in frames.chunks_exact_mut(channels).zip(&self.ear) {
                frame[channel] = *sample;
            }
        }
    }

    fn silence<E>(
        &mut self,
        ticks: u64,
        out: &mut impl FnMut(&[i16]) -> Result<(), E>,
    ) -> Result<(), E> {
        // The edges of what sounded before fade within the first ticks; after them all is zero.
        let fading = ticks.min(u64::from(TICKS_PER_SECOND) / 50);
        self.interleaved.clear();
        self.fill(self.states.map(|_| Voice::default()), fading);
        out(&self.interleaved)?;
        let channels = u64::from(self.channels());
        let mut zeros = self.samples_for(ticks - fading) * channels;
        self.interleaved.clear();
        self.interleaved.resize(SILENCE, 0);
        while zeros > 0 {
            let now = zeros.min(SILENCE as u64);
            out(&self.interleaved[..now as usize])?;
            zeros -= now;
        }
        Ok(())
    }

    /// How many samples the next `ticks` hold.
    fn samples_for(&mut self, ticks: u64) -> u64 {
        self.ticks += ticks;
        // u64 in hundredths of ticks would last longer than any recording: 2^64 / 192 kHz / 500 is
        // 6000 years.
        let until = self.ticks * self.sample_rate_hz / u64::from(TICKS_PER_SECOND);
        let count = until - self.samples;
        self.samples = until;
        count
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::Hertz;

    fn rendered(rate_hz: u32, stretches: &[Stretch<'_>]) -> Vec<i16> {
        let mut renderer = Renderer::new(rate_hz, false);
        let mut all = Vec::new();
        for stretch in stretches {
            let mut keep = |part: &[i16]| {
                all.extend_from_slice(part);
                Ok::<(), ()>(())
            };
            renderer.render(*stretch, &mut keep).unwrap();
        }
        all
    }

    fn mono(pitch_hz: f32) -> Ears<Voice> {
        Ears { left: Voice { pitch: Hertz(pitch_hz), gate: true, ..Voice::default() }, right: None }
    }

    #[test]
    fn an_hour_of_ticks_is_an_hour_of_samples_at_every_rate() {
        let minute = vec![mono(500.0); 30_000];
        for rate_hz in [8_000_u32, 11_025, 24_000, 44_100] {
            let mut renderer = Renderer::new(rate_hz, false);
            let mut count = 0_u64;
            for _ in 0..10 {
                let mut add = |part: &[i16]| {
                    count += part.len() as u64;
                    Ok::<(), ()>(())
                };
                renderer.render(Stretch::Voices(&minute), &mut add).unwrap();
                renderer.render(Stretch::Silence(150_000), &mut add).unwrap();
            }
            assert_eq!(count, u64::from(rate_hz) * 3600);
        }
    }

    #[test]
    fn the_sound_does_not_depend_on_how_its_stretches_are_cut() {
        let voices: Vec<_> = (0..500).map(|tick| mono(500.0 + (tick / 10) as f32)).collect();
        let whole = rendered(44_100, &[Stretch::Voices(&voices)]);
        let parts: Vec<_> = voices.chunks(7).map(Stretch::Voices).collect();
        assert_eq!(rendered(44_100, &parts), whole);
    }

    #[test]
    fn each_ear_hears_its_own_instrument() {
        let voices = [Ears { right: Some(Voice::default()), ..mono(500.0) }; 100];
        let mut renderer = Renderer::new(24_000, true);
        let mut all = Vec::new();
        let mut keep = |part: &[i16]| {
            all.extend_from_slice(part);
            Ok::<(), ()>(())
        };
        renderer.render(Stretch::Voices(&voices), &mut keep).unwrap();
        assert!(all.iter().step_by(2).any(|left| left.abs() > 10_000));
        assert!(all.iter().skip(1).step_by(2).all(|&right| right == 0));
    }
}
