//! The sound of a vertical speed that is not flown, for `tone 2.5`: the core's own law and gate, for three seconds.

use chirrup_core::beep::{BeepState, TICKS_PER_SECOND, Voice};
use chirrup_core::settings::ToneSettings;
use chirrup_core::tone::{Sound, Tone, ToneState};
use chirrup_core::units::MetrePerSecond;

const TICKS: u32 = 3 * TICKS_PER_SECOND;

/// A sound being tried out.
#[derive(Clone, Copy, Debug)]
pub struct Audition {
    sound: Sound,
    beep: BeepState,
    left: u32,
}

impl Audition {
    /// The sound of a vertical speed; `None` for settings that make no tone.
    pub fn new(settings: &ToneSettings, vertical_speed: MetrePerSecond) -> Option<Self> {
        let sound = Tone::new(settings).ok()?.step(&mut ToneState::default(), vertical_speed);
        Some(Self { sound, beep: BeepState::default(), left: TICKS })
    }

    /// What to sound for a tick; `None` at the end.
    pub fn tick(&mut self) -> Option<Voice> {
        self.left = self.left.checked_sub(1)?;
        Some(self.beep.tick(&self.sound))
    }

    /// What it sounds like.
    pub fn sound(&self) -> Sound {
        self.sound
    }
}
