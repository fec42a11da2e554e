//! How much two instruments differ in sound, second by second of a replay.
//!
//! Two beeps a second heard half a beep apart sound the same; so what is compared is what each of
//! them plays (beeps, the steady tone, nothing), how high, how loud and in which timbre, and over a
//! passage how many beeps there are and how long they sound, but not the moment of each beep.

use crate::ears::Ears;
use crate::output::watch::Watch;
use crate::replay::{Listening, Row, Stretch};
use chirrup_core::{Meaning, TICKS_PER_SECOND, Voice};

/// A pause this long ends beeps: a second, in which even slow beeps return (0.5 a second is the
/// slowest that can be set, 1.6 the slowest of the defaults).
const PAUSE_TICKS: u32 = TICKS_PER_SECOND;
/// A difference of pitch that counts as much as hearing something else (a guess).
const WHOLE_SEMITONES: f32 = 1.0;
/// The same for the level (a guess).
const WHOLE_DB: f32 = 6.0;
/// Another timbre counts as so much (a guess).
const TIMBRE: f32 = 0.5;
/// Silence of both that lasts longer is a gap in the flight, and no passage goes over it, s.
const LONGEST_SILENCE_S: u64 = 20;

/// A second of both sounds.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Second {
    /// Its first control tick since the replay began.
    pub tick: u64,
    /// The time of the trace at which it begins, s.
    pub time_s: f64,
    /// Mean difference, from 0 (the same) to 1 (something else).
    pub difference: f32,
    /// How often a note begins, of A and of B.
    pub notes: [u32; 2],
    /// Ticks with a tone, of A and of B.
    pub on: [u32; 2],
}

/// Looks at the sound of a replay.
#[derive(Default)]
pub struct Survey {
    seconds: Vec<Second>,
    /// The present second, and how many ticks it has.
    now: Second,
    ticks: u32,
    /// Ticks since the beginning.
    tick: u64,
    /// The time of the last row, and the ticks since.
    row_s: f64,
    since: u64,
    ears: [Ear; 2],
}

impl Survey {
    /// Every whole second of it.
    pub fn finish(self) -> Vec<Second> {
        self.seconds
    }

    fn take(&mut self, voices: [Voice; 2]) {
        if self.ticks == 0 {
            let time_s = self.row_s + self.since as f64 / f64::from(TICKS_PER_SECOND);
            self.now = Second { tick: self.tick, time_s, ..Second::default() };
        }
        for (place, (ear, voice)) in self.ears.iter_mut().zip(&voices).enumerate() {
            self.now.notes[place] += u32::from(ear.take(voice));
            self.now.on[place] += u32::from(voice.gate);
        }
        let share = difference(&self.ears, &voices) / TICKS_PER_SECOND as f32;
        self.now.difference += share;
        (self.ticks, self.tick, self.since) = (self.ticks + 1, self.tick + 1, self.since + 1);
        if self.ticks == TICKS_PER_SECOND {
            self.seconds.push(self.now);
            self.ticks = 0;
        }
    }
}

impl Watch for Survey {
    fn row(&mut self, row: &Row) {
        (self.row_s, self.since) = (row.time.0 as f64 * 1e-6, 0);
    }

    fn listening(&self) -> Listening {
        Listening::Ticks
    }

    fn sound(&mut self, stretch: Stretch<'_>) {
        match stretch {
            Stretch::Voices(voices) => {
                for Ears { left, right } in voices {
                    self.take([*left, right.unwrap_or_default()]);
                }
            }
            Stretch::Silence(ticks) => {
                let heard = ticks.min(LONGEST_SILENCE_S * u64::from(TICKS_PER_SECOND));
                for _ in 0..heard {
                    self.take([Voice::default(); 2]);
                }
                if ticks > heard {
                    // The present second ends nowhere.
                    self.ticks = 0;
                    self.tick += ticks - heard;
                    self.since += ticks - heard;
                }
            }
        }
    }
}

/// What one of them is playing.
#[derive(Default)]
struct Ear {
    meaning: Meaning,
    silent_for: u32,
    was_on: bool,
}

impl Ear {
    /// Takes a tick; true where a note begins.
    fn take(&mut self, voice: &Voice) -> bool {
        let begins = voice.gate && !self.was_on;
        self.was_on = voice.gate;
        if voice.gate {
            (self.meaning, self.silent_for) = (voice.meaning, 0);
        } else {
            self.silent_for = self.silent_for.saturating_add(1);
            if self.silent_for > PAUSE_TICKS {
                self.meaning = Meaning::Nothing;
            }
        }
        begins
    }
}

/// From 0 to 1.
fn difference(ears: &[Ear; 2], [a, b]: &[Voice; 2]) -> f32 {
    if ears[0].meaning != ears[1].meaning {
        return 1.0;
    }
    if !(a.gate && b.gate) {
        return 0.0;
    }
    let semitones = 12.0 * (a.pitch.0 / b.pitch.0).log2().abs();
    let db = 20.0 * (a.level / b.level).log10().abs();
    let timbre = if a.timbre == b.timbre { 0.0 } else { TIMBRE };
    let sum = semitones / WHOLE_SEMITONES + db / WHOLE_DB + timbre;
    // Two levels of 0 are equal.
    if sum.is_nan() { 0.0 } else { sum.min(1.0) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::Hertz;

    /// Beeps of 0.2 s, two a second, the first `late` ticks after the beginning.
    fn beep(tick: u32, late: u32, pitch: f32) -> Voice {
        let gate = tick >= late && (tick - late) % 250 < 100;
        let meaning = if tick < late { Meaning::Nothing } else { Meaning::Climb };
        Voice { pitch: Hertz(pitch), gate, meaning, ..Voice::default() }
    }

    fn surveyed(both: impl Fn(u32) -> [Voice; 2]) -> Vec<Second> {
        let voices: Vec<Ears<Voice>> =
            (0..2_500).map(both).map(|[left, right]| Ears { left, right: Some(right) }).collect();
        let mut survey = Survey::default();
        voices.chunks(333).for_each(|part| survey.sound(Stretch::Voices(part)));
        survey.finish()
    }

    #[test]
    fn beeps_at_other_moments_are_the_same_and_a_semitone_is_not() {
        let shifted = surveyed(|tick| [beep(tick, 0, 600.0), beep(tick, 30, 600.0)]);
        assert_eq!(shifted.len(), 5);
        assert!(shifted[1..].iter().all(|second| second.difference == 0.0), "{shifted:?}");
        let higher = surveyed(|tick| [beep(tick, 0, 600.0), beep(tick, 0, 600.0 * 1.0595)]);
        // On for 0.4 of the time.
        assert!(higher.iter().all(|second| (second.difference - 0.4).abs() < 0.01), "{higher:?}");
        assert!(higher.iter().all(|second| second.notes == [2, 2] && second.on == [200, 200]));
    }

    #[test]
    fn beeps_and_silence_differ_all_the_time() {
        let one = surveyed(|tick| [beep(tick, 0, 600.0), Voice::default()]);
        assert!(one.iter().all(|second| (second.difference - 1.0).abs() < 1e-3), "{one:?}");
    }

    #[test]
    fn a_gap_in_the_flight_is_not_counted_through() {
        let mut survey = Survey::default();
        survey.sound(Stretch::Silence(1_000_000_000_000));
        survey.sound(Stretch::Silence(500));
        let seconds = survey.finish();
        assert_eq!(seconds.len(), 21);
        assert_eq!(seconds[20].tick, 1_000_000_000_000);
    }
}
