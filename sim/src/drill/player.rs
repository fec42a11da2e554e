//! Plays a question, tick by tick: its announcement, then the core's own sound.

use super::announced::Announcement;
use super::flown::Flown;
use super::question::{Kind, Question};
use chirrup_core::stages::{Heard, Sounder, SounderState};
use chirrup_core::{MetrePerSecond, TICK, ToneSettings, Voice, level_of_volume};

/// What makes the sound of a hidden vertical speed.
#[derive(Clone)]
enum Voiced {
    /// The tone law alone.
    Law { sounder: Box<Sounder>, state: SounderState },
    /// A whole instrument in a flight.
    Flight(Box<Flown>),
}

/// A question being played.
#[derive(Clone)]
pub struct Player {
    question: Question,
    announcement: Announcement,
    voiced: Voiced,
    volume: f32,
    ticks: u64,
}

impl Player {
    /// Starts with the ticks of a number, see [`Announcement::of`], with the default tone.
    pub fn new(question: Question, ticks: usize) -> Self {
        let voiced = if question.kind == Kind::Flights {
            Voiced::Flight(Box::new(Flown::new(&question)))
        } else {
            // The core's tests build its own default.
            let sounder = Sounder::new(&ToneSettings::default()).expect("the default tone is one");
            Voiced::Law { sounder: Box::new(sounder), state: SounderState::default() }
        };
        let announcement = Announcement::of(ticks);
        Self { question, announcement, voiced, volume: ToneSettings::default().volume, ticks: 0 }
    }

    /// Sets the volume, 0 to 10, from now on.
    pub fn set_volume(&mut self, volume: f32) {
        self.volume = volume;
    }

    /// What sounds until the next control tick; silence after the end of the question.
    pub fn tick(&mut self) -> Voice {
        let seconds = self.seconds();
        let full = level_of_volume(self.volume);
        let voice = if seconds < 0.0 {
            self.announcement.voice(seconds + self.lead_s(), 0.5 * full)
        } else {
            let voice = self.voiced.tick(&self.question, seconds);
            let usual = level_of_volume(ToneSettings::default().volume);
            Voice { level: voice.level * full / usual, ..voice }
        };
        self.ticks += 1;
        voice
    }

    /// How long the announcement takes, s.
    pub fn lead_s(&self) -> f64 {
        seconds_of(self.announcement.ticks())
    }

    /// Seconds since the question began; below 0 during its announcement.
    pub fn seconds(&self) -> f64 {
        seconds_of(self.ticks) - self.lead_s()
    }

    /// Whether it is over.
    pub fn has_ended(&self) -> bool {
        self.seconds() >= self.question.length_s()
    }
}

impl Voiced {
    fn tick(&mut self, question: &Question, seconds: f64) -> Voice {
        let is_over = seconds >= question.length_s();
        match self {
            Voiced::Law { sounder, state } => {
                if is_over {
                    state.fall_silent();
                } else {
                    let climb = MetrePerSecond(question.at(seconds) as f32);
                    sounder.read(state, Heard { climb, ..Heard::default() });
                }
                sounder.tick(state, false)
            }
            Voiced::Flight(_) if is_over => Voice::default(),
            Voiced::Flight(flown) => flown.tick(question.at(seconds)),
        }
    }
}

fn seconds_of(ticks: u64) -> f64 {
    ticks as f64 * TICK.0 as f64 * 1e-6
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::Meaning;

    fn question(kind: Kind) -> Question {
        Question {
            kind,
            before_mps: 2.0,
            after_mps: -3.0,
            moment_s: 2.0,
            answer: 3,
            flight_seed: 5,
        }
    }

    fn played(kind: Kind, ticks: usize, seconds: f64) -> Vec<Voice> {
        let mut player = Player::new(question(kind), ticks);
        (0..(seconds * 500.0) as usize).map(|_| player.tick()).collect()
    }

    #[test]
    fn a_question_ends_in_silence() {
        for kind in [Kind::Changes, Kind::Flights] {
            let length_s = question(kind).length_s();
            let voices = played(kind, 0, length_s + 1.0);
            let end = (length_s * 500.0) as usize;
            assert!(voices[end - 500..end - 10].iter().all(|v| v.gate), "the sink tone is steady");
            assert!(voices[end + 50..].iter().all(|voice| !voice.gate));
        }
    }

    /// The filter of a flight takes its time, the tone law alone does not.
    #[test]
    fn in_a_flight_the_sink_is_heard_later() {
        let first_sink = |kind| {
            let is_sink = |voice: &Voice| voice.gate && voice.meaning == Meaning::Sink;
            let voices = played(kind, 0, 8.0);
            voices.iter().position(is_sink).expect("it sinks") as f64 / 500.0
        };
        let (law_s, flight_s) = (first_sink(Kind::Changes), first_sink(Kind::Flights));
        assert!((2.0..2.8).contains(&law_s), "{law_s}");
        assert!(flight_s > law_s + 0.1 && flight_s < 5.0, "{flight_s}");
    }

    #[test]
    fn an_announcement_comes_before_the_question_and_moves_it() {
        let player = Player::new(question(Kind::Changes), 3);
        assert!(player.lead_s() > 1.0 && player.seconds() == -player.lead_s());
        let lead = (player.lead_s() * 500.0).round() as usize;
        let told = played(Kind::Changes, 3, player.lead_s() + 3.0);
        let bare = played(Kind::Changes, 0, 3.0);
        assert_eq!(told[lead..lead + 1_400], bare[..1_400]);
    }

    #[test]
    fn a_step_of_the_volume_is_3_db_at_once() {
        let mut player = Player::new(question(Kind::Changes), 0);
        let usual = player.tick().level;
        player.set_volume(9.0);
        assert!((20.0 * (player.tick().level / usual).log10() - 3.0).abs() < 0.01);
        player.set_volume(0.0);
        assert_eq!(player.tick().level, 0.0);
    }
}
