//! The sound of a vertical speed that is not flown, for `tone 2.5`: the core's own sound, for three
//! seconds.

use chirrup_core::beep::{TICKS_PER_SECOND, Voice};
use chirrup_core::settings::ToneSettings;
use chirrup_core::sounder::{Heard, SoundMode, Sounder, SounderState};
use chirrup_core::units::MetrePerSecond;

const TICKS: u32 = 3 * TICKS_PER_SECOND;

/// A sound being tried out.
#[derive(Clone, Debug)]
pub struct Audition {
    sounder: Sounder,
    state: SounderState,
    left: u32,
}

impl Audition {
    /// The sound of a vertical speed, whatever the mode; `None` for settings that make no sound.
    pub fn new(settings: &ToneSettings, climb: MetrePerSecond) -> Option<Self> {
        let sounder =
            Sounder::new(&ToneSettings { mode: SoundMode::Climb, ..settings.clone() }).ok()?;
        let mut state = SounderState::default();
        sounder.read(&mut state, Heard { climb, ..Heard::default() });
        Some(Self { sounder, state, left: TICKS })
    }

    /// What to sound for a tick; `None` at the end.
    pub fn tick(&mut self) -> Option<Voice> {
        self.left = self.left.checked_sub(1)?;
        Some(self.sounder.tick(&mut self.state, false))
    }
}
