//! The same voice for a timer that drives a buzzer: period and compare in whole counts.
//!
//! ```text
//!   counts a second = clock / divider          period = counts a second / pitch, rounded
//!   level of the fundamental = sin(pi duty)    compare = period * duty
//! ```
//!
//! One divider serves every pitch, so that the timer's prescaler is set once: the smallest with
//! which the lowest pitch that settings allow, 80 Hz, fits into 16 bits. At the highest, 4000 Hz,
//! half a count is still less than a cent at 125 MHz and at 84 MHz; a clock so slow that it would
//! be more than 3 cents is rejected. Integers throughout, except for the duty.
//!
//! A pulse of duty `d` has a fundamental proportional to `sin(pi d)`; full level is a square wave.
//! The output switches with the gate, without soft edges: a buzzer softens its own.

use crate::sound::beep::Voice;
use core::f32::consts::PI;

/// The lowest pitch that the settings allow, in hertz.
const LOWEST_HZ: u64 = 80;
/// The highest pitch that the settings allow, in hertz.
const HIGHEST_HZ: u64 = 4_000;
/// The longest period, in counts.
const MOST_COUNTS: u64 = 65_536;
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

    /// What to set the timer to while `voice` sounds. Call it only when the voice changes: the duty
    /// costs an arc sine.
    pub fn pulse(&self, voice: Voice) -> Pulse {
        let counts = self.counts(voice);
        let duty = if voice.gate { libm::asinf(voice.level.clamp(0.0, 1.0)) / PI } else { 0.0 };
        Pulse { top: (counts - 1) as u16, compare: (counts as f32 * duty + 0.5) as u16 }
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

    #[test]
    fn the_fundamental_of_the_pulse_has_the_voices_level() {
        let timer = PwmTimer::new(125_000_000, 255).unwrap();
        for level in [0.05_f32, 0.3, 0.7, 1.0] {
            let pulse = timer.pulse(voice(900.0, level));
            let duty = f64::from(pulse.compare) / (f64::from(pulse.top) + 1.0);
            assert!(
                ((std::f64::consts::PI * duty).sin() - f64::from(level)).abs() < 0.002,
                "level {level}"
            );
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
