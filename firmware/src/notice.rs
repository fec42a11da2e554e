//! Sounds outside the core: the start, a response to a button, a warning. They replace the
//! variometer's sound, and none resembles climb: no regular beeps, and warnings fall in pitch.

use chirrup_core::{Hertz, TICK, Voice};

/// A notice; later entries in the list take priority over earlier ones.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Notice {
    /// A button was understood; the mode is climb.
    Button,
    /// The mode is netto.
    TwoTicks,
    /// The mode is the speed to fly.
    ThreeTicks,
    /// Total energy is missing, and pitch inputs show in the reading, or it may be wrong.
    NoCompensation,
    /// The battery is low.
    BatteryLow,
    /// It has started, and the speaker works.
    Start,
}

/// A pitch in hertz, 0 for silence, and how long in milliseconds.
type Note = (u16, u16);

impl Notice {
    /// Its notes; this is the only place that defines them.
    fn notes(self) -> &'static [Note] {
        match self {
            Notice::Button => &[(1_000, 30)],
            Notice::TwoTicks => &[(1_000, 30), (0, 90), (1_000, 30)],
            Notice::ThreeTicks => &[(1_000, 30), (0, 90), (1_000, 30), (0, 90), (1_000, 30)],
            Notice::NoCompensation => &[(500, 80), (0, 60), (420, 80), (0, 60), (420, 80)],
            Notice::BatteryLow => &[(440, 150), (0, 80), (350, 300)],
            Notice::Start => &[(523, 120), (659, 120), (784, 120), (523, 240)],
        }
    }
}

/// Plays one notice at a time.
#[derive(Clone, Copy, Debug, Default)]
pub struct Player {
    playing: Option<Notice>,
    note: u8,
    ticks: u16,
}

impl Player {
    /// Starts a notice, unless one of higher priority is playing.
    pub fn play(&mut self, notice: Notice) {
        if self.playing.is_none_or(|playing| playing <= notice) {
            *self = Self { playing: Some(notice), note: 0, ticks: 0 };
        }
    }

    /// What to sound for a tick, at a level of 0 to 1, if a notice is being played.
    pub fn tick(&mut self, level: f32) -> Option<Voice> {
        let notes = self.playing?.notes();
        while let Some((pitch, milliseconds)) = notes.get(usize::from(self.note)) {
            if i64::from(self.ticks) * TICK.0 < i64::from(*milliseconds) * 1_000 {
                self.ticks += 1;
                return Some(Voice {
                    pitch: Hertz(f32::from(*pitch)),
                    gate: *pitch > 0,
                    level,
                    ..Voice::default()
                });
            }
            self.note += 1;
            self.ticks = 0;
        }
        self.playing = None;
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    fn played(notice: Notice) -> Vec<Voice> {
        let mut player = Player::default();
        player.play(notice);
        core::iter::from_fn(|| player.tick(1.0)).collect()
    }

    #[test]
    fn a_notice_lasts_as_long_as_its_notes_and_ends() {
        assert_eq!(played(Notice::Button).len(), 15);
        assert_eq!(played(Notice::Start).len(), 300);
        assert!(played(Notice::BatteryLow).iter().any(|voice| !voice.gate));
    }

    #[test]
    fn warnings_fall_and_stay_below_every_beep_of_climb_by_default() {
        let lowest = chirrup_core::ToneSettings::default().climb[0].pitch_hz;
        for notice in [Notice::NoCompensation, Notice::BatteryLow] {
            let pitches: Vec<f32> = played(notice)
                .iter()
                .filter(|voice| voice.gate)
                .map(|voice| voice.pitch.0)
                .collect();
            assert!(pitches.is_sorted_by(|before, after| before >= after), "{notice:?}");
            assert!(pitches.iter().all(|pitch| *pitch < lowest), "{notice:?}");
        }
    }

    #[test]
    fn a_warning_takes_priority_over_a_button_sound() {
        let mut player = Player::default();
        player.play(Notice::BatteryLow);
        player.play(Notice::Button);
        assert_eq!(player.tick(1.0).unwrap().pitch.0, 440.0);
        player.play(Notice::Start);
        assert_eq!(player.tick(1.0).unwrap().pitch.0, 523.0);
    }
}
