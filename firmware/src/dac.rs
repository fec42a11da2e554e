//! The speaker's pin as a DAC: the samples that the bench plays, as the compare values of a timer.
//!
//! ```text
//! voice --core's waveform--> 25 000 samples a second, 16 bits --> counts of a carrier period
//! counts = middle + sample x middle / 2^15, what the rounding leaves goes to the next sample
//! ```
//!
//! The timer counts a carrier of 125 kHz, five periods a sample, which a low-pass behind the pin
//! takes away. At 125 MHz a period has 1000 counts: rounded to them, a sine of full scale has noise
//! 62 dB below it. Because each rounding error is carried into the next sample, the noise lies
//! high: below 4 kHz it is 67 dB below full scale, and a soft tone is not distorted. A timer of 16
//! MHz has 128 counts, and noise 18 dB higher.
//!
//! In silence the pin rests in the middle, half of the supply, where each beep begins and ends: no
//! click. At the start it rises there in 60 ms, too slowly to be heard.

pub mod ring;

use chirrup_core::{TICKS_PER_SECOND, Voice, Waveform, WaveformState};
use core::f32::consts::PI;
use micromath::F32Ext;

/// Samples a second: whole counts of 125 and of 150 MHz, whole samples a tick, and twice what any
/// harmonic needs.
pub const SOUND_HZ: u32 = 25_000;
/// Samples of a control tick.
pub const TICK_SAMPLES: usize = (SOUND_HZ / TICKS_PER_SECOND) as usize;
/// Periods of the carrier in a sample.
const CARRIERS: u32 = 5;
/// Control ticks in which the pin rises to the middle.
const RISE_TICKS: u16 = 30;
/// Bits of a sample behind the point.
const SAMPLE_BITS: u32 = 15;

/// The carrier on a timer without a prescaler.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Carrier {
    /// Counts of a period of the carrier.
    pub counts: u16,
    /// Counts of a sample.
    pub sample_counts: u16,
}

impl Carrier {
    /// The carrier of a timer that counts at `clock_hz`; `None` where a sample is not a whole
    /// number of periods of whole counts, since then the pitch would be off or the samples would
    /// not be equally long.
    pub fn new(clock_hz: u32) -> Option<Self> {
        let is_whole = clock_hz > 0 && clock_hz.is_multiple_of(SOUND_HZ * CARRIERS);
        let sample_counts = clock_hz / SOUND_HZ;
        let counts = u16::try_from(sample_counts / CARRIERS).ok().filter(|_| is_whole)?;
        Some(Self { counts, sample_counts: u16::try_from(sample_counts).ok()? })
    }
}

/// Voices to counts.
#[derive(Clone, Debug)]
pub struct Dac {
    waveform: Waveform,
    state: WaveformState,
    /// The middle, in counts.
    middle: i32,
    /// Where the pin rests now: it rises to the middle.
    rest: i32,
    /// Ticks since it began to rise.
    risen: u16,
    /// What the last rounding left, in counts, with [`SAMPLE_BITS`] behind the point.
    left: i32,
}

impl Dac {
    /// The pin low and silent.
    pub fn new(carrier: Carrier) -> Self {
        Self {
            waveform: Waveform::new(SOUND_HZ),
            state: WaveformState::default(),
            middle: i32::from(carrier.counts / 2),
            rest: 0,
            risen: 0,
            left: 0,
        }
    }

    /// Where the pin rests, in counts.
    pub fn rest(&self) -> u16 {
        self.rest as u16
    }

    /// Fills in the counts of the next tick. False where there are none: the pin rests through the
    /// whole tick.
    pub fn tick(&mut self, voice: Voice, counts: &mut [u16; TICK_SAMPLES]) -> bool {
        let is_rising = self.rise();
        if !voice.gate && self.state.is_silent() && !is_rising {
            return false;
        }
        let mut samples = [0; TICK_SAMPLES];
        self.waveform.fill(&mut self.state, voice, &mut samples);
        let (rest, mut left) = (self.rest, self.left);
        for (count, sample) in counts.iter_mut().zip(samples) {
            let wanted = i32::from(sample) * rest + left;
            left = wanted & ((1 << SAMPLE_BITS) - 1);
            *count = (rest + (wanted >> SAMPLE_BITS)) as u16;
        }
        self.left = left;
        true
    }

    /// Rises a tick further; false once it is in the middle.
    fn rise(&mut self) -> bool {
        if self.risen >= RISE_TICKS {
            return false;
        }
        self.risen += 1;
        let angle = PI / f32::from(RISE_TICKS) * f32::from(self.risen);
        let share = 0.5 - 0.5 * F32Ext::cos(angle);
        let is_done = self.risen == RISE_TICKS;
        self.rest = if is_done { self.middle } else { (share * self.middle as f32) as i32 };
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{Hertz, Timbre};
    use std::vec::Vec;

    const PICO: Carrier = Carrier { counts: 1_000, sample_counts: 5_000 };
    /// A timer of 16 MHz, as an nRF52840 has it.
    const COARSE: Carrier = Carrier { counts: 128, sample_counts: 640 };

    fn voice(level: f32, timbre: Timbre) -> Voice {
        Voice { pitch: Hertz(500.0), gate: true, level, timbre, ..Voice::default() }
    }

    /// A pin that has risen.
    fn risen(carrier: Carrier) -> Dac {
        let mut dac = Dac::new(carrier);
        for _ in 0..RISE_TICKS {
            dac.tick(Voice::default(), &mut [0; TICK_SAMPLES]);
        }
        dac
    }

    fn counts(dac: &mut Dac, voice: Voice, ticks: usize) -> Vec<u16> {
        let mut all = Vec::new();
        for _ in 0..ticks {
            let mut counts = [0; TICK_SAMPLES];
            if dac.tick(voice, &mut counts) {
                all.extend(counts);
            }
        }
        all
    }

    /// Amplitude of a frequency as a share of full scale, by Fourier's sum over whole periods.
    fn share(counts: &[u16], carrier: Carrier, hz: f64) -> f64 {
        let middle = f64::from(carrier.counts / 2);
        let (mut real, mut imaginary) = (0.0, 0.0);
        for (place, count) in counts.iter().enumerate() {
            let angle = std::f64::consts::TAU * hz * place as f64 / f64::from(SOUND_HZ);
            let value = (f64::from(*count) - middle) / middle;
            real += value * angle.cos();
            imaginary += value * angle.sin();
        }
        2.0 * real.hypot(imaginary) / counts.len() as f64
    }

    #[test]
    fn the_boards_clocks_give_whole_counts_and_others_are_rejected() {
        assert_eq!(Carrier::new(125_000_000), Some(PICO));
        assert_eq!(
            Carrier::new(150_000_000),
            Some(Carrier { counts: 1_200, sample_counts: 6_000 })
        );
        assert_eq!([0, 48_100_000, 4_000_000_000].map(Carrier::new), [None; 3]);
        assert_eq!(Carrier::new(16_000_000), Some(COARSE));
    }

    #[test]
    fn at_every_volume_each_harmonic_has_the_samples_level_within_half_a_decibel() {
        for timbre in Timbre::ALL {
            for step in 1..=10 {
                let level = chirrup_core::stages::level_of_volume(step as f32);
                let voice = voice(level, timbre);
                let all = counts(&mut risen(PICO), voice, 510);
                let shares = timbre.harmonics(voice.pitch);
                for (place, wanted) in shares.iter().enumerate().filter(|(_, share)| **share > 0.0)
                {
                    let found = share(&all[500..], PICO, 500.0 * (place + 1) as f64);
                    let wanted = f64::from(wanted * level) * 32_700.0 / 32_768.0;
                    let apart = 20.0 * (found / wanted).log10();
                    assert!(apart.abs() < 0.5, "{timbre:?} {step} {place}: {apart} dB");
                }
            }
        }
    }

    /// The loudest that rounding gets below 4 kHz at any volume, in dB of full scale.
    fn rounding_db(carrier: Carrier) -> f64 {
        let noise = |step| {
            let level = chirrup_core::stages::level_of_volume(step as f32);
            let all = counts(&mut risen(carrier), voice(level, Timbre::Pure), 60);
            // Lines 10 Hz apart, but for the tone's own.
            let lines = (10..400).filter(|line| *line != 50);
            lines
                .map(|line| share(&all[500..3_000], carrier, 10.0 * f64::from(line)).powi(2))
                .sum::<f64>()
        };
        10.0 * (1..=10).map(noise).fold(0.0, f64::max).log10()
    }

    #[test]
    fn below_4_khz_the_rounding_is_67_db_below_full_scale_at_any_volume() {
        let found = rounding_db(PICO);
        assert!(found < -67.0, "{found} dB");
    }

    #[test]
    fn with_128_counts_the_rounding_is_49_db_below_full_scale() {
        let found = rounding_db(COARSE);
        assert!(found < -49.0, "{found} dB");
    }

    #[test]
    fn the_pin_rises_to_the_middle_and_rests_there_and_no_sound_leaves_the_period() {
        let mut dac = Dac::new(PICO);
        let mut all = counts(&mut dac, voice(1.0, Timbre::Pure), 60);
        assert!(all.iter().all(|count| (1..1_000).contains(count) || *count == 0), "{all:?}");
        all.extend(counts(&mut dac, Voice::default(), 10));
        assert_eq!(all.last(), Some(&500));
        assert!(!dac.tick(Voice::default(), &mut [0; TICK_SAMPLES]), "it rests");
        let rising: Vec<u16> = counts(&mut Dac::new(PICO), Voice::default(), 40);
        assert!(rising.is_sorted() && rising.len() == 30 * TICK_SAMPLES, "{rising:?}");
    }
}
