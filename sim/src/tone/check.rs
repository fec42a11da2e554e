//! A minute by which the ear finds the loudspeaker's setting and the volume.

use super::sweep::{What, fault};
use crate::session::sound_check::{SINK_MPS, STRONG_MPS, WEAK_MPS};
use chirrup_core::stages::Sounder;
use chirrup_core::{SettingsError, SoundMode, Speaker, TICKS_PER_SECOND, ToneSettings, Voice};

/// How long a part sounds, and the silence behind it.
const SOUND_S: f64 = 10.0;
const SILENCE_S: f64 = 2.0;

/// What sounds when, and what to do about it.
pub const GUIDE: &str = "\
Sound check  A minute, best with the noise of your cockpit or of a car around you.

  0:00   steep sink, as for a small loudspeaker
  0:12   the same, as for headphones or a large loudspeaker
  0:24   weak climb
  0:36   strong climb
  0:48   the fault call

The first is clear and the second faint or gone    keep tone.speaker=small
The second is as loud as the first                 tone.speaker=flat, for purer low tones
The beeps are faint                                turn tone.volume up, 10 at most
At volume 10 they are faint still                  a louder loudspeaker; no setting gives more
";

/// A part: the value in m/s, or `None` for the fault call.
const PARTS: [(Speaker, Option<f64>); 5] = [
    (Speaker::Small, Some(SINK_MPS)),
    (Speaker::Flat, Some(SINK_MPS)),
    (Speaker::Small, Some(WEAK_MPS)),
    (Speaker::Small, Some(STRONG_MPS)),
    (Speaker::Small, None),
];

/// The voices of the check with these settings, tick by tick.
///
/// # Errors
/// None that the check of the settings has left.
pub fn voices(tone: &ToneSettings) -> Result<Vec<Voice>, SettingsError> {
    let mut all = Vec::new();
    for (speaker, value) in PARTS {
        let sounder =
            Sounder::new(&ToneSettings { speaker, mode: SoundMode::Climb, ..tone.clone() })?;
        match value {
            Some(value_mps) => {
                all.extend(What::One { value_mps, seconds: SOUND_S }.voices(&sounder));
            }
            None => all.extend(fault(&sounder, SOUND_S)),
        }
        let last = all.last().copied().unwrap_or_default();
        let silent = Voice { gate: false, ..last };
        all.extend(vec![silent; (SILENCE_S * f64::from(TICKS_PER_SECOND)) as usize]);
    }
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{Meaning, Timbre};

    #[test]
    fn every_part_sounds_when_the_guide_says_and_the_whole_takes_a_minute() {
        let voices = voices(&ToneSettings::default()).unwrap();
        assert_eq!(voices.len(), 60 * TICKS_PER_SECOND as usize);
        let parts: Vec<&[Voice]> = voices.chunks(12 * TICKS_PER_SECOND as usize).collect();
        let heard: Vec<(Meaning, Timbre)> = parts
            .iter()
            .map(|part| {
                let first = part.iter().find(|voice| voice.gate).unwrap();
                (first.meaning, first.timbre)
            })
            .collect();
        assert_eq!(
            heard,
            [
                (Meaning::Sink, Timbre::Octave),
                (Meaning::Sink, Timbre::Pure),
                (Meaning::Climb, Timbre::Pure),
                (Meaning::Climb, Timbre::Pure),
                (Meaning::Fault, Timbre::Octave),
            ]
        );
        for (part, time) in parts.iter().zip(["0:00", "0:12", "0:24", "0:36", "0:48"]) {
            assert!(GUIDE.contains(time));
            assert!(part[10 * TICKS_PER_SECOND as usize + 10..].iter().all(|voice| !voice.gate));
        }
    }
}
