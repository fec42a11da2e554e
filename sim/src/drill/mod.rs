//! The drill: identify hidden vertical speeds, or hidden changes, by ear alone.
//!
//! ```text
//! seed --> questions --> announcement, player --> sound
//!            ^ threshold <-- answer --> score (confusion, reaction time)
//! ```
//!
//! The hidden value goes straight to the tone law, bypassing sensors and filter: those drills test
//! the ear, not the instrument. Only [`Kind::Flights`] flies a whole instrument through the air.

pub mod announced;
mod flown;
pub mod player;
pub mod question;
pub mod score;
pub mod sounded;
pub mod table;
pub mod threshold;

use question::{Kind, Question, Questions};
use score::{Outcome, Score};
use threshold::Threshold;

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
    /// A drill of `wanted` questions at most; the same seed and answers ask the same ones.
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

    /// The next question, or the present one again; `None` once the drill is over.
    pub fn ask(&mut self) -> Option<Question> {
        if self.is_over() {
            return None;
        }
        Some(*self.asked.get_or_insert_with(|| self.questions.next()))
    }

    /// Scores an answer given `at_s` seconds after the question began (`None`: on paper), or a
    /// blank, for whoever does not know. Returns `None` when no question is open or `choice` is out
    /// of range.
    pub fn answer(&mut self, choice: Option<usize>, at_s: Option<f64>) -> Option<Outcome> {
        if choice.is_some_and(|choice| choice >= self.kind().answers().len()) {
            return None;
        }
        let question = self.asked.take()?;
        let outcome = self.score.take(&question, choice, at_s);
        if choice.is_some() && !outcome.early {
            self.questions.learn(&question, outcome.right);
        }
        self.outcomes.push(outcome);
        Some(outcome)
    }

    /// Whether all questions have been answered, or enough is known.
    pub fn is_over(&self) -> bool {
        self.outcomes.len() >= self.wanted || self.questions.threshold().is_known()
    }

    /// The smallest change that is heard, for [`Kind::Threshold`].
    pub fn threshold(&self) -> Option<&Threshold> {
        (self.kind() == Kind::Threshold).then(|| self.questions.threshold())
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
        let first = drill.ask().unwrap();
        assert_eq!(drill.ask(), Some(first));
        assert_eq!(drill.answer(Some(99), Some(4.0)), None);
        assert!(drill.answer(Some(0), Some(9.0)).is_some());
        assert_eq!(drill.answer(Some(0), Some(9.0)), None);
        for choice in [Some(1), None] {
            drill.ask().unwrap();
            drill.answer(choice, Some(9.0)).unwrap();
        }
        assert!(drill.ask().is_none() && drill.is_over());
        assert_eq!(drill.outcomes().len(), 3);
    }

    /// Whoever hears every change is asked for less and less; blanks teach nothing.
    #[test]
    fn the_threshold_follows_the_answers_and_ends_when_it_is_known() {
        let mut drill = Drill::new(Kind::Threshold, 1, 100);
        let mut changes = Vec::new();
        while let Some(question) = drill.ask() {
            changes.push((question.after_mps - question.before_mps).abs());
            let choice = (changes.len() % 5 != 0).then_some(question.answer);
            drill.answer(choice, Some(9.0)).unwrap();
        }
        assert!(changes[0] > 0.4 && changes.last().is_some_and(|last| *last < 0.05), "{changes:?}");
        assert_eq!(changes[4], changes[5], "a blank has changed the question");
        assert!(drill.threshold().is_some_and(|threshold| threshold.mps() < 0.04));
    }
}
