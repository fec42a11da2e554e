//! The same voice for a timer that drives a bare piezo disc: period and compare in whole counts.
//!
//! ```text
//!   counts a second = clock / divider      period = counts a second / pitch, rounded
//!   width of a pulse = 0.1 ms * level      compare = counts a second * width, to half a period
//! ```
//!
//! One divider serves every pitch, so that the timer's prescaler is set once: the smallest with
//! which the lowest pitch that settings allow, 80 Hz, fits into 16 bits. At the highest, 4000 Hz,
//! half a count is still less than a cent at 125 MHz and at 84 MHz; a clock so slow that it would
//! be more than 3 cents is rejected.
//!
//! A disc rings at its resonance, at 2 to 4.6 kHz, and carries little below it, so what is heard of
//! a pulse is the harmonics near there. Their amplitude goes with the sine of `pi width resonance`,
//! whatever the pitch: it grows with the width up to half a period of the resonance, and falls
//! beyond. A width of 0.1 ms is within that for each such disc, and on average louder than a square
//! wave. The share of the period, which gives the level of the fundamental, would be no volume:
//! from 5 % to 50 % a disc gets louder and softer again. [`tests`] has the figures, by a modelled
//! disc.
//!
//! The output switches with the gate, without soft edges: a disc softens its own.

use crate::sound::beep::Voice;

/// The lowest pitch that the settings allow, in hertz.
const LOWEST_HZ: u64 = 80;
/// The highest pitch that the settings allow, in hertz.
const HIGHEST_HZ: u64 = 4_000;
/// The longest period, in counts.
const MOST_COUNTS: u64 = 65_536;
/// Width of a pulse at full level, in seconds: less than half a period of 4.6 kHz.
const WIDEST_S: f32 = 0.000_1;
/// Half a count in this many is 3 cents: 0.5 / (2^(3/1200) - 1).
const FEWEST_COUNTS: u64 = 289;

/// A timer with a 16-bit counter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PwmTimer {
    clock_hz: u32,
    divider: u16,
}

/// What to set the timer to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Pulse {
    /// The counter's last value before it starts again: a period has one count more.
    pub top: u16,
    /// The output is high while the counter is below this; 0 is silence.
    pub compare: u16,
}

impl PwmTimer {
    /// A timer behind a clock of `clock_hz`, whose prescaler divides by up to `most_divider`;
    /// `None` where no pitch would be within 3 cents from 80 to 4000 Hz.
    pub fn new(clock_hz: u32, most_divider: u16) -> Option<Self> {
        let divider = u64::from(clock_hz).div_ceil(LOWEST_HZ * MOST_COUNTS).max(1);
        let divider = u16::try_from(divider).ok().filter(|divider| *divider <= most_divider)?;
        let fewest = u64::from(clock_hz) / (u64::from(divider) * HIGHEST_HZ);
        (fewest >= FEWEST_COUNTS).then_some(Self { clock_hz, divider })
    }

    /// The division factor of the prescaler. A register that counts from 0 takes one less.
    pub fn divider(&self) -> u16 {
        self.divider
    }

    /// What to set the timer to while `voice` sounds.
    pub fn pulse(&self, voice: Voice) -> Pulse {
        let counts = self.counts(voice);
        let level = if voice.gate { voice.level.clamp(0.0, 1.0) } else { 0.0 };
        let width = (self.clock_hz / u32::from(self.divider)) as f32 * (WIDEST_S * level) + 0.5;
        Pulse { top: (counts - 1) as u16, compare: (width as u16).min((counts / 2) as u16) }
    }

    /// Counts per period of the voice's pitch.
    fn counts(&self, voice: Voice) -> u64 {
        // A saturating cast, so that no pitch overflows the products below.
        let pitch_mhz = u64::from((voice.pitch.0 * 1.0e3 + 0.5) as u32).max(1);
        let divided_mhz = u64::from(self.divider) * pitch_mhz;
        ((u64::from(self.clock_hz) * 1_000 + divided_mhz / 2) / divided_mhz).clamp(2, MOST_COUNTS)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Hertz;
    use std::string::String;
    use std::vec::Vec;

    fn voice(pitch_hz: f64, level: f32) -> Voice {
        Voice { pitch: Hertz(pitch_hz as f32), gate: true, level, ..Voice::default() }
    }

    #[test]
    fn every_pitch_is_within_3_cents_on_the_timers_of_the_boards() {
        // 125 MHz with an 8-bit prescaler, 84 MHz with a 16-bit one, and slower ones.
        for (clock_hz, most_divider) in
            [(125_000_000, 255), (84_000_000, u16::MAX), (16_000_000, 255), (1_200_000, 1)]
        {
            let timer = PwmTimer::new(clock_hz, most_divider).unwrap();
            let mut worst = 0.0_f64;
            for step in 0..=20_000 {
                let pitch_hz = 80.0 * 50.0_f64.powf(f64::from(step) / 20_000.0);
                let pulse = timer.pulse(voice(pitch_hz, 1.0));
                let made_hz = f64::from(clock_hz)
                    / (f64::from(timer.divider()) * (f64::from(pulse.top) + 1.0));
                worst = worst.max((1200.0 * (made_hz / f64::from(pitch_hz as f32)).log2()).abs());
            }
            assert!(
                worst < if clock_hz > 80_000_000 { 0.75 } else { 3.0 },
                "{clock_hz} Hz: {worst} cents"
            );
        }
    }

    #[test]
    fn a_timer_that_cannot_be_in_tune_is_rejected() {
        assert_eq!(PwmTimer::new(1_000_000, 255), None);
        assert_eq!(PwmTimer::new(125_000_000, 16), None);
        assert_eq!(PwmTimer::new(0, 255), None);
    }

    /// A-weighted power (IEC 61672-1, annex E) that a disc of a resonance radiates of a pulse, in
    /// dB: one resonance of quality 4, 12 dB an octave below it (tests/oracle/ear/speakers.py).
    fn heard_db(pitch_hz: f64, share: f64, resonance_hz: f64) -> f64 {
        let power: f64 = (1..200)
            .map(|harmonic| (f64::from(harmonic), f64::from(harmonic) * pitch_hz))
            .take_while(|(_, hz)| *hz < 16_000.0)
            .map(|(harmonic, hz)| {
                let (f2, ratio) = (hz * hz, hz / resonance_hz);
                let disc = ratio.powi(4) / ((1.0 - ratio * ratio).powi(2) + (ratio / 4.0).powi(2));
                let poles = (f2 + 20.6 * 20.6)
                    * ((f2 + 107.7 * 107.7) * (f2 + 737.9 * 737.9)).sqrt()
                    * (f2 + 12_194.0 * 12_194.0);
                let weight = (1.2589 * 12_194.0 * 12_194.0 * f2 * f2 / poles).powi(2);
                ((std::f64::consts::PI * harmonic * share).sin() / harmonic).powi(2) * disc * weight
            })
            .sum();
        10.0 * power.log10()
    }

    /// What is heard of each volume from 1 to 10.
    fn volumes_db(timer: PwmTimer, pitch_hz: f64, resonance_hz: f64) -> Vec<f64> {
        (1..=10)
            .map(|step| {
                let level = crate::sound::volume::level_of_volume(step as f32);
                let pulse = timer.pulse(voice(pitch_hz, level));
                let share = f64::from(pulse.compare) / (f64::from(pulse.top) + 1.0);
                heard_db(pitch_hz, share, resonance_hz)
            })
            .collect()
    }

    #[test]
    fn every_step_of_the_volume_is_heard_as_louder_on_discs_from_2_to_4_6_khz() {
        let timer = PwmTimer::new(125_000_000, 255).unwrap();
        for resonance_hz in [2_000.0, 2_800.0, 3_500.0, 4_600.0] {
            for step in 0..=50 {
                let pitch_hz = 277.0 * 9.0_f64.powf(f64::from(step) / 50.0);
                let volumes = volumes_db(timer, pitch_hz, resonance_hz);
                let steps: Vec<f64> = volumes.windows(2).map(|pair| pair[1] - pair[0]).collect();
                let places = steps.iter().enumerate();
                let is_good = |(place, step): (usize, &f64)| {
                    *step < 3.5 && *step > [2.0, 1.4, 0.3][place.saturating_sub(6)]
                };
                assert!(places.clone().all(is_good), "{resonance_hz}, {pitch_hz} Hz: {steps:?}");
            }
        }
    }

    /// The rows of the table in docs/src/sound.md.
    #[test]
    fn the_documents_table_of_a_modelled_disc_is_what_the_timer_does() {
        let document = include_str!("../../../docs/src/sound.md");
        let timer = PwmTimer::new(125_000_000, 255).unwrap();
        let loudest = volumes_db(timer, 1_256.0, 2_800.0)[9];
        for pitch_hz in [310.0, 433.0, 650.0, 888.0, 1_256.0, 1_493.0, 2_112.0] {
            let volumes = volumes_db(timer, pitch_hz, 2_800.0);
            let square = heard_db(pitch_hz, 0.5, 2_800.0) - loudest;
            let cells: Vec<String> =
                volumes.iter().map(|db| std::format!("{:.1}", db - loudest)).collect();
            let row = std::format!("| {pitch_hz} | {} | {square:.1} |", cells.join(" | "));
            assert!(document.contains(&row), "docs/src/sound.md lacks: {row}");
        }
    }

    #[test]
    fn a_closed_gate_is_low_and_every_voice_fits_the_timer() {
        let timer = PwmTimer::new(125_000_000, 255).unwrap();
        assert_eq!(timer.pulse(Voice { gate: false, ..voice(900.0, 1.0) }).compare, 0);
        for pitch_hz in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e-9, 1e9] {
            let pulse = timer.pulse(voice(pitch_hz, 1.0));
            assert!(pulse.compare <= pulse.top, "{pitch_hz} Hz: {pulse:?}");
        }
    }
}
