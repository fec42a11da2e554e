//! What has sounded, one control tick at a time: a report alone would miss most beeps.

use crate::ears::Ears;
use chirrup_core::{Meaning, Voice};

/// Without anybody to fetch them only so many ticks are kept: ten seconds.
const MOST_TICKS: usize = 5_000;

/// What sounded in one ear during one control tick.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Note {
    /// Pitch, Hz; 0 in silence.
    pub pitch_hz: f32,
    /// What it means; [`Meaning::Nothing`] in silence.
    pub meaning: Meaning,
}

impl Note {
    fn of(voice: &Voice, is_muted: bool) -> Self {
        let sounds = voice.gate && voice.level > 0.0 && !is_muted;
        if sounds {
            Self { pitch_hz: voice.pitch.0, meaning: voice.meaning }
        } else {
            Self::default()
        }
    }
}

/// The ticks since they were last fetched.
#[derive(Clone, Debug, Default)]
pub(super) struct HeardNotes {
    notes: Vec<Ears<Note>>,
}

impl HeardNotes {
    /// A tick sounds; without `two` instruments the right ear hears the left one.
    pub(super) fn add(&mut self, voices: Ears<Voice>, two: bool, is_muted: bool) {
        let left = Note::of(&voices.left, is_muted);
        let right = voices.right.filter(|_| two).map_or(left, |voice| Note::of(&voice, is_muted));
        self.make_room();
        self.notes.push(Ears { left, right: Some(right) });
    }

    /// So many ticks are silent.
    pub(super) fn add_silence(&mut self, ticks: u64) {
        for _ in 0..ticks.min(MOST_TICKS as u64) {
            self.make_room();
            self.notes.push(Ears { left: Note::default(), right: Some(Note::default()) });
        }
    }

    /// The older half goes.
    fn make_room(&mut self) {
        if self.notes.len() >= MOST_TICKS {
            self.notes.drain(..MOST_TICKS / 2);
        }
    }

    pub(super) fn take(&mut self) -> Vec<Ears<Note>> {
        std::mem::take(&mut self.notes)
    }
}
