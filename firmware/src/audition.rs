//! Plays the sound of a given vertical speed, for `tone 2.5`: the core's own sound, for three
//! seconds.

use chirrup_core::stages::{Heard, Sounder, SounderState};
use chirrup_core::{MetrePerSecond, TICKS_PER_SECOND, Voice};

const TICKS: u32 = 3 * TICKS_PER_SECOND;

/// A sound being tried out.
#[derive(Clone, Debug)]
pub struct Audition {
    state: SounderState,
    left: u32,
}

impl Audition {
    /// The sound of a vertical speed by the tone law of `sounder`, in any mode.
    pub fn new(sounder: &Sounder, climb: MetrePerSecond) -> Self {
        let mut state = SounderState::default();
        // Without a netto or a speed to fly, every mode sounds climb.
        sounder.read(&mut state, Heard { climb, ..Heard::default() });
        Self { state, left: TICKS }
    }

    /// What to sound for a tick; `None` at the end.
    pub fn tick(&mut self, sounder: &Sounder) -> Option<Voice> {
        self.left = self.left.checked_sub(1)?;
        Some(sounder.tick(&mut self.state, false))
    }
}
