//! The sound as register values of a PWM timer, computed only when the sound changes.
//!
//! The arithmetic is the core's ([`chirrup_core::PwmTimer`]); a voice stays the same for many
//! ticks, and a timer is not to be written without need.

use chirrup_core::{Pulse, PwmTimer, Voice};

/// A PWM timer, and what it was last set to.
#[derive(Clone, Copy, Debug)]
pub struct Speaker {
    timer: PwmTimer,
    last: Option<(Voice, Pulse)>,
}

impl Speaker {
    /// A speaker on a timer.
    pub fn new(timer: PwmTimer) -> Self {
        Self { timer, last: None }
    }

    /// What to set the timer to; `None` if it is set to that already.
    pub fn change(&mut self, voice: Voice) -> Option<Pulse> {
        if self.last.is_some_and(|(last, _)| last == voice) {
            return None;
        }
        let before = self.last.map(|(_, pulse)| pulse);
        let pulse = self.timer.pulse(voice);
        self.last = Some((voice, pulse));
        (before != Some(pulse)).then_some(pulse)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::Hertz;

    fn voice(pitch_hz: f32, gate: bool) -> Voice {
        Voice { pitch: Hertz(pitch_hz), gate, level: 0.5, ..Voice::default() }
    }

    #[test]
    fn the_timer_is_set_when_the_sound_changes_and_only_then() {
        let timer = PwmTimer::new(125_000_000, 255).expect("it is a good timer");
        let mut speaker = Speaker::new(timer);
        assert_eq!(speaker.change(voice(900.0, true)), Some(timer.pulse(voice(900.0, true))));
        assert_eq!(speaker.change(voice(900.0, true)), None);
        assert_eq!(speaker.change(voice(901.0, true)), Some(timer.pulse(voice(901.0, true))));
        assert_eq!(speaker.change(voice(901.0, false)).map(|pulse| pulse.compare), Some(0));
        // Not even a count of the timer apart.
        assert_eq!(speaker.change(voice(901.000_1, false)), None);
    }

    #[test]
    fn silence_at_the_start_is_set_as_well() {
        let mut speaker =
            Speaker::new(PwmTimer::new(125_000_000, 255).expect("it is a good timer"));
        assert_eq!(speaker.change(Voice::default()).map(|pulse| pulse.compare), Some(0));
    }
}
