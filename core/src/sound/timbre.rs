//! Timbre: which harmonics a tone has, so that a low tone can be heard from a loudspeaker too small
//! for its fundamental.
//!
//! The ear hears the pitch of a tone from its harmonics when the fundamental is missing (the
//! residue; common knowledge of psychoacoustics, from memory). A harmonic is at its full share
//! below 2 kHz and gone above 3.2 kHz: high tones need none, and at 8 000 samples a second none
//! aliases.

use crate::units::Hertz;

/// Harmonics at their full share up to here...
const FULL_UNTIL_HZ: f32 = 2_000.0;
/// ... and gone from here.
const GONE_FROM_HZ: f32 = 3_200.0;

setting_words! {
    /// The timbre of every tone.
    pub enum Timbre {
        #[default]
        Pure = "pure", "a sine: the purest pitch, and the one a small loudspeaker carries least";
        Mellow = "mellow", "with some second and third harmonic";
        Reed = "reed", "four strong harmonics, for a piezo or a loudspeaker the size of a coin";
        Octave = "octave",
            "the second harmonic is the strongest: what a small loudspeaker carries of a low tone";
    }
}

impl Timbre {
    /// Amplitudes of the harmonics of a tone of `pitch`; their sum is 1, so that no wave can clip.
    pub fn harmonics(self, pitch: Hertz) -> [f32; 4] {
        // Mellow and reed were set by ear on the bench (guesses). Of the octave the second harmonic
        // carries the sound, and the first and the third keep it from being heard an octave up:
        // where the loudspeaker loses one of them, the other is left.
        let shares = match self {
            Timbre::Pure => return [1.0, 0.0, 0.0, 0.0],
            Timbre::Mellow => [1.0, 0.5, 0.25, 0.0],
            Timbre::Reed => [1.0, 0.7, 0.6, 0.4],
            Timbre::Octave => [0.25, 1.0, 0.35, 0.0],
        };
        let mut place = 0.0;
        let faded = shares.map(|share| {
            place += 1.0;
            let room = (GONE_FROM_HZ - place * pitch.0) / (GONE_FROM_HZ - FULL_UNTIL_HZ);
            if place > 1.0 { share * room.clamp(0.0, 1.0) } else { share }
        });
        let sum: f32 = faded.iter().sum();
        faded.map(|share| share / sum)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn harmonics_of_every_timbre_and_pitch_sum_to_one() {
        for timbre in Timbre::ALL {
            for pitch_hz in (80..4_000).map(|pitch| pitch as f32) {
                let shares = timbre.harmonics(Hertz(pitch_hz));
                assert!(
                    (shares.iter().sum::<f32>() - 1.0).abs() < 1e-6,
                    "{timbre:?} {pitch_hz} Hz: {shares:?}"
                );
                assert!(shares.iter().all(|share| *share >= 0.0));
                assert!(shares[1] >= shares[2] && shares[2] >= shares[3]);
                assert!(shares[0] >= shares[1] || timbre == Timbre::Octave);
            }
        }
    }

    #[test]
    fn no_harmonic_reaches_beyond_3200_hz() {
        for pitch_hz in (80..4_000).map(|pitch| pitch as f32) {
            for (place, share) in Timbre::Reed.harmonics(Hertz(pitch_hz)).iter().enumerate().skip(1)
            {
                assert!(*share == 0.0 || (place + 1) as f32 * pitch_hz < 3_200.0, "{pitch_hz} Hz");
            }
        }
    }
}
