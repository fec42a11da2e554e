//! The sound check: a minute by which a pilot hears whether the speaker carries every sound, and
//! what its volume is worth beside the noise.
//!
//! ```text
//!   0 to 4.5 s   the lowest sink tone of the settings
//!   5 to 7 s     the fault call, three falling notes
//!   8 to 12.5 s  the highest beeps of the settings
//!   15 s         once more from the start, four times in all
//! ```

use chirrup_core::stages::{Health, Heard, Sounder, SounderState};
use chirrup_core::{MetrePerSecond, TICKS_PER_SECOND, ToneSettings, Voice};

/// Rounds, and control ticks of one.
const ROUNDS: u32 = 4;
const ROUND: u32 = 15 * TICKS_PER_SECOND;
const SINK_ENDS: u32 = 9 * TICKS_PER_SECOND / 2;
/// A moment before the call, and after it.
const CALL_BEGINS: u32 = 49 * TICKS_PER_SECOND / 10;
const CALL_ENDS: u32 = 7 * TICKS_PER_SECOND;
const CLIMB_BEGINS: u32 = 8 * TICKS_PER_SECOND;
const CLIMB_ENDS: u32 = 25 * TICKS_PER_SECOND / 2;
/// The last beep is over.
const CLIMB_OVER: u32 = 13 * TICKS_PER_SECOND;

/// A part of a round.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The lowest sink tone.
    Sink,
    /// The fault call.
    Call,
    /// The highest beeps.
    Climb,
    /// Silence between two of them.
    Pause,
}

impl Part {
    /// What the console calls it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Sink => "lowest sink",
            Self::Call => "fault call",
            Self::Climb => "highest beeps",
            Self::Pause => "pause",
        }
    }
}

/// A sound check under way.
#[derive(Clone, Debug, Default)]
pub struct SoundCheck {
    ticks: u32,
    state: SounderState,
}

impl SoundCheck {
    /// What to sound for a tick by the settings of `sounder`; `None` at the end.
    pub fn tick(&mut self, sounder: &Sounder, tone: &ToneSettings) -> Option<Voice> {
        if self.ticks >= ROUNDS * ROUND {
            return None;
        }
        let place = self.ticks % ROUND;
        self.ticks += 1;
        let read = |state: &mut SounderState, climb, health| {
            // The core calls after five seconds of bad samples.
            state.note(health);
            sounder.read(state, Heard { climb, ..Heard::default() });
        };
        match place {
            0 => read(&mut self.state, lowest(tone), Health::Bad),
            SINK_ENDS => read(&mut self.state, MetrePerSecond(0.0), Health::Bad),
            CLIMB_BEGINS => read(&mut self.state, highest(tone), Health::Good),
            CLIMB_ENDS => read(&mut self.state, MetrePerSecond(0.0), Health::Good),
            _ => {}
        }
        Some(sounder.tick(&mut self.state, false))
    }

    /// The part that sounds now.
    pub fn part(&self) -> Part {
        match self.ticks % ROUND {
            0..SINK_ENDS => Part::Sink,
            CALL_BEGINS..CALL_ENDS => Part::Call,
            CLIMB_BEGINS..CLIMB_OVER => Part::Climb,
            _ => Part::Pause,
        }
    }

    /// Seconds until it ends by itself, rounded up.
    pub fn seconds_left(&self) -> u32 {
        (ROUNDS * ROUND).saturating_sub(self.ticks).div_ceil(TICKS_PER_SECOND)
    }
}

/// The climb of the lowest sink tone.
fn lowest(tone: &ToneSettings) -> MetrePerSecond {
    MetrePerSecond(tone.sink.last().map_or(0.0, |point| point.sink_mps))
}

/// The climb of the highest beeps.
fn highest(tone: &ToneSettings) -> MetrePerSecond {
    MetrePerSecond(tone.climb.last().map_or(0.0, |point| point.climb_mps))
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::Meaning;
    use std::vec::Vec;

    fn played(tone: &ToneSettings) -> Vec<Voice> {
        let sounder = Sounder::new(tone).unwrap();
        let mut check = SoundCheck::default();
        core::iter::from_fn(|| check.tick(&sounder, tone)).collect()
    }

    #[test]
    fn it_takes_a_minute_and_each_round_has_the_lowest_sink_the_call_and_the_highest_beep() {
        let tone = ToneSettings::default();
        let voices = played(&tone);
        assert_eq!(voices.len(), 60 * TICKS_PER_SECOND as usize);
        for round in voices.chunks(ROUND as usize) {
            let mut heard: Vec<Meaning> =
                round.iter().filter(|voice| voice.gate).map(|voice| voice.meaning).collect();
            heard.dedup();
            assert_eq!(heard, [Meaning::Sink, Meaning::Fault, Meaning::Climb]);
            let pitches = |meaning| {
                round
                    .iter()
                    .filter(move |voice| voice.gate && voice.meaning == meaning)
                    .map(|voice| voice.pitch.0)
            };
            let lowest = tone.sink.last().unwrap().pitch_hz;
            assert!(pitches(Meaning::Sink).all(|pitch| (pitch - lowest).abs() < 0.1));
            let highest = tone.climb.last().unwrap().pitch_hz;
            assert!(pitches(Meaning::Climb).all(|pitch| (pitch - highest).abs() < 0.1));
            // Three notes of a quarter of a second.
            assert!(pitches(Meaning::Fault).count().abs_diff(375) < 5);
        }
    }

    #[test]
    fn its_parts_are_what_sounds_in_them() {
        let tone = ToneSettings::default();
        let sounder = Sounder::new(&tone).unwrap();
        let mut check = SoundCheck::default();
        let mut found = Vec::new();
        assert_eq!(check.seconds_left(), 60);
        loop {
            let part = check.part();
            let Some(voice) = check.tick(&sounder, &tone) else { break };
            if voice.gate {
                found.push((part, voice.meaning));
            }
        }
        assert_eq!(check.seconds_left(), 0);
        found.dedup();
        let round = [
            (Part::Sink, Meaning::Sink),
            (Part::Call, Meaning::Fault),
            (Part::Climb, Meaning::Climb),
        ];
        assert_eq!(found, round.repeat(ROUNDS as usize));
    }

    #[test]
    fn a_call_that_is_turned_off_is_silence() {
        let voices = played(&ToneSettings { fault_every_s: 0.0, ..ToneSettings::default() });
        assert!(voices.iter().all(|voice| !voice.gate || voice.meaning != Meaning::Fault));
    }
}
