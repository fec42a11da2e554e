//! The questions: what is hidden, and which answer is right.
//!
//! Every answer is drawn by itself, whatever was asked before: whoever counts the answers so far
//! knows nothing of the next.

use super::threshold::Threshold;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// The most answers that a kind has.
pub const MOST_ANSWERS: usize = 5;
/// How long a change takes, s: a glider crossing the edge of a thermal (a guess).
const CHANGE_S: f64 = 0.6;
/// How long a question sounds after its moment, s.
const AFTER_S: f64 = 4.0;
/// The same in a flight, whose filter takes its time.
const AFTER_IN_FLIGHT_S: f64 = 6.0;
/// The climbs about which [`Kind::Threshold`] asks, m/s: from one to another of these, so that the
/// first note alone gives no answer away.
const ABOUT_MPS: [f64; 2] = [1.6, 2.4];

/// The kind of question.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// How fast it climbs or sinks.
    Speeds,
    /// How a climb changes.
    Changes,
    /// How a climb changes, heard through sensors and filter in a flight.
    Flights,
    /// Whether a climb gets weaker or stronger, by as much as the ear can just tell.
    Threshold,
}

impl Kind {
    /// All, in the order of their numbers.
    pub const ALL: [Kind; 4] = [Kind::Speeds, Kind::Changes, Kind::Flights, Kind::Threshold];

    /// One word.
    pub fn name(self) -> &'static str {
        match self {
            Kind::Speeds => "speeds",
            Kind::Changes => "changes",
            Kind::Flights => "flights",
            Kind::Threshold => "threshold",
        }
    }

    /// The question in words.
    pub fn asks(self) -> &'static str {
        match self {
            Kind::Speeds => "What does the glider do?",
            Kind::Changes | Kind::Flights => "How does the climb change?",
            Kind::Threshold => "Does the climb get weaker or stronger?",
        }
    }

    /// The answers to choose from.
    pub fn answers(self) -> &'static [&'static str] {
        match self {
            Kind::Speeds => {
                &["steep sink", "nothing to tell", "weak climb", "good climb", "strong climb"]
            }
            Kind::Changes | Kind::Flights => &["weaker", "the same", "stronger", "lift to sink"],
            Kind::Threshold => &["weaker", "stronger"],
        }
    }

    /// The share of right answers that guessing gets.
    pub fn chance(self) -> f64 {
        1.0 / self.answers().len() as f64
    }

    /// How many questions a drill has where nobody says how many; [`Kind::Threshold`] ends earlier
    /// where it knows enough.
    pub fn usual_questions(self) -> usize {
        match self {
            Kind::Threshold => 100,
            _ => 12,
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
    /// Random seed of the air and the sensors of a flight; 0 where there is none.
    pub flight_seed: u64,
}

impl Question {
    /// The hidden vertical speed at a time after the question's start, m/s.
    pub fn at(&self, seconds: f64) -> f64 {
        let share = ((seconds - self.moment_s) / CHANGE_S).clamp(0.0, 1.0);
        self.before_mps + share * (self.after_mps - self.before_mps)
    }

    /// How long it sounds, s.
    pub fn length_s(&self) -> f64 {
        let after_s = if self.kind == Kind::Flights { AFTER_IN_FLIGHT_S } else { AFTER_S };
        self.moment_s + after_s
    }
}

/// An endless supply of questions.
#[derive(Clone, Debug)]
pub struct Questions {
    kind: Kind,
    rng: ChaCha8Rng,
    threshold: Threshold,
}

impl Questions {
    /// Questions of one kind; the same seed and answers give the same ones.
    pub fn new(kind: Kind, seed: u64) -> Self {
        let rng = ChaCha8Rng::seed_from_u64(seed);
        Self { kind, rng, threshold: Threshold::default() }
    }

    /// The next one.
    #[allow(clippy::should_implement_trait, reason = "it never ends, so it is not an iterator")]
    pub fn next(&mut self) -> Question {
        let answer = self.rng.next_u32() as usize % self.kind.answers().len();
        match self.kind {
            Kind::Speeds => self.speed(answer),
            Kind::Changes => self.change(answer, 0),
            Kind::Flights => {
                let seed = u64::from(self.rng.next_u32());
                self.change(answer, seed)
            }
            Kind::Threshold => self.small_change(answer),
        }
    }

    /// Takes what was answered into account: [`Kind::Threshold`] asks for less after a right answer
    /// and for more after a wrong one.
    pub fn learn(&mut self, question: &Question, right: bool) {
        if self.kind == Kind::Threshold {
            self.threshold.learn((question.after_mps - question.before_mps).abs(), right);
        }
    }

    /// The smallest change that is heard, as far as the answers tell.
    pub fn threshold(&self) -> &Threshold {
        &self.threshold
    }

    fn speed(&mut self, answer: usize) -> Question {
        let speed_mps = match answer {
            0 => self.between(-4.5, -2.0),
            1 => self.between(-1.2, 0.0),
            2 => self.between(0.4, 0.9),
            3 => self.between(1.6, 2.4),
            _ => self.between(3.6, 5.5),
        };
        self.question(answer, [speed_mps, speed_mps], 0.0)
    }

    fn change(&mut self, answer: usize, flight_seed: u64) -> Question {
        let before_mps = self.between(1.0, 3.0);
        let after_mps = match answer {
            0 => before_mps * self.between(0.35, 0.6),
            1 => before_mps,
            2 => before_mps * self.between(1.6, 2.2),
            _ => self.between(-3.5, -2.0),
        };
        let moment_s = self.between(2.0, 5.0);
        Question { flight_seed, ..self.question(answer, [before_mps, after_mps], moment_s) }
    }

    fn small_change(&mut self, answer: usize) -> Question {
        let [least_mps, most_mps] = ABOUT_MPS;
        let about_mps = self.between(least_mps, most_mps);
        let half = 0.5 * self.threshold.ask_mps() * if answer == 0 { -1.0 } else { 1.0 };
        let moment_s = self.between(1.5, 2.5);
        self.question(answer, [about_mps - half, about_mps + half], moment_s)
    }

    fn question(
        &self,
        answer: usize,
        [before_mps, after_mps]: [f64; 2],
        moment_s: f64,
    ) -> Question {
        Question { kind: self.kind, before_mps, after_mps, moment_s, answer, flight_seed: 0 }
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

    /// Pearson's test: with up to four degrees of freedom 23.5 is exceeded once in ten thousand
    /// times (tables of the chi-square distribution).
    #[test]
    fn every_answer_is_right_equally_often_and_none_follows_from_the_one_before() {
        for kind in Kind::ALL {
            let answers = kind.answers().len();
            let asked = asked(kind, 1, 2_000);
            let mut after = vec![vec![0_u32; answers]; answers];
            for pair in asked.windows(2) {
                after[pair[0].answer][pair[1].answer] += 1;
            }
            for counts in after {
                let expected = f64::from(counts.iter().sum::<u32>()) / answers as f64;
                let squares = counts.iter().map(|count| (f64::from(*count) - expected).powi(2));
                let chi_square = squares.sum::<f64>() / expected;
                assert!(chi_square < 23.5, "{kind:?}: {counts:?}");
            }
        }
    }

    /// Always the answer that came least often so far: it knows more than chance only where the
    /// draws depend on each other.
    #[test]
    fn a_deaf_pupil_who_counts_is_right_by_chance() {
        for kind in [Kind::Speeds, Kind::Changes, Kind::Flights] {
            let (answers, drills, length) = (kind.answers().len(), 1_000, 12);
            let right: usize = (0..drills)
                .map(|seed| {
                    let mut came = vec![0; answers];
                    let is_right = |question: &Question| {
                        let least = came.iter().min();
                        let said = came.iter().position(|count| Some(count) == least);
                        came[question.answer] += 1;
                        said == Some(question.answer)
                    };
                    asked(kind, seed, length).iter().map(is_right).filter(|right| *right).count()
                })
                .sum();
            let asked = (drills as usize * length) as f64;
            let chance = kind.chance();
            let deviation = (asked * chance * (1.0 - chance)).sqrt();
            assert!((right as f64 - asked * chance).abs() < 3.0 * deviation, "{kind:?}: {right}");
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
            let mut player = Player::new(question, 0);
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
