//! Plays a question, tick by tick, with the core's own tone law.

use super::question::Question;
use chirrup_core::stages::{Heard, Sounder, SounderState};
use chirrup_core::{MetrePerSecond, TICK, ToneSettings, Voice};

/// A question being played.
#[derive(Clone, Debug)]
pub struct Player {
    question: Question,
    sounder: Sounder,
    state: SounderState,
    ticks: u64,
}

impl Player {
    /// Starts at the beginning, with the default tone.
    pub fn new(question: Question) -> Self {
        // The core's tests build its own default.
        let sounder = Sounder::new(&ToneSettings::default()).expect("the default tone is one");
        Self { question, sounder, state: SounderState::default(), ticks: 0 }
    }

    /// What sounds until the next control tick; silence after the end of the question.
    pub fn tick(&mut self) -> Voice {
        let seconds = self.seconds();
        if seconds < self.question.length_s() {
            let climb = MetrePerSecond(self.question.at(seconds) as f32);
            self.sounder.read(&mut self.state, Heard { climb, ..Heard::default() });
        } else {
            self.state.fall_silent();
        }
        self.ticks += 1;
        self.sounder.tick(&mut self.state, false)
    }

    /// Seconds since the question began.
    pub fn seconds(&self) -> f64 {
        self.ticks as f64 * TICK.0 as f64 * 1e-6
    }

    /// Whether it is over.
    pub fn has_ended(&self) -> bool {
        self.seconds() >= self.question.length_s()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drill::question::Kind;

    #[test]
    fn a_question_ends_in_silence() {
        let mut player = Player::new(Question {
            kind: Kind::Changes,
            before_mps: 2.0,
            after_mps: -3.0,
            moment_s: 2.0,
            answer: 3,
        });
        let gates: Vec<bool> = (0..3_500).map(|_| player.tick().gate).collect();
        assert!(gates[..2_990].iter().rev().take(500).all(|gate| *gate), "the sink tone is steady");
        assert!(gates[3_050..].iter().all(|gate| !gate));
    }
}
