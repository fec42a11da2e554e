//! The waveform: a phase-continuous tone with soft edges, as 16-bit samples at any rate.
//!
//! Phase is a 32-bit binary fraction of a turn and wraps by itself; it advances by `pitch / sample
//! rate`. Within a control tick, pitch, level and harmonics approach those of the voice with a
//! first-order lag of 1.2 ms, which smooths the 2 ms steps. The gate is shaped into a raised-cosine
//! edge, `(1 - cos(pi e)) / 2`: 5 ms long, and below 500 Hz two and a half periods of the tone (15
//! ms at most), since an edge of 5 ms holds little more than one period of 220 Hz, which gives a
//! click 36 dB below the tone.
//!
//! The sine is micromath's: within 1.2e-3 of the true sine, which puts all harmonics together 60 dB
//! below the tone, and a dozen times faster than libm's on a small processor. Pitch does not depend
//! on it. The harmonics of a timbre are Chebyshev polynomials of the sine: `T2(sin a) = -cos 2a`,
//! `T3(sin a) = -sin 3a`, `T4(sin a) = cos 4a`.

use crate::sound::beep::Voice;
use crate::sound::timbre::{HARMONICS, Timbre};
use core::f32::consts::{FRAC_PI_2, PI};
use micromath::F32Ext;

/// Full edge from silence to sound.
const EDGE_S: f32 = 0.005;
/// The edge of a low tone lasts this many of its periods...
const EDGE_PERIODS: f32 = 2.5;
/// ... but is no longer than this: half of the shortest gap.
const LONGEST_EDGE_S: f32 = 0.015;
/// Time constant within a tick of 2 ms.
const GLIDE_S: f32 = 0.001_2;
/// Peak of a wave at full level, of the full scale of 32768: the rest is margin for the sine's
/// error.
const FULL: f32 = 32_700.0;
/// One turn of the phase.
const TURN: f32 = 4_294_967_296.0;

/// The synthesiser for one sample rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Waveform {
    turns_per_hertz: f32,
    seconds: f32,
    glide_share: f32,
}

/// State of the synthesiser between samples.
#[derive(Clone, Copy, Debug, Default)]
pub struct WaveformState {
    phase: u32,
    edge: f32,
    /// Share of an edge per sample.
    edge_step: f32,
    now: Colour,
}

/// The values that glide.
#[derive(Clone, Copy, Debug, Default)]
struct Colour {
    increment: f32,
    level: f32,
    harmonics: [f32; HARMONICS],
}

impl Waveform {
    /// A synthesiser for `sample_rate_hz` samples a second; useful from 8 000 Hz upward.
    pub fn new(sample_rate_hz: u32) -> Self {
        let rate = if sample_rate_hz == 0 { 1.0 } else { sample_rate_hz as f32 };
        Self {
            turns_per_hertz: TURN / rate,
            seconds: 1.0 / rate,
            glide_share: 1.0 / (1.0 + GLIDE_S * rate),
        }
    }

    /// Fills `samples` with the sound of `voice`; the result does not depend on how the time is
    /// split into calls.
    pub fn fill(&self, state: &mut WaveformState, voice: Voice, samples: &mut [i16]) {
        let target = Colour {
            increment: voice.pitch.0 * self.turns_per_hertz,
            level: voice.level * FULL,
            harmonics: voice.timbre.harmonics(voice.pitch),
        };
        if voice.gate {
            state.edge_step = self.edge_step(voice);
        }
        for sample in samples {
            if state.edge <= 0.0 {
                if !voice.gate {
                    *sample = 0;
                    continue;
                }
                // A new sound begins at its own pitch, from the zero of the sine.
                (state.phase, state.now) = (0, target);
            }
            if voice.gate {
                state.now.glide(&target, self.glide_share, voice.timbre);
                *sample = state.next(state.edge_step);
            } else {
                // A fading sound keeps its pitch and timbre.
                *sample = state.next(-state.edge_step);
            }
        }
    }

    /// Share of an edge per sample.
    fn edge_step(&self, voice: Voice) -> f32 {
        let by_periods = voice.pitch.0 / EDGE_PERIODS;
        by_periods.clamp(1.0 / LONGEST_EDGE_S, 1.0 / EDGE_S) * self.seconds
    }
}

impl Colour {
    fn glide(&mut self, target: &Colour, share: f32, timbre: Timbre) {
        self.increment += share * (target.increment - self.increment);
        self.level += share * (target.level - self.level);
        if timbre != Timbre::Pure {
            for (now, target) in self.harmonics.iter_mut().zip(target.harmonics) {
                *now += share * (target - *now);
            }
        }
    }

    /// The wave for a value of the sine.
    fn shape(&self, sine: f32) -> f32 {
        let [first, second, third, fourth] = self.harmonics;
        if second <= 0.0 {
            return first * sine;
        }
        let square = sine * sine;
        let t2 = 2.0 * square - 1.0;
        sine * (first + third * (4.0 * square - 3.0)) + second * t2 + fourth * (2.0 * t2 * t2 - 1.0)
    }
}

impl WaveformState {
    fn next(&mut self, edge_step: f32) -> i16 {
        self.phase = self.phase.wrapping_add(self.now.increment as u32);
        self.edge = (self.edge + edge_step).clamp(0.0, 1.0);
        let angle = (self.phase as i32) as f32 * (PI / 2_147_483_648.0);
        let gain =
            if self.edge < 1.0 { 0.5 + 0.5 * F32Ext::sin(PI * self.edge - FRAC_PI_2) } else { 1.0 };
        (self.now.shape(F32Ext::sin(angle)) * (gain * self.now.level)) as i16
    }
}
#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Hertz;
    use std::vec;
    use std::vec::Vec;

    const RATE_HZ: u32 = 24_000;

    fn open_at(pitch_hz: f32) -> Voice {
        Voice { pitch: Hertz(pitch_hz), gate: true, ..Voice::default() }
    }

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
        let open = open_at(800.0);
        let samples = render(&[(open, 2400), (Voice { gate: false, ..open }, 2400)]);
        let edge = (EDGE_S * RATE_HZ as f32) as usize;
        assert!(samples[2400..2400 + edge / 2].iter().any(|sample| sample.abs() > 1000));
        assert!(samples[2400 + edge + 1..].iter().all(|&sample| sample == 0));
    }

    #[test]
    fn the_result_does_not_depend_on_how_the_time_is_split_into_calls() {
        let (low, high) = (open_at(500.0), open_at(900.0));
        let whole = render(&[(low, 1000), (high, 1000), (Voice { gate: false, ..high }, 500)]);
        let mut cut: Vec<_> = (0..100).map(|_| (low, 10)).collect();
        cut.extend((0..1000).map(|_| (high, 1)));
        cut.push((Voice { gate: false, ..high }, 500));
        assert_eq!(render(&cut), whole);
    }

    #[test]
    fn the_wave_never_clips_with_any_timbre() {
        for timbre in Timbre::ALL {
            for pitch_hz in [80.0, 220.0, 550.0, 997.0, 2400.0] {
                let samples = render(&[(Voice { timbre, ..open_at(pitch_hz) }, 24_000)]);
                let peak = samples.iter().map(|sample| sample.unsigned_abs()).max().unwrap();
                assert!((18_000..=32_740).contains(&peak), "{timbre:?} {pitch_hz} Hz: peak {peak}");
            }
        }
    }
}
