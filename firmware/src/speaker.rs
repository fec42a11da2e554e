//! What sounds, as a square wave of a PWM timer: period from the pitch, duty from the volume.
//!
//! A square wave of duty `d` has a fundamental of `2/pi sin(pi d)` of its height: narrower is quieter. The steps are about 6 dB.

use crate::device::LOUDEST;
use chirrup_core::beep::Voice;

/// What to sound until the next tick.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Drive {
    /// Pitch, and sound or silence.
    pub voice: Voice,
    /// Loudness, 0 (silent) to [`LOUDEST`].
    pub volume: u8,
}

/// A PWM timer's registers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Pwm {
    /// Counts in a period, less one: what is written to a wrap register.
    pub top: u16,
    /// Counts of the period that are high; 0 is silence.
    pub compare: u16,
}

/// High share of the period by volume, in 1/65536: sin(pi d) falls by half a step from the loudest down.
const DUTY: [u32; LOUDEST as usize + 1] = [0, 1_306, 2_614, 5_272, 10_923, 32_768];

impl Drive {
    /// The registers for a timer that counts `counter_hz` times a second; 1 MHz keeps pitches from 80 to 4000 Hz within 4 cents.
    pub fn pwm(&self, counter_hz: u32) -> Pwm {
        let pitch_hz = self.voice.pitch.0;
        let period = if pitch_hz > 1.0 { (counter_hz as f32 / pitch_hz + 0.5) as u32 } else { 0 };
        let period = period.clamp(2, 65_536);
        let duty = DUTY.get(usize::from(self.volume)).copied().unwrap_or(0);
        let high = if self.voice.gate { (period * duty / 65_536).max(u32::from(duty > 0)) } else { 0 };
        Pwm { top: (period - 1) as u16, compare: high as u16 }
    }
}
