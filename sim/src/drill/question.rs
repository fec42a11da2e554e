//! The questions: what is hidden, and which answer is right.
//!
//! Answers are drawn from a bag that holds each of them once and is refilled when empty, so that
//! all come up about equally often and only the last one in a bag can be predicted.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// The most answers that a kind has.
pub const MOST_ANSWERS: usize = 5;
/// How long a change takes, s: a glider crossing the edge of a thermal (a guess).
const CHANGE_S: f64 = 0.6;
/// How long a question sounds after its moment, s.
const AFTER_S: f64 = 4.0;

/// The kind of question.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// How fast it climbs or sinks.
    Speeds,
    /// How a climb changes.
    Changes,
}

impl Kind {
    /// Both.
    pub const ALL: [Kind; 2] = [Kind::Speeds, Kind::Changes];

    /// One word.
    pub fn name(self) -> &'static str {
        match self {
            Kind::Speeds => "speeds",
            Kind::Changes => "changes",
        }
    }

    /// The question in words.
    pub fn asks(self) -> &'static str {
        match self {
            Kind::Speeds => "What does the glider do?",
            Kind::Changes => "How does the climb change?",
        }
    }

    /// The answers to choose from.
    pub fn answers(self) -> &'static [&'static str] {
        match self {
            Kind::Speeds => {
                &["steep sink", "nothing to tell", "weak climb", "good climb", "strong climb"]
            }
            Kind::Changes => &["weaker", "the same", "stronger", "lift to sink"],
        }
    }
}

/// A question.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Question {
    /// The kind of question.
    pub kind: Kind,
    /// Vertical speed at first, m/s.
    pub before_mps: f64,
    /// Vertical speed in the end, m/s.
    pub after_mps: f64,
    /// When it begins to change, s from the question's start; 0 where the question is the vertical
    /// speed itself.
    pub moment_s: f64,
    /// The right answer, by its place in [`Kind::answers`].
    pub answer: usize,
}

impl Question {
    /// The hidden vertical speed at a time after the question's start, m/s.
    pub fn at(&self, seconds: f64) -> f64 {
        let share = ((seconds - self.moment_s) / CHANGE_S).clamp(0.0, 1.0);
        self.before_mps + share * (self.after_mps - self.before_mps)
    }

    /// How long it sounds, s.
    pub fn length_s(&self) -> f64 {
        self.moment_s + AFTER_S
    }
}

/// An endless supply of questions.
#[derive(Clone, Debug)]
pub struct Questions {
    kind: Kind,
    rng: ChaCha8Rng,
    bag: [usize; MOST_ANSWERS],
    left: usize,
}

impl Questions {
    /// Questions of one kind; the same seed gives the same ones.
    pub fn new(kind: Kind, seed: u64) -> Self {
        Self { kind, rng: ChaCha8Rng::seed_from_u64(seed), bag: [0; MOST_ANSWERS], left: 0 }
    }

    /// The next one.
    #[allow(clippy::should_implement_trait, reason = "it never ends, so it is not an iterator")]
    pub fn next(&mut self) -> Question {
        let answer = self.draw();
        match self.kind {
            Kind::Speeds => {
                let speed = match answer {
                    0 => self.between(-4.5, -2.0),
                    1 => self.between(-1.2, 0.0),
                    2 => self.between(0.4, 0.9),
                    3 => self.between(1.6, 2.4),
                    _ => self.between(3.6, 5.5),
                };
                Question {
                    kind: self.kind,
                    before_mps: speed,
                    after_mps: speed,
                    moment_s: 0.0,
                    answer,
                }
            }
            Kind::Changes => {
                let before_mps = self.between(1.0, 3.0);
                let after_mps = match answer {
                    0 => before_mps * self.between(0.35, 0.6),
                    1 => before_mps,
                    2 => before_mps * self.between(1.6, 2.2),
                    _ => self.between(-3.5, -2.0),
                };
                Question {
                    kind: self.kind,
                    before_mps,
                    after_mps,
                    moment_s: self.between(2.0, 5.0),
                    answer,
                }
            }
        }
    }

    /// Draws an answer from the bag.
    fn draw(&mut self) -> usize {
        if self.left == 0 {
            self.left = self.kind.answers().len();
            self.bag = core::array::from_fn(|place| place);
        }
        let place = self.rng.next_u32() as usize % self.left;
        self.left -= 1;
        self.bag.swap(place, self.left);
        self.bag[self.left]
    }

    fn between(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * f64::from(self.rng.next_u32()) / f64::from(u32::MAX)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drill::player::Player;
    use chirrup_core::Meaning;

    fn asked(kind: Kind, seed: u64, count: usize) -> Vec<Question> {
        let mut questions = Questions::new(kind, seed);
        (0..count).map(|_| questions.next()).collect()
    }

    #[test]
    fn the_seed_repeats_the_questions_and_another_asks_others() {
        for kind in Kind::ALL {
            assert_eq!(asked(kind, 5, 40), asked(kind, 5, 40));
            assert_ne!(asked(kind, 5, 40), asked(kind, 6, 40));
        }
    }

    #[test]
    fn every_answer_is_right_equally_often() {
        for kind in Kind::ALL {
            let answers = kind.answers().len();
            let asked = asked(kind, 1, answers * 50);
            for answer in 0..answers {
                assert_eq!(asked.iter().filter(|question| question.answer == answer).count(), 50);
            }
        }
    }

    #[test]
    fn the_right_answer_is_what_happens() {
        for question in asked(Kind::Changes, 3, 400) {
            let (before, after) =
                (question.at(question.moment_s), question.at(question.length_s()));
            let right = match question.answer {
                0 => after > 0.2 && after < 0.7 * before,
                1 => after == before,
                2 => after > 1.5 * before,
                _ => after <= -2.0,
            };
            assert!(right && before >= 1.0, "{question:?}");
        }
    }

    #[test]
    fn sink_is_a_steady_tone_nothing_is_silence_and_climb_beeps() {
        for question in asked(Kind::Speeds, 3, 100) {
            let mut player = Player::new(question);
            let mut heard: Vec<_> =
                (0..1000).map(|_| player.tick()).filter(|v| v.gate).map(|v| v.meaning).collect();
            heard.dedup();
            let expected: &[Meaning] = match question.answer {
                0 => &[Meaning::Sink],
                1 => &[],
                _ => &[Meaning::Climb],
            };
            assert_eq!(heard, expected, "{question:?}");
        }
    }
}
