//! Climb that sounds where there is none, counted as the flight goes.
//!
//! A false beep is a climb sound that begins while the glider truly loses energy. A false spell is
//! what a pilot would take for a call: climb sounds less than half a second apart taken as one,
//! longer than a second, begun while the glider truly loses energy.

use serde::Serialize;
use std::fmt;

/// Both are given for ten minutes.
const COUNTED_OVER_S: f64 = 600.0;
/// Sounds closer than this are one.
const TAKEN_AS_ONE_S: f64 = 0.5;
/// A spell is longer than this.
const SPELL_S: f64 = 1.0;

/// False climb in ten minutes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct FalseClimb {
    /// Sounds.
    pub beeps: f64,
    /// Spells.
    pub spells: f64,
}

impl fmt::Display for FalseClimb {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.0} beeps, {:.0} spells in ten minutes", self.beeps, self.spells)
    }
}

/// A climb sound.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sounding {
    /// When it begins, s.
    pub from_s: f64,
    /// When it ends, s.
    pub to_s: f64,
    /// Whether it begins while the glider truly loses energy.
    pub is_false: bool,
}

impl FalseClimb {
    /// What `sounds`, in the order of time, come to where they were counted for `counted_s`.
    pub fn of(sounds: &[Sounding], counted_s: f64) -> Self {
        let in_ten_minutes = COUNTED_OVER_S / counted_s;
        let beeps = sounds.iter().filter(|sound| sound.is_false).count();
        let spells = sounds
            .chunk_by(|before, after| after.from_s - before.to_s < TAKEN_AS_ONE_S)
            .filter(|spell| spell[0].is_false)
            .filter(|spell| spell[spell.len() - 1].to_s - spell[0].from_s > SPELL_S)
            .count();
        Self { beeps: beeps as f64 * in_ten_minutes, spells: spells as f64 * in_ten_minutes }
    }
}

/// The count.
#[derive(Clone, Debug, Default)]
pub struct Counter {
    first_s: Option<f64>,
    last_s: f64,
    is_sounding: bool,
    sounds: Vec<Sounding>,
}

impl Counter {
    /// Adds a moment: whether climb sounds from then on, and the true climb, m/s.
    pub fn take(&mut self, time_s: f64, sounds: bool, truth_mps: f64) {
        self.first_s.get_or_insert(time_s);
        self.last_s = time_s;
        if sounds && !self.is_sounding {
            let is_false = truth_mps < 0.0;
            self.sounds.push(Sounding { from_s: time_s, to_s: time_s, is_false });
        } else if self.is_sounding
            && let Some(sound) = self.sounds.last_mut()
        {
            sound.to_s = time_s;
        }
        self.is_sounding = sounds;
    }

    /// What it came to, to a tenth; `None` before two moments.
    pub fn result(&self) -> Option<FalseClimb> {
        let lasts_s = self.last_s - self.first_s?;
        let rounded = |count: f64| (count * 10.0).round() / 10.0;
        (lasts_s > 0.0).then(|| {
            let FalseClimb { beeps, spells } = FalseClimb::of(&self.sounds, lasts_s);
            FalseClimb { beeps: rounded(beeps), spells: rounded(spells) }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ten minutes of samples every 20 ms.
    fn counted(sounds: impl Fn(f64) -> bool, truth: impl Fn(f64) -> f64) -> FalseClimb {
        let mut counter = Counter::default();
        for sample in 0..=30_000 {
            let time_s = f64::from(sample) * 0.02;
            counter.take(time_s, sounds(time_s), truth(time_s));
        }
        counter.result().expect("it has moments")
    }

    #[test]
    fn sounds_close_together_are_one_spell_and_short_ones_are_none() {
        // Every minute: three sounds of 0.4 s with 0.3 s between them, 1.8 s in all.
        let thrice =
            |t: f64| (t % 60.0) > 10.0 && (t % 60.0) < 11.8 && (t % 60.0 - 10.0) % 0.7 < 0.4;
        assert_eq!(counted(thrice, |_| -1.0), FalseClimb { beeps: 30.0, spells: 10.0 });
        // The same with 0.9 s between them: three short ones.
        let apart =
            |t: f64| (t % 60.0) > 10.0 && (t % 60.0) < 13.0 && (t % 60.0 - 10.0) % 1.3 < 0.4;
        assert_eq!(counted(apart, |_| -1.0), FalseClimb { beeps: 30.0, spells: 0.0 });
    }

    #[test]
    fn what_sounds_in_a_climb_is_not_false_and_what_begins_in_sink_is() {
        let sounds = |t: f64| (t % 60.0) > 10.0 && (t % 60.0) < 15.0;
        let none = FalseClimb::default();
        assert_eq!(counted(sounds, |_| 0.5), none);
        assert_eq!(counted(sounds, |t| if t % 60.0 > 9.0 { 0.5 } else { -0.7 }), none);
        let early = FalseClimb { beeps: 10.0, spells: 10.0 };
        assert_eq!(counted(sounds, |t| if t % 60.0 > 11.0 { 0.5 } else { -0.7 }), early);
    }
}
