//! Loudness: the volume, and a level for every pitch so that high and low tones sound equally loud.
//!
//! The ear is less sensitive to low tones. The A-weighting of IEC 61672-1, annex E, gives the
//! amount:
//!
//! `A(f) = 12194^2 f^4 / ((f^2 + 20.6^2) sqrt((f^2 + 107.7^2) (f^2 + 737.9^2)) (f^2 + 12194^2))`,
//! times 1.2589 (+2.0 dB) so that A(1 kHz) is 1
//!
//! Equalised tones have equal `level x root of the sum of (harmonic x A)^2`. The tone to which the
//! ear is least sensitive is at full level, and the others are turned down to match it, since
//! nothing can be louder than full scale.
//!
//! The volume goes in steps of 3 dB, the same ratio everywhere: loudness differences are heard as
//! ratios (Weber's law), and about 1 dB is the smallest audible difference (from memory). Step 10
//! is full scale, step 0 is silence.

use crate::sound::timbre::Timbre;
use crate::units::Hertz;

/// A tone is raised relative to one of 1 kHz by this much at most (12 dB), so that one very low
/// tone in a table does not make all the others faint; reached below 190 Hz.
const MOST_HELP: f32 = 0.25;
/// The highest step of the volume.
pub const LOUDEST: f32 = 10.0;
/// One volume step, in decibels.
pub(crate) const STEP_DB: f32 = 3.0;

/// The loudness with its settings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loudness {
    timbre: Timbre,
    /// The weighted amplitude to which every tone is set; `None` leaves them all at full level.
    even: Option<f32>,
    volume: f32,
}

impl Loudness {
    /// Levels for tones between two pitches; `volume` is 0 to [`LOUDEST`].
    pub fn new(timbre: Timbre, even: bool, lowest: Hertz, highest: Hertz, volume: f32) -> Self {
        let (low, high) = (heard(timbre, lowest), heard(timbre, highest));
        let faintest = if high < low { high } else { low };
        let common = if faintest < MOST_HELP { MOST_HELP } else { faintest };
        Self { timbre, even: even.then_some(common), volume: amplitude_of(volume) }
    }

    /// Timbre of every tone.
    pub(crate) fn timbre(&self) -> Timbre {
        self.timbre
    }

    /// Amplitude of a tone as a share of full scale, 0 to 1.
    pub fn level(&self, pitch: Hertz) -> f32 {
        let Some(common) = self.even else { return self.volume };
        let heard = heard(self.timbre, pitch);
        if heard > common { self.volume * common / heard } else { self.volume }
    }
}

/// Amplitude of a volume step, 0 to 1.
fn amplitude_of(volume: f32) -> f32 {
    if volume <= 0.0 { 0.0 } else { libm::powf(10.0, (volume - LOUDEST) * STEP_DB / 20.0) }
}

/// A-weighted amplitude of a tone at full level, 1 for a sine of 1 kHz.
fn heard(timbre: Timbre, pitch: Hertz) -> f32 {
    let mut frequency = 0.0;
    let mut power = 0.0;
    for share in timbre.harmonics(pitch) {
        frequency += pitch.0;
        if share > 0.0 {
            let amplitude = share * a_weighting(frequency);
            power += amplitude * amplitude;
        }
    }
    libm::sqrtf(power)
}

/// IEC 61672-1, annex E, as a factor of amplitude.
fn a_weighting(frequency_hz: f32) -> f32 {
    // In kilohertz, so that the powers stay within an f32.
    let f2 = frequency_hz * frequency_hz * 1.0e-6;
    let square = |corner_khz: f32| corner_khz * corner_khz;
    let (low, mid_low, mid_high, high) =
        (square(0.0206), square(0.1077), square(0.7379), square(12.194));
    1.2589 * high * f2 * f2
        / ((f2 + low) * libm::sqrtf((f2 + mid_low) * (f2 + mid_high)) * (f2 + high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    fn db(ratio: f32) -> f32 {
        20.0 * libm::log10f(ratio)
    }

    #[test]
    fn the_weighting_matches_the_standards_table() {
        // IEC 61672-1, table of the A-weighting, rounded to 0.1 dB at nominal frequencies, whose
        // exact values are 10^(n/10) Hz.
        for (exact_hz, expected_db) in [
            (199.53, -10.9),
            (251.19, -8.6),
            (316.23, -6.6),
            (398.11, -4.8),
            (501.19, -3.2),
            (630.96, -1.9),
            (794.33, -0.8),
            (1000.0, 0.0),
            (1258.9, 0.6),
            (1584.9, 1.0),
            (1995.3, 1.2),
            (2511.9, 1.3),
            (3162.3, 1.2),
            (3981.1, 1.0),
        ] {
            assert_abs_diff_eq!(db(a_weighting(exact_hz)), expected_db, epsilon = 0.06);
        }
    }

    #[test]
    fn every_step_of_the_volume_is_3_db_and_the_lowest_is_silence() {
        let level = |volume| {
            Loudness::new(Timbre::Pure, false, Hertz(220.0), Hertz(2200.0), volume)
                .level(Hertz(900.0))
        };
        assert_relative_eq!(level(10.0), 1.0);
        for step in 1..10 {
            assert_abs_diff_eq!(
                db(level(step as f32 + 1.0) / level(step as f32)),
                3.0,
                epsilon = 1e-3
            );
        }
        assert_eq!(level(0.0), 0.0);
    }

    #[test]
    fn the_faintest_tone_is_at_full_level_and_none_is_louder() {
        for timbre in Timbre::ALL {
            let loudness = Loudness::new(timbre, true, Hertz(220.0), Hertz(2200.0), 10.0);
            assert_relative_eq!(loudness.level(Hertz(220.0)), 1.0, max_relative = 1e-6);
            let levels = (80..4000).map(|pitch| loudness.level(Hertz(pitch as f32)));
            assert!(levels.into_iter().all(|level| level > 0.1 && level <= 1.0));
        }
    }

    #[test]
    fn a_very_low_tone_does_not_make_the_others_faint() {
        let loudness = Loudness::new(Timbre::Pure, true, Hertz(80.0), Hertz(2200.0), 10.0);
        assert_abs_diff_eq!(db(loudness.level(Hertz(1000.0))), -12.04, epsilon = 0.05);
    }
}
