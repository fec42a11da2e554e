//! The sound of a round, through a session, whose flight pauses meanwhile.

use super::round::Round;
use crate::session::Session;

impl Round {
    /// Fills `frames` with the sound of the round, left and right interleaved, at the volume of
    /// `session`.
    pub fn fill(&mut self, session: &mut Session, frames: &mut [i16]) {
        self.set_volume(session.controls().volume);
        session.fill_with(frames, || self.tick());
    }
}
