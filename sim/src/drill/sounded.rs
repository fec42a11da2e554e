//! A drill with sound: its questions play through a session, whose flight pauses meanwhile, and
//! every answer is timed. The page and the terminal both use it.

use super::Drill;
use super::player::Player;
use super::question::Question;
use super::score::Outcome;
use crate::session::Session;
use chirrup_core::Voice;

/// Frames of left and right.
const EARS: usize = 2;

/// A drill, and the question being played.
#[derive(Clone)]
pub struct SoundedDrill {
    drill: Drill,
    /// Whether the number of a question is told before it, and not only that it begins.
    is_numbered: bool,
    sample_rate_hz: u32,
    /// The question, and how many frames of it have been played.
    sounding: Option<(Player, u64)>,
}

impl SoundedDrill {
    /// Before the first question; the sound has `sample_rate_hz` frames a second. A tick comes
    /// before each question.
    pub fn new(drill: Drill, sample_rate_hz: u32) -> Self {
        Self { drill, is_numbered: false, sample_rate_hz, sounding: None }
    }

    /// The same with the number of each question told in ticks, for a recording.
    pub fn numbered(drill: Drill, sample_rate_hz: u32) -> Self {
        Self { is_numbered: true, ..Self::new(drill, sample_rate_hz) }
    }

    /// Plays the next question, or the present one again; `None` once the drill is over.
    pub fn ask(&mut self) -> Option<Question> {
        let question = self.drill.ask();
        let ticks = if self.is_numbered { self.drill.outcomes().len() + 1 } else { 1 };
        self.sounding = question.map(|question| (Player::new(question, ticks), 0));
        question
    }

    /// How long the announcement of the question being played takes, s.
    pub fn lead_s(&self) -> f64 {
        self.sounding.as_ref().map_or(0.0, |(player, _)| player.lead_s())
    }

    /// Fills `frames` with the question, left and right interleaved, at the volume and with the
    /// cockpit noise of `session`; with silence when no question is playing.
    pub fn fill(&mut self, session: &mut Session, frames: &mut [i16]) {
        let sounding = &mut self.sounding;
        if let Some((player, _)) = sounding {
            player.set_volume(session.controls().volume as f32);
        }
        session.fill_with(frames, || {
            sounding.as_mut().map_or_else(Voice::default, |(player, _)| player.tick())
        });
        if let Some((_, played)) = sounding {
            *played += (frames.len() / EARS) as u64;
        }
    }

    /// Scores an answer given now, or a blank; `late_s` is the delay of the sound from here to the
    /// ear. `None` when no question is open or `choice` is out of range.
    pub fn answer(&mut self, choice: Option<usize>, late_s: f64) -> Option<Outcome> {
        let (player, played) = self.sounding.as_ref()?;
        let at_s = *played as f64 / f64::from(self.sample_rate_hz) - player.lead_s() - late_s;
        let outcome = self.drill.answer(choice, Some(at_s))?;
        self.sounding = None;
        Some(outcome)
    }

    /// The questions and answers so far.
    pub fn drill(&self) -> &Drill {
        &self.drill
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drill::question::Kind;

    const RATE_HZ: u32 = 24_000;

    /// As many frames as `seconds` take, 128 at a time.
    fn heard(seconds: u32, mut fill: impl FnMut(&mut [i16])) -> Vec<i16> {
        let mut all = vec![0; (seconds * RATE_HZ) as usize * EARS];
        all.chunks_mut(128 * EARS).for_each(&mut fill);
        all
    }

    #[test]
    fn a_drill_asks_sounds_and_times_the_answer_and_then_the_flight_goes_on() {
        let mut session = Session::new(RATE_HZ, 1);
        heard(3, |frames| session.fill(frames));
        let time_s = session.report().time_s;
        let mut drill = SoundedDrill::new(Drill::new(Kind::Changes, 2, 2), RATE_HZ);
        assert!(drill.ask().is_some());
        let sound = heard(6, |frames| drill.fill(&mut session, frames));
        assert!(sound.iter().any(|sample| sample.abs() > 1000));
        let lead_s = drill.lead_s();
        let outcome = drill.answer(Some(0), 0.1).expect("a question sounds");
        let since = 6.0 - lead_s - 0.1 - outcome.question.moment_s;
        assert!((outcome.reaction_s.expect("after the moment") - since).abs() < 0.01);
        assert_eq!(drill.answer(Some(0), 0.0), None, "nothing is asked");
        assert!(drill.ask().is_some());
        assert!(drill.answer(None, 0.0).is_some());
        assert!(drill.ask().is_none());
        assert_eq!(drill.drill().outcomes().len(), 2);
        heard(1, |frames| session.fill(frames));
        assert!((session.report().time_s - time_s - 1.0).abs() < 0.1);
    }
}
