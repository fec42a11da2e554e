//! What sounds, as a square wave of a PWM timer: period from the pitch, duty from the volume.
//!
//! A square wave of duty `d` has a fundamental of `2/pi sin(pi d)` of its height: narrower is quieter. The steps
//! are about 6 dB.

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
    /// The registers for a timer that counts `counter_hz` times a second; 1 MHz keeps pitches from 80 to 4000 Hz
    /// within 4 cents.
    pub fn pwm(&self, counter_hz: u32) -> Pwm {
        let pitch_hz = self.voice.pitch.0;
        let period = if pitch_hz > 1.0 { (counter_hz as f32 / pitch_hz + 0.5) as u32 } else { 0 };
        let period = period.clamp(2, 65_536);
        let duty = DUTY.get(usize::from(self.volume)).copied().unwrap_or(0);
        let high = if self.voice.gate { (period * duty / 65_536).max(u32::from(duty > 0)) } else { 0 };
        Pwm { top: (period - 1) as u16, compare: high as u16 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::DeviceSettings;
    use chirrup_core::units::Hertz;
    use core::f64::consts::PI;

    const COUNTER_HZ: u32 = 1_000_000;

    fn sounding(pitch_hz: f32, volume: u8) -> Pwm {
        Drive { voice: Voice { pitch: Hertz(pitch_hz), gate: true }, volume }.pwm(COUNTER_HZ)
    }

    #[test]
    fn the_pitch_is_within_four_cents_wherever_settings_allow_one() {
        let mut worst = 0.0_f64;
        for pitch in 80..=4_000 {
            let made = f64::from(COUNTER_HZ) / (f64::from(sounding(pitch as f32, LOUDEST).top) + 1.0);
            worst = worst.max((1_200.0 * (made / f64::from(pitch)).log2()).abs());
        }
        assert!(worst < 4.0, "{worst} cents");
    }

    #[test]
    fn each_step_of_the_volume_is_about_6_db() {
        // The fundamental of a square wave of duty d is 2/pi sin(pi d) of its height (Fourier).
        let height = |volume: u8| {
            let pwm = sounding(500.0, volume);
            (PI * f64::from(pwm.compare) / (f64::from(pwm.top) + 1.0)).sin()
        };
        for volume in 1..LOUDEST {
            let step_db = 20.0 * (height(volume + 1) / height(volume)).log10();
            assert!((5.5..6.5).contains(&step_db), "{step_db} dB above {volume}");
        }
    }

    #[test]
    fn silence_is_silence_and_the_quietest_is_not() {
        assert_eq!(sounding(1_000.0, 0).compare, 0);
        let shut = Drive { voice: Voice { pitch: Hertz(1_000.0), gate: false }, volume: LOUDEST };
        assert_eq!(shut.pwm(COUNTER_HZ).compare, 0);
        assert!(sounding(4_000.0, 1).compare > 0);
        assert!(DeviceSettings::default().volume <= LOUDEST);
    }

    #[test]
    fn no_pitch_however_absurd_leaves_the_registers() {
        for pitch in [0.0, -1.0, 1.0e-9, 1.0e30, f32::NAN, f32::INFINITY] {
            let pwm = sounding(pitch, LOUDEST);
            assert!(pwm.compare <= pwm.top, "{pitch} {pwm:?}");
        }
    }
}
