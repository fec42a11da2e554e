//! What the ear asks for: by how much a tone has to be raised to sound as loud as a steady sine of
//! 1 kHz, for each timbre, pitch and length.
//!
//! Both parts come from ISO 532-1 (Zwicker's loudness), which was made for this: the weightings of
//! sound level meters are not, and the A-weighting makes tones less even to the ear, not more.
//!
//! **Pitch.** A table, calculated with somebody else's program of the standard (`mosqito`): the
//! level at which a steady tone has the loudness of a sine of 1 kHz at 70 dB, in a free
//! field. `tests/oracle/test_ear.py` calculates it again.
//!
//! **Length.** A short sound is fainter. The standard lets loudness follow through two low-passes,
//! 0.47 of it within 3.5 ms and 0.53 within 70 ms (constants from memory). Of a note of length `T`
//! that returns every `C`, the slow part therefore reaches the share
//! `(1 - exp(-T / 70 ms)) / (1 - exp(-C / 70 ms))`, and the quick part all of it. Loudness doubles
//! every 10 dB.

use crate::sound::power::DOUBLE_DB;
use crate::sound::speaker::Speaker;
use crate::sound::timbre::Timbre;
use crate::units::Hertz;
use core::f32::consts::LOG2_10;

/// Pitches of the table: thirds of an octave as in IEC 61260-1, 10^(1.9) = 79 Hz to 10^(3.6) Hz.
const PITCHES: usize = 18;
/// Decimal logarithm of the lowest of them, and how many there are in a decade.
const LOWEST_LOG10: f32 = 1.9;
const IN_A_DECADE: f32 = 10.0;
/// How much of the loudness follows slowly, and how slowly.
const SLOW_SHARE: f32 = 0.53;
const SLOW_S: f32 = 0.070;
/// Decibels for twice the loudness, as a power of two in amplitude.
const DOUBLE_LOUDNESS: f32 = 10.0 / DOUBLE_DB;

/// Decibels by which a steady tone has to be raised, each the mean over its third of an octave:
/// within one, the standard's own bands move the loudness of a tone by up to 1 dB.
type Raise = [f32; PITCHES];

const PURE: Raise = [
    11.4, 8.2, 6.2, 5.2, 3.2, 2.8, 2.2, 1.4, 0.9, 0.1, -0.2, -0.2, -0.6, -1.9, -2.5, -3.6, -5.5,
    -5.6,
];
const MELLOW: Raise = [
    9.9, 9.2, 6.9, 4.0, 2.5, 0.5, -0.5, -1.4, -2.4, -3.4, -4.0, -3.7, -3.7, -2.8, -2.5, -3.6, -5.5,
    -5.6,
];
const REED: Raise = [
    8.1, 7.3, 4.8, 2.3, 0.9, -0.6, -1.6, -2.7, -3.6, -4.3, -4.7, -4.2, -4.1, -3.0, -2.5, -3.6,
    -5.5, -5.6,
];
const OCTAVE: Raise = [
    7.4, 6.7, 4.6, 3.3, 2.0, 0.4, -0.4, -1.2, -2.1, -3.0, -3.9, -4.0, -5.1, -4.2, -2.5, -3.6, -5.5,
    -5.6,
];

// The same through a piezo disc that is modelled by one resonance at 2.8 kHz of quality 4 and 12 dB
// an octave below it (guesses), with a sine of 1360 Hz as loud as on a flat loudspeaker: its
// inverse.
const PIEZO_MELLOW: Raise = [
    47.7, 43.7, 37.2, 31.8, 26.5, 21.0, 16.1, 10.9, 5.1, -1.1, -7.4, -9.7, -13.1, -10.2, -12.8,
    -22.4, -25.9, -21.5,
];
const PIEZO_REED: Raise = [
    41.1, 36.4, 30.6, 25.2, 20.0, 14.8, 9.6, 3.5, -2.9, -9.0, -11.6, -12.1, -14.5, -10.9, -12.8,
    -22.4, -25.9, -21.5,
];
const PIEZO_OCTAVE: Raise = [
    44.2, 39.8, 33.6, 28.5, 23.3, 18.1, 13.1, 8.0, 2.3, -3.9, -10.7, -13.9, -20.0, -14.8, -12.8,
    -22.4, -25.9, -21.5,
];

/// What a sound asks of its level: where it lies in pitch, and how much more a short note needs.
///
/// Raises are powers of two of the amplitude: 1 is 6 dB.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Asked {
    log2_pitch: f32,
    note: f32,
}

impl Asked {
    /// An unbroken tone; a pitch below 1 Hz counts as 1 Hz.
    pub fn steady(pitch: Hertz) -> Self {
        Self { log2_pitch: libm::log2f(pitch.0.max(1.0)), note: 0.0 }
    }

    /// A note of `length_s` that returns every `cycle_s`.
    pub fn note(pitch: Hertz, length_s: f32, cycle_s: f32) -> Self {
        Self { note: raise_of_note(length_s, cycle_s), ..Self::steady(pitch) }
    }

    /// The same from the logarithm of the pitch in hertz and the raise of a note.
    pub(crate) const fn of(log2_pitch: f32, note: f32) -> Self {
        Self { log2_pitch, note }
    }

    /// The same higher by `log2` octaves.
    pub(crate) fn higher(self, log2: f32) -> Self {
        Self { log2_pitch: self.log2_pitch + log2, ..self }
    }

    /// By how much it has to be raised to sound as loud as a steady sine of 1 kHz on a flat
    /// loudspeaker. A small loudspeaker counts as flat: there the low sounds have a timbre instead.
    ///
    /// Between the pitches of the table in a straight line over the logarithm of pitch, beyond its
    /// ends as at the ends.
    pub fn raise(self, timbre: Timbre, speaker: Speaker) -> f32 {
        let table = match (speaker, timbre) {
            // Nothing is pure on a piezo: reed takes its place.
            (Speaker::Piezo, Timbre::Pure | Timbre::Reed) => &PIEZO_REED,
            (Speaker::Piezo, Timbre::Mellow) => &PIEZO_MELLOW,
            (Speaker::Piezo, Timbre::Octave) => &PIEZO_OCTAVE,
            (_, Timbre::Pure) => &PURE,
            (_, Timbre::Mellow) => &MELLOW,
            (_, Timbre::Reed) => &REED,
            (_, Timbre::Octave) => &OCTAVE,
        };
        let place = (self.log2_pitch / LOG2_10 - LOWEST_LOG10) * IN_A_DECADE;
        let place = place.clamp(0.0, (PITCHES - 1) as f32);
        let below = place as usize;
        let share = place - below as f32;
        let at = |place: usize| table.get(place).or(table.last()).copied().unwrap_or(0.0);
        (at(below) + share * (at(below + 1) - at(below))) / DOUBLE_DB + self.note
    }
}

/// By how much a note of `length_s` that returns every `cycle_s` has to be raised beside a steady
/// tone: 0 to 1.8.
pub(crate) fn raise_of_note(length_s: f32, cycle_s: f32) -> f32 {
    let reached = |seconds: f32| 1.0 - libm::expf(-seconds / SLOW_S);
    let share = (reached(length_s) / reached(cycle_s)).clamp(0.0, 1.0);
    -DOUBLE_LOUDNESS * libm::log2f(1.0 - SLOW_SHARE + SLOW_SHARE * share)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn raise_of(timbre: Timbre, pitch: Hertz) -> f32 {
        Asked::steady(pitch).raise(timbre, Speaker::Flat)
    }

    fn db(raise: f32) -> f32 {
        raise * DOUBLE_DB
    }

    #[test]
    fn the_table_is_met_at_its_pitches_and_is_even_between_them() {
        for (place, expected_db) in PURE.iter().enumerate() {
            let pitch = Hertz(libm::powf(10.0, 1.9 + 0.1 * place as f32));
            assert_abs_diff_eq!(db(raise_of(Timbre::Pure, pitch)), *expected_db, epsilon = 1e-3);
        }
        let (low, high) =
            (raise_of(Timbre::Pure, Hertz(500.0)), raise_of(Timbre::Pure, Hertz(630.0)));
        let between = raise_of(Timbre::Pure, Hertz(560.0));
        assert!(high < between && between < low, "{low} {between} {high}");
    }

    #[test]
    fn a_pitch_beyond_the_table_counts_as_its_end_and_none_as_the_lowest() {
        let lowest = raise_of(Timbre::Pure, Hertz(80.0));
        for pitch in [0.0, -1.0, 40.0] {
            assert_abs_diff_eq!(raise_of(Timbre::Pure, Hertz(pitch)), lowest, epsilon = 0.05);
        }
        assert!(!raise_of(Timbre::Pure, Hertz(f32::NAN)).is_nan());
        assert_eq!(raise_of(Timbre::Pure, Hertz(9e9)), raise_of(Timbre::Pure, Hertz(4e3)));
    }

    #[test]
    fn a_steady_note_is_not_raised_and_a_shorter_one_is_raised_more() {
        assert_eq!(raise_of_note(1.0, 1.0), 0.0);
        let raises = [0.3, 0.1, 0.06, 0.04].map(|length| raise_of_note(length, 2.0 * length));
        assert!(raises.is_sorted(), "{raises:?}");
        // Only the quick part is left of a very short note.
        assert_abs_diff_eq!(db(raise_of_note(0.0, 1.0)), 10.9, epsilon = 0.05);
    }
}
