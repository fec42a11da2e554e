//! The sounds by which an ear finds the kind of its loudspeaker and the volume, one after another
//! for as long as the listener needs.

use chirrup_core::stages::{Health, Heard, Sounder, SounderState};
use chirrup_core::{MetrePerSecond, SettingsError, SoundMode, Speaker, ToneSettings, Voice};

/// Sink, weak and strong climb that are judged, in m/s.
pub const SINK_MPS: f64 = -8.0;
/// Weak climb, m/s.
pub const WEAK_MPS: f64 = 0.3;
/// Strong climb, m/s.
pub const STRONG_MPS: f64 = 8.0;

/// One steady value on one kind of loudspeaker.
pub struct SoundCheck {
    sounder: Sounder,
    state: SounderState,
    heard: Heard,
}

impl SoundCheck {
    /// A vertical speed in m/s at a volume of 0 to 10.
    ///
    /// # Errors
    /// Where the volume is outside its range.
    pub fn new(speaker: Speaker, volume: f32, value_mps: f64) -> Result<Self, SettingsError> {
        let tone =
            ToneSettings { speaker, volume, mode: SoundMode::Climb, ..ToneSettings::default() };
        let heard = Heard { climb: MetrePerSecond(value_mps as f32), ..Heard::default() };
        let mut check =
            Self { sounder: Sounder::new(&tone)?, state: SounderState::default(), heard };
        check.state.note(Health::Good);
        check.sounder.read(&mut check.state, check.heard);
        Ok(check)
    }

    /// The voice of the next control tick.
    pub fn tick(&mut self) -> Voice {
        self.sounder.tick(&mut self.state, false)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{Meaning, Timbre};

    #[test]
    fn sink_is_unbroken_in_the_timbre_of_its_loudspeaker_and_climb_beeps() {
        for (speaker, timbre) in [
            (Speaker::Small, Timbre::Octave),
            (Speaker::Flat, Timbre::Pure),
            (Speaker::Piezo, Timbre::Reed),
        ] {
            let mut check = SoundCheck::new(speaker, 8.0, SINK_MPS).unwrap();
            let voices: Vec<Voice> = (0..500).map(|_| check.tick()).collect();
            assert!(voices.iter().all(|voice| voice.gate && voice.meaning == Meaning::Sink));
            assert_eq!(voices[0].timbre, timbre);
        }
        let mut check = SoundCheck::new(Speaker::Small, 8.0, WEAK_MPS).unwrap();
        let voices: Vec<Voice> = (0..1_000).map(|_| check.tick()).collect();
        assert!(voices.iter().any(|voice| voice.gate) && voices.iter().any(|voice| !voice.gate));
        assert!(SoundCheck::new(Speaker::Small, 11.0, WEAK_MPS).is_err());
    }
}
