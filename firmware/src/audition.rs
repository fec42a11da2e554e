//! Sounds that are tried out, all of them the core's own: `tone 2.5` for three seconds, or the
//! sound check.

use crate::sound_check::SoundCheck;
use chirrup_core::stages::{Heard, Sounder, SounderState};
use chirrup_core::{MetrePerSecond, TICKS_PER_SECOND, ToneSettings, Voice};

const TICKS: u32 = 3 * TICKS_PER_SECOND;

/// A sound being tried out.
#[derive(Clone, Debug)]
pub enum Audition {
    /// The sound of a vertical speed, and the ticks that are left of it.
    Tone(SounderState, u32),
    /// The sound check.
    Check(SoundCheck),
}

impl Audition {
    /// The sound of a vertical speed by the tone law of `sounder`, in any mode.
    pub fn new(sounder: &Sounder, climb: MetrePerSecond) -> Self {
        let mut state = SounderState::default();
        // Without a netto or a speed to fly, every mode sounds climb.
        sounder.read(&mut state, Heard { climb, ..Heard::default() });
        Self::Tone(state, TICKS)
    }

    /// The sound check.
    pub fn check() -> Self {
        Self::Check(SoundCheck::default())
    }

    /// What to sound for a tick by the settings of `sounder`; `None` at the end.
    pub fn tick(&mut self, sounder: &Sounder, tone: &ToneSettings) -> Option<Voice> {
        match self {
            Self::Tone(state, left) => {
                *left = left.checked_sub(1)?;
                Some(sounder.tick(state, false))
            }
            Self::Check(check) => check.tick(sounder, tone),
        }
    }
}
