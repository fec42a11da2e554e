//! The sound check on the instrument: on the ground only, since it sounds instead of the climb.
//!
//! ```text
//! "sound check", mute held --it does not move--> a minute --the end, a press, "sound off"--> climb
//!                 it moves: refused                       --it begins to move-->
//! ```
//!
//! Whether it moves is the recorder's [`Motion`](crate::recorder::motion::Motion), which the
//! instrument keeps on boards without a recorder too. It errs on the side of motion: a check is
//! refused until the glider has stood for five minutes.

use super::changes::Refusal;
use super::{Instrument, Port};
use crate::audition::Audition;
use chirrup_core::Micros;

const MOVES: &str = "no sound check: the glider moves, or did less than five minutes ago, and the \
                     check would hide the climb";

impl Instrument {
    /// Begins the sound check, which a mute would hide.
    ///
    /// # Errors
    /// The glider moves; a mute stays as it is.
    pub(super) fn begin_sound_check(&mut self) -> Result<(), Refusal> {
        if self.motion.is_moving() {
            return Err(Refusal::Words(MOVES));
        }
        self.state.mute_for(Micros(0));
        self.audition = Some(Audition::check());
        Ok(())
    }

    /// The same by the button; a refusal is told on the ports.
    pub(super) fn hold_for_sound_check(&mut self) {
        if let Err(refusal) = self.begin_sound_check() {
            self.tell(format_args!("{refusal}"));
        }
    }

    /// The glider moves: what sounds is the climb again.
    pub(super) fn end_sound_check(&mut self) {
        if matches!(self.audition, Some(Audition::Check(_))) {
            self.audition = None;
            self.tell(format_args!("sound check ended: the glider moves"));
        }
    }

    /// Tells which part sounds, and for how long.
    pub(super) fn say_sound_check(&mut self, port: Port) {
        let under_way = match &self.audition {
            Some(Audition::Check(check)) => Some((check.part().name(), check.seconds_left())),
            _ => None,
        };
        let console = self.console(port);
        match under_way {
            Some((part, left)) => console.say(format_args!("{part}, {left} s left")),
            None => console.say(format_args!("no sound check")),
        }
    }
}
