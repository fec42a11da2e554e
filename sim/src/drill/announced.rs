//! The ticks before a question: it begins, and on a recording which one it is.

use chirrup_core::{Hertz, TICK, Voice};

/// A tick, and a knock for ten.
const TICK_HZ: f32 = 1_800.0;
const KNOCK_HZ: f32 = 300.0;
const TICK_S: f64 = 0.03;
const KNOCK_S: f64 = 0.08;
/// From one tick to the next, s; after each fifth it is twice as long, so that they can be counted.
const APART_S: f64 = 0.22;
const IN_A_GROUP: usize = 5;
/// From the last tick to the question, s.
const PAUSE_S: f64 = 0.7;

#[derive(Clone, Copy, Debug)]
struct Mark {
    at_s: f64,
    length_s: f64,
    pitch_hz: f32,
}

/// The ticks of an announcement.
#[derive(Clone, Debug)]
pub struct Announcement(Vec<Mark>);

impl Announcement {
    /// A number: a low knock for each ten, a tick for each one. 1 is a single tick, 0 is nothing.
    pub fn of(number: usize) -> Self {
        let (tens, ones) = (number / 10, number % 10);
        let mut marks = Vec::with_capacity(tens + ones);
        let mut at_s = 0.0;
        for (count, length_s, pitch_hz) in [(tens, KNOCK_S, KNOCK_HZ), (ones, TICK_S, TICK_HZ)] {
            for place in 1..=count {
                marks.push(Mark { at_s, length_s, pitch_hz });
                at_s += if place % IN_A_GROUP == 0 { 2.0 } else { 1.0 } * APART_S;
            }
            at_s += if count > 0 { APART_S } else { 0.0 };
        }
        Self(marks)
    }

    /// How many control ticks it takes, with the pause after it.
    pub fn ticks(&self) -> u64 {
        self.0.last().map_or(0, |last| ((last.at_s + PAUSE_S) / (TICK.0 as f64 * 1e-6)) as u64)
    }

    /// What sounds so many seconds after its beginning, at a level of 0 to 1.
    pub fn voice(&self, seconds: f64, level: f32) -> Voice {
        let sounding = |mark: &&Mark| (mark.at_s..mark.at_s + mark.length_s).contains(&seconds);
        self.0.iter().find(sounding).map_or_else(Voice::default, |mark| Voice {
            pitch: Hertz(mark.pitch_hz),
            gate: true,
            level,
            ..Voice::default()
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Pitches of what sounds, one after the other.
    fn heard(number: usize) -> Vec<f32> {
        let announcement = Announcement::of(number);
        let voices: Vec<Voice> = (0..announcement.ticks())
            .map(|tick| announcement.voice(tick as f64 * TICK.0 as f64 * 1e-6, 0.5))
            .collect();
        let begins = |pair: &[Voice]| pair[1].gate && !pair[0].gate;
        let first = voices.first().filter(|voice| voice.gate).map(|voice| voice.pitch.0);
        let rest = voices.windows(2).filter(|pair| begins(pair)).map(|pair| pair[1].pitch.0);
        first.into_iter().chain(rest).collect()
    }

    #[test]
    fn a_number_is_knocks_for_the_tens_and_ticks_for_the_ones() {
        assert_eq!(heard(0), [0.0; 0]);
        assert_eq!(heard(1), [TICK_HZ]);
        assert_eq!(heard(10), [KNOCK_HZ]);
        assert_eq!(heard(23), [KNOCK_HZ, KNOCK_HZ, TICK_HZ, TICK_HZ, TICK_HZ]);
        assert_eq!(heard(7).len(), 7);
    }
}
