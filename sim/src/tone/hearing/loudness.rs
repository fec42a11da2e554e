//! Loudness in sone.

use super::FULL_SCALE_SPL;
use chirrup_core::stages::Asked;
use chirrup_core::{Hertz, Speaker, Timbre};

/// A sine of 1 kHz has this loudness at this level: twice as much for each 10 dB (ISO 532-1).
const REFERENCE_SPL: f64 = 40.0;
const DOUBLE_DB: f64 = 10.0;
/// Decibels of a doubled amplitude.
const AMPLITUDE_DB: f64 = 6.0206;

/// Loudness of a tone at `level_db` below full scale, of a timbre and pitch; a note that returns
/// has a length and a cycle.
///
/// Within 12 % of N5 by ISO 532-1, most of it because the standard's bands move a tone by up to 1
/// dB; beeps in the timbre octave within 20 %.
pub fn sone(
    (timbre, speaker): (Timbre, Speaker),
    pitch_hz: f64,
    note: Option<(f64, f64)>,
    level_db: f64,
) -> f64 {
    let pitch = Hertz(pitch_hz as f32);
    let asked = note.map_or_else(
        || Asked::steady(pitch),
        |(length_s, cycle_s)| Asked::note(pitch, length_s as f32, cycle_s as f32),
    );
    let phon = FULL_SCALE_SPL + level_db - AMPLITUDE_DB * f64::from(asked.raise(timbre, speaker));
    ((phon - REFERENCE_SPL) / DOUBLE_DB).exp2()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_sine_of_1_khz_has_1_sone_at_40_db_and_twice_as_much_10_db_above() {
        // The definition of the sone.
        let at = |spl: f64| sone((Timbre::Pure, Speaker::Flat), 1000.0, None, spl - FULL_SCALE_SPL);
        assert_relative_eq!(at(40.0), 1.0, max_relative = 0.02);
        assert_relative_eq!(at(70.0), 8.0, max_relative = 0.02);
        let pure = (Timbre::Pure, Speaker::Flat);
        assert!(sone(pure, 1000.0, Some((0.1, 0.2)), -16.0) < at(FULL_SCALE_SPL - 16.0));
    }
}
