//! The sound itself: a phase-continuous sine with soft edges, as 16-bit samples at any rate.
//!
//! Phase is a 32-bit binary fraction of a turn and wraps by itself; it advances by `pitch / sample rate`. Pitch glides
//! towards the voice's by a first-order lag, and the gate is turned into an edge of 4 ms whose shape,
//! `6 e^5 - 15 e^4 + 10 e^3`, has no corner in slope or curvature and so no click.
//!
//! The sine is micromath's: within 1.2e-3 of the true one, which puts all harmonics together 60 dB below
//! the tone, and a dozen times cheaper than libm's on a small processor. Pitch does not depend on it.

use crate::beep::Voice;
use core::f32::consts::PI;
use micromath::F32Ext;

/// Full edge from silence to sound.
const EDGE_S: f32 = 0.004;
/// Time constant of the pitch's glide: shorter than the 20 ms the ear allows, longer than a click.
const GLIDE_S: f32 = 0.003;
/// Peak of the wave, of the full scale of 1: half leaves 6 dB for a second voice or a louder listener.
const AMPLITUDE: f32 = 0.5;
/// One turn of the phase.
const TURN: f32 = 4_294_967_296.0;

/// The synthesiser for one sample rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Waveform {
    turns_per_hertz: f32,
    edge_step: f32,
    glide_share: f32,
}

/// What the synthesiser remembers between samples.
#[derive(Clone, Copy, Debug, Default)]
pub struct WaveformState {
    phase: u32,
    increment: f32,
    edge: f32,
}

impl Waveform {
    /// A synthesiser for `sample_rate_hz` samples a second; useful from 8 000 Hz upward.
    pub fn new(sample_rate_hz: u32) -> Self {
        let rate = if sample_rate_hz == 0 { 1.0 } else { sample_rate_hz as f32 };
        let glide_share = 1.0 / (1.0 + GLIDE_S * rate);
        Self { turns_per_hertz: TURN / rate, edge_step: 1.0 / (EDGE_S * rate), glide_share }
    }

    /// Fills `samples` with what `voice` sounds like; the result does not depend on how a stretch is cut up.
    pub fn fill(&self, state: &mut WaveformState, voice: Voice, samples: &mut [i16]) {
        let target = voice.pitch.0 * self.turns_per_hertz;
        let edge_step = if voice.gate { self.edge_step } else { -self.edge_step };
        for sample in samples {
            if state.edge <= 0.0 {
                if !voice.gate {
                    *sample = 0;
                    continue;
                }
                // A new sound begins at its own pitch, from the zero of the sine.
                (state.phase, state.increment) = (0, target);
            }
            *sample = state.next(target, edge_step, self.glide_share);
        }
    }
}

impl WaveformState {
    /// Nothing sounds, and a closed gate would give only zeros.
    pub fn is_silent(&self) -> bool {
        self.edge <= 0.0
    }

    fn next(&mut self, target: f32, edge_step: f32, glide_share: f32) -> i16 {
        self.increment += glide_share * (target - self.increment);
        self.phase = self.phase.wrapping_add(self.increment as u32);
        self.edge = (self.edge + edge_step).clamp(0.0, 1.0);
        let angle = (self.phase as i32) as f32 * (PI / 2_147_483_648.0);
        let e = self.edge;
        let gain = e * e * e * (e * (6.0 * e - 15.0) + 10.0);
        (F32Ext::sin(angle) * (gain * (AMPLITUDE * 32_767.0))) as i16
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Hertz;
    use std::vec;
    use std::vec::Vec;

    const RATE_HZ: u32 = 24_000;

    fn render(voices: &[(Voice, usize)]) -> Vec<i16> {
        let waveform = Waveform::new(RATE_HZ);
        let mut state = WaveformState::default();
        let mut all = Vec::new();
        for &(voice, count) in voices {
            let mut part = vec![0; count];
            waveform.fill(&mut state, voice, &mut part);
            all.extend(part);
        }
        all
    }

    #[test]
    fn the_sine_is_within_its_stated_error() {
        let mut worst = 0.0_f64;
        for step in -100_000..=100_000 {
            let angle = step as f32 / 100_000.0 * PI;
            worst = worst.max((f64::from(F32Ext::sin(angle)) - libm::sin(f64::from(angle))).abs());
        }
        assert!(worst < 1.2e-3, "worst error of the sine {worst}");
    }

    #[test]
    fn a_closed_gate_is_exactly_silent_once_its_edge_has_passed() {
        let open = Voice { pitch: Hertz(800.0), gate: true };
        let samples = render(&[(open, 2400), (Voice { gate: false, ..open }, 2400)]);
        let edge = (EDGE_S * RATE_HZ as f32) as usize;
        assert!(samples[2400..2400 + edge / 2].iter().any(|sample| sample.abs() > 1000));
        assert!(samples[2400 + edge + 1..].iter().all(|&sample| sample == 0));
    }

    #[test]
    fn the_result_does_not_depend_on_how_a_stretch_is_cut_up() {
        let (low, high) = (Voice { pitch: Hertz(500.0), gate: true }, Voice { pitch: Hertz(900.0), gate: true });
        let whole = render(&[(low, 1000), (high, 1000), (Voice { gate: false, ..high }, 500)]);
        let mut cut: Vec<_> = (0..100).map(|_| (low, 10)).collect();
        cut.extend((0..1000).map(|_| (high, 1)));
        cut.push((Voice { gate: false, ..high }, 500));
        assert_eq!(render(&cut), whole);
    }

    #[test]
    fn the_wave_never_passes_half_of_full_scale() {
        let samples = render(&[(Voice { pitch: Hertz(997.0), gate: true }, 48_000)]);
        let peak = samples.iter().map(|sample| sample.unsigned_abs()).max().unwrap();
        assert!((16_300..=16_384).contains(&peak), "peak {peak}");
    }
}
