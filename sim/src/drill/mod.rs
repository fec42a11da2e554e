//! The drill: identify hidden vertical speeds, or hidden changes, by ear alone.
//!
//! ```text
//! seed --> questions --> player (the core's sounder) --> sound
//!                                     answer --> score (confusion, reaction time)
//! ```
//!
//! The hidden value goes straight to the tone law, bypassing sensors and filter: the drill tests
//! the ear, not the instrument. Questions, player and score need no operating system and allocate
//! no memory, so that an instrument could run the drill too; only the printed tables do.

pub mod player;
pub mod question;
pub mod score;
pub mod sounded;
pub mod table;

use player::Player;
use question::{Kind, Question, Questions};
use score::{Outcome, Score};

/// A drill under way: the present question, and the answers so far.
#[derive(Clone, Debug)]
pub struct Drill {
    seed: u64,
    questions: Questions,
    asked: Option<Question>,
    score: Score,
    outcomes: Vec<Outcome>,
    wanted: usize,
}

impl Drill {
    /// A drill of `wanted` questions; the same seed asks the same ones.
    pub fn new(kind: Kind, seed: u64, wanted: usize) -> Self {
        Self {
            seed,
            questions: Questions::new(kind, seed),
            asked: None,
            score: Score::new(kind),
            outcomes: Vec::new(),
            wanted,
        }
    }

    /// The next question, and what plays it; `None` once all have been answered.
    pub fn ask(&mut self) -> Option<(Question, Player)> {
        if self.outcomes.len() >= self.wanted {
            self.asked = None;
            return None;
        }
        let question = self.asked.take().unwrap_or_else(|| self.questions.next());
        self.asked = Some(question);
        Some((question, Player::new(question)))
    }

    /// Scores an answer given `at_s` seconds after the question began to sound (`None`: on paper).
    /// Returns `None` when no question is open or `choice` is out of range.
    pub fn answer(&mut self, choice: usize, at_s: Option<f64>) -> Option<Outcome> {
        if choice >= self.kind().answers().len() {
            return None;
        }
        let outcome = self.score.take(&self.asked.take()?, choice, at_s);
        self.outcomes.push(outcome);
        Some(outcome)
    }

    /// The kind of question.
    pub fn kind(&self) -> Kind {
        self.score.kind()
    }

    /// The random seed of the questions.
    pub fn seed(&self) -> u64 {
        self.seed
    }

    /// How many questions there are in all.
    pub fn wanted(&self) -> usize {
        self.wanted
    }

    /// The score so far.
    pub fn score(&self) -> &Score {
        &self.score
    }

    /// Every answer, in order.
    pub fn outcomes(&self) -> &[Outcome] {
        &self.outcomes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_question_is_asked_again_until_it_is_answered_and_then_the_next() {
        let mut drill = Drill::new(Kind::Changes, 4, 3);
        let first = drill.ask().unwrap().0;
        assert_eq!(drill.ask().unwrap().0, first);
        assert_eq!(drill.answer(99, Some(4.0)), None);
        assert!(drill.answer(0, Some(9.0)).is_some());
        assert_eq!(drill.answer(0, Some(9.0)), None);
        for _ in 0..2 {
            drill.ask().unwrap();
            drill.answer(1, Some(9.0)).unwrap();
        }
        assert!(drill.ask().is_none());
        assert_eq!(drill.outcomes().len(), 3);
    }
}
