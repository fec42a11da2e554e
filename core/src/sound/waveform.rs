//! The waveform: a phase-continuous tone with soft edges, as 16-bit samples at any rate.
//!
//! Integers only, for every sample: some 60 to 100 cycles of a Cortex-M0+, so that a board plays
//! the same samples as the bench, bit by bit. Floats prepare what a new voice changes, once a
//! control tick at most.
//!
//! Phase is a 32-bit binary fraction of a turn and wraps by itself; it advances by `pitch / sample
//! rate`. Pitch, level and harmonics go to those of a new voice in a straight line within one
//! control tick, which smooths the 2 ms steps. The gate is shaped into a raised-cosine edge, `(1 -
//! cos(pi e)) / 2`: 5 ms long, and below 500 Hz two and a half periods of the tone (15 ms at most),
//! since an edge of 5 ms holds little more than one period of 220 Hz, which gives a click 36 dB
//! below the tone.
//!
//! The sine is a polynomial of the seventh degree in 15 bits ([`sine`]), within 7e-5 of the true
//! one: every harmonic of a pure tone is 90 dB below it. The edge is a table of 64 steps, filled
//! once with micromath's sine, whose error of 1.2e-3 is heard in no edge. The harmonics of a timbre
//! are Chebyshev polynomials of the sine, summed into one: `T2(sin a) = -cos 2a`, `T3(sin a) = -sin
//! 3a`, `T4(sin a) = cos 4a`.

use crate::sound::beep::{TICKS_PER_SECOND, Voice};
use crate::sound::sine::{ONE, sine, times};
use crate::sound::timbre::Timbre;
use crate::units::Hertz;
use core::f32::consts::{FRAC_PI_2, PI};
use micromath::F32Ext;

/// Full edge from silence to sound.
const EDGE_S: f32 = 0.005;
/// The edge of a low tone lasts this many of its periods...
const EDGE_PERIODS: f32 = 2.5;
/// ... but is no longer than this: half of the shortest gap.
const LONGEST_EDGE_S: f32 = 0.015;
/// Steps of the edge's table.
const EDGE_STEPS: usize = 64;
/// Bits of an edge's place within a step of the table.
const EDGE_BITS: u32 = 18;
/// A whole edge.
const OPEN: i32 = (EDGE_STEPS as i32) << EDGE_BITS;
/// Peak of a wave at full level, of the full scale of 32768: the rest is margin for roundings.
const FULL: f32 = 32_700.0;
/// One turn of the phase.
const TURN: f32 = 4_294_967_296.0;
/// A level has this many bits more than a sample, so that it glides without steps.
const LEVEL_BITS: u32 = 15;
/// Harmonics glide in steps of this many samples.
const STEP: u32 = 8;
/// The shape has one bit less than the sine, so that its sums stay within 32 bits.
const HALF: f32 = (ONE / 2) as f32;
/// The harmonics are worked out anew where the pitch has moved by this share of it: they fade over
/// an octave.
const SAME_COLOUR: f32 = 0.005;

/// The synthesiser for one sample rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Waveform {
    turns_per_hertz: f32,
    /// Edge of a second, in [`OPEN`]s a sample.
    edge_of_second: f32,
    /// Samples in which a new voice is reached: a control tick.
    glide: u32,
    /// The share of a glide that is a sample, of 2^32: a product is quicker than a quotient.
    glide_share: i64,
    edge: [i16; EDGE_STEPS + 1],
}

/// State of the synthesiser between samples.
#[derive(Clone, Copy, Debug, Default)]
pub struct WaveformState {
    phase: u32,
    /// From 0, silence, to [`OPEN`].
    edge: i32,
    /// Share of an edge per sample.
    edge_step: i32,
    voice: Voice,
    now: Colour,
    target: Colour,
    /// What `now` gains with each sample, until ...
    slope: Colour,
    /// ... this many samples have passed.
    glides: u32,
    /// The pitch for which the target's shape was worked out.
    coloured: Hertz,
}

/// The values that glide.
#[derive(Clone, Copy, Debug, Default)]
struct Colour {
    /// Phase of a sample.
    increment: i32,
    /// Peak, with [`LEVEL_BITS`] more than a sample.
    level: i32,
    /// The wave as a polynomial of the sine, constant first, of half of [`ONE`] at most.
    shape: [i32; 5],
}

impl Waveform {
    /// A synthesiser for `sample_rate_hz` samples a second; useful from 8 000 Hz upward.
    pub fn new(sample_rate_hz: u32) -> Self {
        let rate = if sample_rate_hz == 0 { 1.0 } else { sample_rate_hz as f32 };
        let glide = (sample_rate_hz / TICKS_PER_SECOND).max(1);
        let mut edge = [0; EDGE_STEPS + 1];
        for (step, share) in edge.iter_mut().enumerate() {
            let angle = PI / EDGE_STEPS as f32 * step as f32 - FRAC_PI_2;
            *share = (ONE as f32 * (0.5 + 0.5 * F32Ext::sin(angle))) as i16;
        }
        Self {
            turns_per_hertz: TURN / rate,
            edge_of_second: OPEN as f32 / rate,
            glide,
            glide_share: (1_i64 << 32) / i64::from(glide),
            edge,
        }
    }

    /// Fills `samples` with the sound of `voice`; the result does not depend on how the time is
    /// split into calls.
    pub fn fill(&self, state: &mut WaveformState, voice: Voice, samples: &mut [i16]) {
        if !is_same(voice, state.voice) {
            self.turn_to(state, voice);
        }
        let mut rest = samples;
        while !rest.is_empty() {
            let count = self.run_length(state, rest.len());
            // The length is that of `rest` at most.
            let Some((now, later)) = rest.split_at_mut_checked(count) else { return };
            self.run(state, now);
            rest = later;
        }
    }

    /// Takes a new voice as the target of the glide.
    fn turn_to(&self, state: &mut WaveformState, voice: Voice) {
        let before = core::mem::replace(&mut state.voice, voice);
        if before.gate != voice.gate {
            state.edge_step = self.edge_step(voice);
        }
        if !voice.gate {
            // A fading sound keeps its pitch and timbre.
            (state.glides, state.slope) = (0, Colour::default());
            return;
        }
        // Saturating casts: no pitch is above half the sample rate, and none below 0.
        state.target.increment = ((voice.pitch.0 * self.turns_per_hertz) as i32).max(0);
        state.target.level = (voice.level.clamp(0.0, 1.0) * (FULL * ONE as f32)) as i32;
        let is_new = state.edge == 0;
        if is_new || before.timbre != voice.timbre || state.is_off_colour(voice) {
            state.target.shape = shape(voice);
            state.coloured = voice.pitch;
        }
        if is_new {
            // A new sound begins at its own pitch, from the zero of the sine.
            (state.phase, state.now, state.glides) = (0, state.target, 0);
            state.slope = Colour::default();
        } else {
            state.glides = self.glide;
            state.slope = state.now.slope(&state.target, self.glide_share);
        }
    }

    /// How many of the next `most` samples are made in one way.
    fn run_length(&self, state: &WaveformState, most: usize) -> usize {
        let until_step = match state.glides {
            0 => usize::MAX,
            glides => ((glides - 1) % STEP + 1) as usize,
        };
        let is_edge = if state.voice.gate { state.edge < OPEN } else { state.edge > 0 };
        let until_edge = if is_edge {
            let left = if state.voice.gate { OPEN - state.edge } else { state.edge };
            // The step is at least 1.
            (left / state.edge_step.max(1)) as usize + 1
        } else {
            usize::MAX
        };
        most.min(until_step).min(until_edge)
    }

    /// Makes a run of samples.
    fn run(&self, state: &mut WaveformState, samples: &mut [i16]) {
        let is_open = state.voice.gate;
        if !is_open && state.edge == 0 {
            return samples.fill(0);
        }
        // A pure tone has no constant either, which is the even harmonics'.
        let is_pure = state.now.shape.first().is_none_or(|constant| *constant == 0);
        if is_open && state.edge == OPEN {
            if is_pure {
                state.make(samples, |_, sine| sine, |_, level| level);
            } else {
                state.make(samples, Colour::shaped, |_, level| level);
            }
        } else {
            let step = if is_open { state.edge_step } else { -state.edge_step };
            let faded = |edge: &mut i32, level| {
                *edge = (*edge + step).clamp(0, OPEN);
                times(level, self.edge_share(*edge))
            };
            if is_pure {
                state.make(samples, |_, sine| sine, faded);
            } else {
                state.make(samples, Colour::shaped, faded);
            }
        }
        state.glide_on(samples.len() as u32);
    }

    /// Share of the level at a place of the edge.
    #[inline(always)]
    fn edge_share(&self, edge: i32) -> i32 {
        let place = (edge >> EDGE_BITS) as usize;
        match (self.edge.get(place), self.edge.get(place + 1)) {
            (Some(from), Some(to)) => {
                let (from, to) = (i32::from(*from), i32::from(*to));
                from + times(to - from, (edge >> (EDGE_BITS - 15)) & (ONE - 1))
            }
            _ => ONE,
        }
    }

    /// Share of an edge per sample.
    fn edge_step(&self, voice: Voice) -> i32 {
        let by_periods = voice.pitch.0 / EDGE_PERIODS;
        let step = by_periods.clamp(1.0 / LONGEST_EDGE_S, 1.0 / EDGE_S) * self.edge_of_second;
        (step as i32).min(OPEN)
    }
}

/// The same voice, bit by bit, which is quicker to tell than by value.
fn is_same(a: Voice, b: Voice) -> bool {
    a.gate == b.gate
        && a.timbre == b.timbre
        && a.pitch.0.to_bits() == b.pitch.0.to_bits()
        && a.level.to_bits() == b.level.to_bits()
}

/// The wave of a voice as a polynomial of the sine.
fn shape(voice: Voice) -> [i32; 5] {
    if voice.timbre == Timbre::Pure {
        return [0, (ONE / 2), 0, 0, 0];
    }
    let [first, second, third, fourth] =
        voice.timbre.harmonics(voice.pitch).map(|share| (share * HALF + 0.5) as i32);
    [fourth - second, first - 3 * third, 2 * second - 8 * fourth, 4 * third, 8 * fourth]
}

impl Colour {
    /// What leads to `target` in samples of which each is `share` of the way, of 2^32.
    fn slope(&self, target: &Colour, share: i64) -> Self {
        let of = |way: i32| ((i64::from(way) * share) >> 32) as i32;
        let mut shape = [0; 5];
        for ((slope, from), to) in shape.iter_mut().zip(self.shape).zip(target.shape) {
            *slope = of((to - from) * STEP as i32);
        }
        Self {
            increment: of(target.increment - self.increment),
            level: of(target.level - self.level),
            shape,
        }
    }

    /// The wave for a value of the sine.
    #[inline(always)]
    fn shaped(&self, sine: i32) -> i32 {
        let [constant, first, second, third, fourth] = self.shape;
        let cubic = third + times(fourth, sine);
        let square = second + times(cubic, sine);
        2 * (constant + times(first + times(square, sine), sine))
    }
}

impl WaveformState {
    /// Whether nothing sounds, and no edge fades: as long as the gate stays closed, every sample is
    /// 0.
    pub fn is_silent(&self) -> bool {
        self.edge == 0 && !self.voice.gate
    }

    /// Whether the pitch has moved so far that its harmonics are others.
    fn is_off_colour(&self, voice: Voice) -> bool {
        let Hertz(before) = self.coloured;
        voice.timbre != Timbre::Pure && libm::fabsf(voice.pitch.0 - before) > before * SAME_COLOUR
    }

    /// Makes samples whose harmonics stay, shaped from the sine and faded from the level.
    #[inline(always)]
    fn make(
        &mut self,
        samples: &mut [i16],
        shape: impl Fn(&Colour, i32) -> i32,
        faded: impl Fn(&mut i32, i32) -> i32,
    ) {
        let colour = self.now;
        let (mut increment, mut level) = (colour.increment, colour.level);
        let (mut phase, mut edge) = (self.phase, self.edge);
        for sample in samples {
            increment = increment.wrapping_add(self.slope.increment);
            level = level.wrapping_add(self.slope.level);
            phase = phase.wrapping_add(increment as u32);
            let wave = shape(&colour, sine(phase));
            *sample = times(wave, faded(&mut edge, level >> LEVEL_BITS)) as i16;
        }
        (self.phase, self.edge) = (phase, edge);
        (self.now.increment, self.now.level) = (increment, level);
    }

    /// Ends the glide, or takes the harmonics a step further, after samples of one run.
    fn glide_on(&mut self, samples: u32) {
        if self.glides == 0 {
            return;
        }
        self.glides = self.glides.saturating_sub(samples);
        if self.glides == 0 {
            (self.now, self.slope) = (self.target, Colour::default());
        } else if self.glides.is_multiple_of(STEP) {
            for (now, slope) in self.now.shape.iter_mut().zip(self.slope.shape) {
                *now += slope;
            }
        }
    }
}
#[cfg(test)]
mod tests {
    use super::*;
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
    fn the_edge_is_a_raised_cosine_within_micromaths_error() {
        let waveform = Waveform::new(RATE_HZ);
        for edge in (0..=OPEN).step_by(997) {
            let exact =
                0.5 - 0.5 * libm::cos(std::f64::consts::PI * f64::from(edge) / f64::from(OPEN));
            let error = f64::from(waveform.edge_share(edge)) / f64::from(ONE) - exact;
            assert!(error.abs() < 1.2e-3, "{edge}: {error:e}");
        }
        assert_eq!([0, OPEN].map(|edge| waveform.edge_share(edge)), [0, ONE]);
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

    /// Level of a frequency in dB of full scale, over whole periods.
    fn level_db(samples: &[i16], hz: f64) -> f64 {
        let (mut real, mut imaginary) = (0.0, 0.0);
        for (place, sample) in samples.iter().enumerate() {
            let angle = std::f64::consts::TAU * hz * place as f64 / f64::from(RATE_HZ);
            real += f64::from(*sample) * libm::cos(angle);
            imaginary += f64::from(*sample) * libm::sin(angle);
        }
        20.0 * libm::log10(2.0 * libm::hypot(real, imaginary) / samples.len() as f64 / 32_768.0)
    }

    #[test]
    fn every_harmonic_has_the_share_of_its_timbre_and_a_pure_tone_has_none() {
        for timbre in Timbre::ALL {
            let shares = timbre.harmonics(Hertz(480.0));
            let samples = render(&[(Voice { timbre, ..open_at(480.0) }, 24_240)]);
            for harmonic in 1..=8 {
                let found = level_db(&samples[240..], 480.0 * f64::from(harmonic));
                let share = shares.get(harmonic as usize - 1).copied().unwrap_or(0.0);
                if share > 0.0 {
                    let wanted = f64::from(20.0 * libm::log10f(share));
                    assert!((found - wanted).abs() < 0.05, "{timbre:?} {harmonic}: {found} dB");
                } else {
                    assert!(found < -80.0, "{timbre:?} {harmonic}: {found} dB");
                }
            }
        }
    }

    #[test]
    fn a_glide_ends_at_the_new_voice_within_a_tick_and_has_no_step() {
        let (low, high) = (open_at(500.0), Voice { level: 0.5, ..open_at(520.0) });
        let (waveform, mut state) = (Waveform::new(RATE_HZ), WaveformState::default());
        waveform.fill(&mut state, low, &mut [0; 1000]);
        let mut samples = [0; 48];
        let from = state.now.level;
        waveform.fill(&mut state, high, &mut samples[..24]);
        let half = i64::from(from - state.now.level) * 4;
        assert!((half - i64::from(from)).abs() < i64::from(from) / 1_000, "{half} of {from}");
        waveform.fill(&mut state, high, &mut samples[24..]);
        let mut there = WaveformState::default();
        waveform.fill(&mut there, high, &mut [0; 1000]);
        assert_eq!((state.now.increment, state.now.level), (there.now.increment, there.now.level));
    }

    #[test]
    fn no_voice_overflows_the_integers() {
        for rate_hz in [0, 1, 100, 8_000, 192_000, u32::MAX] {
            let (waveform, mut state) = (Waveform::new(rate_hz), WaveformState::default());
            for value in [0.0, -1.0, 1e-9, 1e9, f32::NAN, f32::INFINITY, f32::NEG_INFINITY] {
                for (timbre, gate) in
                    [(Timbre::Reed, true), (Timbre::Pure, true), (Timbre::Octave, false)]
                {
                    let voice = Voice { gate, timbre, level: value, ..open_at(value) };
                    waveform.fill(&mut state, voice, &mut [0; 300]);
                }
            }
        }
    }
}
