//! A law played a fifth higher: on a piezo, nearer to its resonance.
//!
//! All pitches move alike, so that every ratio of the law stays: its steps, and the fifth between
//! sink and climb. Only what would be higher than 3750 Hz stays at that.

use crate::sound::ear::Asked;
use crate::sound::speaker::Speaker;
use crate::sound::tone::{FIFTH, Sound};
use crate::units::Hertz;

/// `sound` as it is played on `speaker`.
pub(crate) fn transposed(speaker: Speaker, sound: Sound) -> Sound {
    if speaker != Speaker::Piezo {
        return sound;
    }
    let up = |pitch: Hertz| Hertz((FIFTH * pitch.0).min(HIGHEST_HZ));
    match sound {
        Sound::Silent => Sound::Silent,
        Sound::Beeps { pitch, cadence, on_fraction } => {
            Sound::Beeps { pitch: up(pitch), cadence, on_fraction }
        }
        Sound::Steady { pitch } => Sound::Steady { pitch: up(pitch) },
        Sound::Pairs { first, second, cadence } => {
            Sound::Pairs { first: up(first), second: up(second), cadence }
        }
        Sound::Fault { pitch, every } => Sound::Fault { pitch: up(pitch), every },
    }
}

/// What such a sound asks of its level.
pub(crate) fn asked_transposed(speaker: Speaker, asked: Asked) -> Asked {
    if speaker == Speaker::Piezo { asked.higher(FIFTH_LOG2) } else { asked }
}

/// The highest pitch on a piezo, a fifth above 2500 Hz: at 8000 samples a second 4000 Hz would be
/// silence.
const HIGHEST_HZ: f32 = 3_750.0;
/// Two to the power of this is a fifth.
const FIFTH_LOG2: f32 = 0.584_962_5;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Micros;

    #[test]
    fn on_a_piezo_every_pitch_is_a_fifth_higher_and_elsewhere_none() {
        let hertz = Hertz;
        let sounds = [
            Sound::Silent,
            Sound::Beeps { pitch: hertz(600.0), cadence: hertz(2.0), on_fraction: 0.5 },
            Sound::Steady { pitch: hertz(400.0) },
            Sound::Pairs { first: hertz(600.0), second: hertz(900.0), cadence: hertz(1.0) },
            Sound::Fault { pitch: hertz(400.0), every: Micros(1) },
        ];
        for sound in sounds {
            assert_eq!(transposed(Speaker::Small, sound), sound);
            assert_eq!(transposed(Speaker::Flat, sound), sound);
        }
        let up = sounds.map(|sound| transposed(Speaker::Piezo, sound));
        assert_eq!(up[0], Sound::Silent);
        assert!(matches!(up[1], Sound::Beeps { pitch: Hertz(900.0), .. }), "{:?}", up[1]);
        assert_eq!(up[2], Sound::Steady { pitch: hertz(600.0) });
        let pair = Sound::Pairs { first: hertz(900.0), second: hertz(1350.0), cadence: hertz(1.0) };
        assert_eq!(up[3], pair);
        assert_eq!(up[4], Sound::Fault { pitch: hertz(600.0), every: Micros(1) });
        let highest = Sound::Steady { pitch: hertz(3_900.0) };
        assert_eq!(transposed(Speaker::Piezo, highest), Sound::Steady { pitch: hertz(3_750.0) });
    }

    #[test]
    fn what_it_asks_moves_with_it() {
        let asked = asked_transposed(Speaker::Piezo, Asked::steady(Hertz(500.0)));
        let there = Asked::steady(Hertz(750.0));
        let raise = |asked: Asked| asked.raise(Default::default(), Speaker::Flat);
        assert!((raise(asked) - raise(there)).abs() < 1e-5);
    }
}
