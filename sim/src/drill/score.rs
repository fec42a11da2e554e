//! The score: right and wrong answers, which were confused, and the reaction times.

use super::question::{Kind, MOST_ANSWERS, Question};

/// The result of one question.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outcome {
    /// What was asked.
    pub question: Question,
    /// The answer that was given, by its place in [`Kind::answers`]; `None` for a blank.
    pub given: Option<usize>,
    /// It was right, and not given before the change could be heard.
    pub right: bool,
    /// It was given before the change could be heard.
    pub early: bool,
    /// Time from the question's moment to the answer, s; `None` if the answer came earlier or its
    /// time is unknown.
    pub reaction_s: Option<f64>,
}

/// What has been answered so far.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Score {
    kind: Kind,
    /// Counts by right answer, then by given answer; blanks come last.
    taken: [[u32; MOST_ANSWERS + 1]; MOST_ANSWERS],
    right: u32,
    early: u32,
    reaction_sum_s: f64,
    reactions: u32,
}

impl Score {
    /// Nothing so far.
    pub fn new(kind: Kind) -> Self {
        Self {
            kind,
            taken: [[0; MOST_ANSWERS + 1]; MOST_ANSWERS],
            right: 0,
            early: 0,
            reaction_sum_s: 0.0,
            reactions: 0,
        }
    }

    /// Scores an answer given `at_s` after the question began, `None` for one on paper. An answer
    /// before the question's moment is a guess and counts as wrong; a blank is not right either.
    pub fn take(
        &mut self,
        question: &Question,
        given: Option<usize>,
        at_s: Option<f64>,
    ) -> Outcome {
        let since = at_s.filter(|_| given.is_some()).map(|at| at - question.moment_s);
        let early = since.is_some_and(|since| since <= 0.0);
        let reaction_s = since.filter(|_| !early);
        let right = given == Some(question.answer) && !early;
        let place = given.unwrap_or(MOST_ANSWERS);
        if let Some(count) = self.taken.get_mut(question.answer).and_then(|row| row.get_mut(place))
        {
            *count += 1;
        }
        self.right += u32::from(right);
        self.early += u32::from(early);
        if let Some(seconds) = reaction_s.filter(|_| right) {
            self.reaction_sum_s += seconds;
            self.reactions += 1;
        }
        Outcome { question: *question, given, right, early, reaction_s }
    }

    /// The kind of question.
    pub fn kind(&self) -> Kind {
        self.kind
    }

    /// How many answers were right.
    pub fn right(&self) -> u32 {
        self.right
    }

    /// How many were given before the change could be heard.
    pub fn early(&self) -> u32 {
        self.early
    }

    /// How many answers there are.
    pub fn total(&self) -> u32 {
        self.taken.iter().flatten().sum()
    }

    /// How many were left blank.
    pub fn blank(&self) -> u32 {
        self.taken.iter().map(|row| row[MOST_ANSWERS]).sum()
    }

    /// How often there was no answer where `asked` was right.
    pub fn blank_of(&self, asked: usize) -> u32 {
        self.taken[asked][MOST_ANSWERS]
    }

    /// How many right answers guessing gets on average.
    pub fn by_guessing(&self) -> f64 {
        f64::from(self.total()) * self.kind.chance()
    }

    /// Whether guessing gets as many right answers or more in over one of twenty drills: the upper
    /// tail of the binomial distribution.
    pub fn may_be_luck(&self) -> bool {
        let (total, chance) = (self.total(), self.kind.chance());
        // The probability of no right answer at all, then of one more each time.
        let mut exactly = libm::pow(1.0 - chance, f64::from(total));
        let mut fewer = 0.0;
        for right in 0..self.right {
            fewer += exactly;
            exactly *= f64::from(total - right) / f64::from(right + 1) * chance / (1.0 - chance);
        }
        1.0 - fewer > 0.05
    }

    /// How often `given` was the answer where `asked` was right.
    pub fn taken(&self, asked: usize, given: usize) -> u32 {
        self.taken[asked][given]
    }

    /// Mean time to the right answers, s.
    pub fn mean_reaction_s(&self) -> Option<f64> {
        (self.reactions > 0).then(|| self.reaction_sum_s / f64::from(self.reactions))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const STRONGER: Question = Question {
        kind: Kind::Changes,
        before_mps: 1.0,
        after_mps: 2.0,
        moment_s: 3.0,
        answer: 2,
        flight_seed: 0,
    };

    #[test]
    fn right_and_wrong_are_counted_by_right_and_given_answer() {
        let mut score = Score::new(Kind::Changes);
        assert!(score.take(&STRONGER, Some(2), Some(4.0)).right);
        assert!(score.take(&STRONGER, Some(2), Some(5.0)).right);
        assert!(!score.take(&STRONGER, Some(0), Some(3.5)).right);
        assert_eq!(
            (score.right(), score.total(), score.taken(2, 2), score.taken(2, 0)),
            (2, 3, 2, 1)
        );
        // Of the right ones: 1 s and 2 s.
        assert_eq!(score.mean_reaction_s(), Some(1.5));
    }

    #[test]
    fn an_answer_on_paper_is_right_or_wrong_and_has_no_time() {
        let mut score = Score::new(Kind::Changes);
        let outcome = score.take(&STRONGER, Some(2), None);
        assert_eq!(
            (outcome.right, outcome.early, outcome.reaction_s, score.mean_reaction_s()),
            (true, false, None, None)
        );
    }

    #[test]
    fn a_blank_counts_as_asked_and_is_neither_right_nor_early() {
        let mut score = Score::new(Kind::Changes);
        let outcome = score.take(&STRONGER, None, Some(1.0));
        assert_eq!((outcome.right, outcome.early, outcome.reaction_s), (false, false, None));
        assert_eq!((score.total(), score.blank(), score.blank_of(2)), (1, 1, 1));
    }

    /// By the table of the binomial distribution for 12 tries of one quarter: 6 or more with 5.4 %,
    /// 7 or more with 1.4 %.
    #[test]
    fn seven_of_twelve_is_no_luck_and_six_may_be() {
        for (right, may_be) in [(0, true), (6, true), (7, false), (12, false)] {
            let mut score = Score::new(Kind::Changes);
            for place in 0..12 {
                score.take(&STRONGER, Some(if place < right { 2 } else { 0 }), None);
            }
            assert_eq!((score.may_be_luck(), score.by_guessing()), (may_be, 3.0), "{right}");
        }
    }

    #[test]
    fn an_answer_before_the_moment_is_a_guess_and_wrong() {
        let mut score = Score::new(Kind::Changes);
        let outcome = score.take(&STRONGER, Some(2), Some(2.9));
        assert_eq!((outcome.right, outcome.reaction_s), (false, None));
        assert_eq!((score.right(), score.early(), score.mean_reaction_s()), (0, 1, None));
    }
}
