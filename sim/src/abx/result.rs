//! The result, for people and programs.

use super::request::Request;
use super::rounds::{Round, Side, Test};
use super::score::{Interval, interval, least_right, p_of_guessing};
use crate::error::{Error, Result};
use crate::text_table::{Column, Table};
use crate::time::Clock;
use serde::Serialize;
use std::fmt;

/// What guessing reaches in fewer tries than this is called heard (common practice).
const SURE: f64 = 0.05;

/// A round and its answer.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Answered {
    /// Its number, from 1.
    pub round: usize,
    /// Where the passage begins in the trace, s.
    pub from_s: f64,
    /// What X was.
    pub x: Side,
    /// What was said.
    pub answer: Side,
    /// Whether they are the same.
    pub right: bool,
}

/// The score.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AbxResult {
    /// The first settings, as the user named them.
    pub a: String,
    /// The second.
    pub b: String,
    /// The trace.
    pub trace: String,
    /// The seed of the rounds.
    pub seed: u64,
    /// How many rounds were planned.
    pub planned: usize,
    /// Those that were answered.
    pub rounds: Vec<Answered>,
    /// How many answers there are.
    pub answered: u32,
    /// How many of them are right.
    pub right: u32,
    /// Share of right answers, 0 to 1; guessing has 0.5.
    pub share: f64,
    /// The same with 95 % confidence, by Wilson's interval.
    pub share_95: Interval,
    /// How probable so many right answers or more are by guessing (binomial, one-sided).
    pub p_of_guessing: f64,
}

impl AbxResult {
    /// Scores the first rounds of a test.
    ///
    /// # Errors
    /// When there is no answer.
    pub fn new(request: &Request, test: &Test, answers: &[Side]) -> Result<Self> {
        if answers.is_empty() {
            return Err(Error::Refused("no round was answered; there is no score".into()));
        }
        let answered = |(place, (round, answer)): (usize, (&Round, &Side))| Answered {
            round: place + 1,
            from_s: test.from_s(round),
            x: round.x,
            answer: *answer,
            right: round.x == *answer,
        };
        let rounds: Vec<Answered> =
            test.rounds.iter().zip(answers).enumerate().map(answered).collect();
        let total = rounds.len() as u32;
        let right = rounds.iter().filter(|round| round.right).count() as u32;
        Ok(Self {
            a: request.a.name.clone(),
            b: request.b.name.clone(),
            trace: request.input.name(),
            seed: request.seed,
            planned: test.rounds.len(),
            rounds,
            answered: total,
            right,
            share: f64::from(right) / f64::from(total),
            share_95: interval(right, total),
            p_of_guessing: p_of_guessing(right, total),
        })
    }

    /// What it means.
    fn verdict(&self) -> String {
        if self.p_of_guessing <= SURE {
            return "The ear told A from B.".into();
        }
        match least_right(self.answered) {
            Some(least) => format!(
                "Not sure that the ear told A from B: that takes {least} of {} right. It may be \
                 too small a difference, or too few rounds.",
                self.answered
            ),
            None => "Too few answers to be sure of anything: it takes at least 5.".into(),
        }
    }
}

impl fmt::Display for AbxResult {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { right, answered, planned, share, share_95, p_of_guessing, .. } = self;
        writeln!(f, "A: {}\nB: {}\n", self.a, self.b)?;
        let mut table = Table::new([
            Column::right("round").gap(0),
            Column::right("at"),
            Column::left("X was"),
            Column::left("you said"),
            Column::left(""),
        ]);
        for Answered { round, from_s, x, answer, right } in &self.rounds {
            let word = if *right { "right" } else { "wrong" };
            let at = Clock(*from_s).to_string();
            table.row([round.to_string(), at, x.to_string(), answer.to_string(), word.into()]);
        }
        writeln!(f, "{table}")?;
        let percent = |share: f64| 100.0 * share;
        let ended = if *answered as usize == *planned {
            String::new()
        } else {
            format!(" (ended early, {planned} were planned)")
        };
        writeln!(f, "{right} of {answered} right{ended}")?;
        writeln!(
            f,
            "guessing gets so many right or more in {:.2} % of tries (binomial, one-sided p = \
             {:.4})",
            percent(*p_of_guessing),
            p_of_guessing
        )?;
        writeln!(
            f,
            "share right {:.0} %, with 95 % confidence {:.0} to {:.0} % (Wilson's interval); \
             guessing has 50 %",
            percent(*share),
            percent(share_95.lowest),
            percent(share_95.highest)
        )?;
        writeln!(f, "{}", self.verdict())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::abx::Passage;
    use crate::input::Input;
    use crate::settings_file;
    use chirrup_core::Settings;

    fn result(wrong: &[usize], answered: usize) -> Result<AbxResult> {
        let instrument = |name| settings_file::build(name, Settings::default()).unwrap();
        let request = Request {
            input: Input::Embedded { name: "flight", text: "" },
            columns: Default::default(),
            from: None,
            to: None,
            a: instrument("one"),
            b: instrument("two"),
            rounds: 12,
            seed: 3,
        };
        let passage = Passage { tick: 0, from_s: 80.0, difference: 1.0 };
        let test = Test::new(3, 12, vec![passage]);
        let other = |side| if side == Side::A { Side::B } else { Side::A };
        let answer = |(place, round): (usize, &Round)| {
            if wrong.contains(&place) { other(round.x) } else { round.x }
        };
        let answers: Vec<Side> =
            test.rounds.iter().enumerate().map(answer).take(answered).collect();
        AbxResult::new(&request, &test, &answers)
    }

    #[test]
    fn ten_of_twelve_are_heard_and_nine_are_not() {
        let ten = result(&[2, 5], 12).unwrap();
        assert_eq!((ten.right, ten.answered, ten.p_of_guessing), (10, 12, 79.0 / 4096.0));
        let text = ten.to_string();
        assert!(text.contains("10 of 12 right\n") && text.contains("p = 0.0193"), "{text}");
        assert!(text.contains("83 %, with 95 % confidence 55 to 95 %"), "{text}");
        assert!(text.ends_with("The ear told A from B.\n"), "{text}");
        assert!(!ten.rounds[2].right && ten.rounds[3].right);
        let nine = result(&[2, 5, 7], 12).unwrap().to_string();
        assert!(nine.contains("Not sure") && nine.contains("that takes 10 of 12"), "{nine}");
    }

    #[test]
    fn an_early_end_scores_what_was_answered_and_nothing_has_no_score() {
        let early = result(&[], 4).unwrap();
        assert_eq!((early.right, early.answered, early.p_of_guessing), (4, 4, 1.0 / 16.0));
        let text = early.to_string();
        assert!(text.contains("4 of 4 right (ended early, 12 were planned)"), "{text}");
        assert!(text.contains("it takes at least 5"), "{text}");
        assert!(result(&[], 0).unwrap_err().to_string().contains("no round was answered"));
    }
}
