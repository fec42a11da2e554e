//! How far a tone is above the threshold at which noise hides it.
//!
//! The ear listens through filters. Each is a rounded exponential, `W = (1 + s) exp(-s)` with `s =
//! 4 |f - fc| / ERB`, of the bandwidth `ERB = 24.7 (4.37 fc / kHz + 1)` Hz (Glasberg and Moore
//! 1990). A long tone is at its threshold where its power behind the filter in which it stands out
//! most is 0.4 of the noise's (Patterson and Moore 1986, from memory). A short one needs more:
//! power is summed with a time constant of 200 ms (Plomp and Bouman 1959).

use super::{FULL_SCALE_SPL, NOISE_SPL, Tone};
use chirrup_core::Speaker;

/// Tone's share of the noise's power at the threshold.
const AT_THRESHOLD: f64 = 0.4;
/// Time over which the ear sums power.
const INTEGRATION_S: f64 = 0.2;
/// The band of the noise.
const NOISE_HZ: (f64, f64) = (100.0, 10_000.0);
/// A small loudspeaker carries less below this, by 12 dB an octave (a guess at the corner).
const SMALL_CORNER_HZ: f64 = 700.0;
/// A piezo disc is one resonance, with 12 dB an octave below it (guesses).
const PIEZO_HZ: f64 = 2_800.0;
const PIEZO_QUALITY: f64 = 4.0;
/// The volume is set by a tone of this pitch, on any loudspeaker.
const SET_BY_HZ: f64 = 1_360.0;

/// Filters from 150 Hz to 8 kHz.
const FILTERS: usize = 320;
const FILTERS_HZ: (f64, f64) = (150.0, 8_000.0);
/// Steps in which the noise is summed.
const NOISE_STEPS: usize = 600;

/// The ear in the noise of a cockpit, before a loudspeaker.
#[derive(Clone, Debug)]
pub struct Ear {
    speaker: Speaker,
    /// Centre of each filter in Hz, and power of the noise behind it, as a share of all noise.
    filters: Vec<(f64, f64)>,
}

impl Ear {
    /// The ear before this loudspeaker.
    pub fn new(speaker: Speaker) -> Self {
        let (low, high) = NOISE_HZ;
        let filters = spread(FILTERS_HZ, FILTERS).map(|centre| {
            // Pink: every step of the logarithm has the same power.
            let passed: f64 =
                spread((low, high), NOISE_STEPS).map(|hz| weight(centre, hz)).sum::<f64>();
            (centre, passed / NOISE_STEPS as f64)
        });
        Self { speaker, filters: filters.collect() }
    }

    /// The loudspeaker before it.
    pub fn speaker(&self) -> Speaker {
        self.speaker
    }

    /// Decibels above the masked threshold, below 0 where it cannot be heard.
    pub fn above_noise_db(&self, tone: &Tone) -> f64 {
        let partials: Vec<(f64, f64)> = (1..)
            .zip(tone.harmonics)
            .map(|(number, amplitude)| {
                let hz = f64::from(number) * tone.pitch_hz;
                (hz, amplitude * amplitude * self.carries(hz) / self.carries(SET_BY_HZ))
            })
            .collect();
        let best = self.filters.iter().map(|(centre, noise)| {
            let power: f64 = partials.iter().map(|(hz, power)| power * weight(*centre, *hz)).sum();
            power / noise
        });
        let best = best.fold(0.0, f64::max);
        let summed = tone.note_s.map_or(1.0, |note_s| 1.0 - (-note_s / INTEGRATION_S).exp());
        FULL_SCALE_SPL - NOISE_SPL + 10.0 * (summed * best / AT_THRESHOLD).log10()
    }

    /// Share of the power that the loudspeaker carries at a frequency.
    fn carries(&self, hz: f64) -> f64 {
        match self.speaker {
            Speaker::Flat => 1.0,
            Speaker::Small => {
                let fourth = (hz / SMALL_CORNER_HZ).powi(4);
                fourth / (1.0 + fourth)
            }
            Speaker::Piezo => {
                let ratio = hz / PIEZO_HZ;
                ratio.powi(4) / ((1.0 - ratio * ratio).powi(2) + (ratio / PIEZO_QUALITY).powi(2))
            }
        }
    }
}

/// Share of the power at `hz` that the filter at `centre` lets through.
fn weight(centre: f64, hz: f64) -> f64 {
    let slope = 4.0 * (hz - centre).abs() / bandwidth_hz(centre);
    (1.0 + slope) * (-slope).exp()
}

/// Equivalent rectangular bandwidth of the filter at `centre`.
fn bandwidth_hz(centre: f64) -> f64 {
    24.7 * (4.37 * centre / 1_000.0 + 1.0)
}

/// The middles of `count` steps between two frequencies, equal in ratio.
fn spread((low, high): (f64, f64), count: usize) -> impl Iterator<Item = f64> {
    let ratio: f64 = high / low;
    (0..count).map(move |step| low * ratio.powf((step as f64 + 0.5) / count as f64))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn pure(pitch_hz: f64, spl: f64, note_s: Option<f64>) -> Tone {
        let amplitude = 10_f64.powf((spl - FULL_SCALE_SPL) / 20.0);
        Tone { pitch_hz, harmonics: [amplitude, 0.0, 0.0, 0.0], note_s }
    }

    #[test]
    fn a_filter_has_its_rectangular_bandwidth() {
        // Glasberg and Moore 1990: 132.6 Hz at 1 kHz.
        assert_abs_diff_eq!(bandwidth_hz(1_000.0), 132.6, epsilon = 0.1);
        let area: f64 = (0..40_000).map(|step| weight(1_000.0, f64::from(step) * 0.1) * 0.1).sum();
        assert_abs_diff_eq!(area, 132.6, epsilon = 0.5);
    }

    #[test]
    fn a_tone_hides_in_pink_noise_at_the_critical_ratio() {
        // Hawkins and Stevens 1950 (from memory): at 1 kHz a long tone is heard 18 dB above the
        // noise's level in 1 Hz, which of this pink noise is 10 lg(1 / (ln 100 x 1000)) below it.
        let in_one_hertz = NOISE_SPL - 10.0 * (100.0_f64.ln() * 1_000.0).log10();
        let ear = Ear::new(Speaker::Flat);
        let above = ear.above_noise_db(&pure(1_000.0, in_one_hertz + 18.0, None));
        assert_abs_diff_eq!(above, 0.0, epsilon = 1.5);
    }

    #[test]
    fn a_short_tone_is_less_audible_and_a_small_loudspeaker_loses_low_ones() {
        let (flat, small) = (Ear::new(Speaker::Flat), Ear::new(Speaker::Small));
        let long = flat.above_noise_db(&pure(800.0, 70.0, None));
        let short = flat.above_noise_db(&pure(800.0, 70.0, Some(0.05)));
        assert_abs_diff_eq!(long - short, 6.55, epsilon = 0.05);
        let lost = |hz| {
            flat.above_noise_db(&pure(hz, 70.0, None)) - small.above_noise_db(&pure(hz, 70.0, None))
        };
        assert_abs_diff_eq!(lost(1_360.0), 0.0, epsilon = 0.1);
        assert!((11.5..13.5).contains(&lost(350.0)), "{}", lost(350.0));
    }
}
