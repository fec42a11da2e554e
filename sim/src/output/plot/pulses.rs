//! The sound over time: every stretch from the opening of the gate to its closing, and the ten
//! seconds of the close-up.

use super::bins::Channel;
use crate::ears::Ears;
use chirrup_core::{Meaning, Sound, TICKS_PER_SECOND, Voice};
use std::collections::VecDeque;

/// Length of the close-up in seconds: some ten slow beeps, and no more than seventy quick ones,
/// each still visible.
pub const CLOSE_UP_S: usize = 10;
/// Pulses kept from the start: three times as many as the quickest beeps the core can make (14 a
/// second) in a trace so short that all of them are drawn.
const KEPT: usize = 2_048;
/// A jump of pitch by a semitone within one tick divides a pulse, so that steps are drawn as steps.
const SEMITONE: f32 = 1.059_463;
/// The longest silence between two beeps of one climb: a beep in 2 s that sounds for a tenth of it.
const LONGEST_PAUSE_TICKS: u64 = 2 * TICKS_PER_SECOND as u64;

/// Which of the two sounds a pulse is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A beep of the climb sound.
    Beep,
    /// A stretch of the steady sink tone.
    Steady,
}

/// From the opening of the gate to its closing, or a part of that with no jump of pitch in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pulse {
    /// Whether the gate was open before: not a new beep.
    pub continued: bool,
    /// A beep or the steady tone.
    pub kind: Kind,
    /// The tick at which the gate opened, or the pitch jumped.
    pub from: u64,
    /// The tick at which it closed.
    pub to: u64,
    /// Pitch at the opening, in hertz.
    pub first_hz: f32,
    /// Pitch at the closing, in hertz.
    pub last_hz: f32,
}

/// What one instrument sounded.
#[derive(Clone, Debug, Default)]
pub struct Pulses {
    /// Pitch of the beeps over time, joined from beep to beep while a climb lasts.
    pub beep_hz: Channel,
    /// Pitch of the steady tone over time.
    pub steady_hz: Channel,
    asked: Sound,
    /// The kind of sound has changed since the last beep.
    interrupted: bool,
    open: Option<Pulse>,
    last_beep_end: Option<u64>,
    from_the_start: Vec<Pulse>,
    lately: VecDeque<Pulse>,
}

impl Pulses {
    /// The instrument's tone from now on.
    pub fn ask(&mut self, sound: Sound) {
        self.interrupted |= !matches!(sound, Sound::Beeps { .. });
        self.asked = sound;
    }

    /// One tick of sound or silence in the column `place`.
    pub fn tick(&mut self, tick: u64, place: usize, voice: Voice) {
        // A fault call has no vertical speed to be drawn at.
        if !voice.gate || voice.meaning == Meaning::Fault {
            return self.close();
        }
        let hz = voice.pitch.0;
        let mut pulse = match self.open {
            None => self.begin(tick, hz),
            Some(pulse) if is_jump(pulse.last_hz, hz) => {
                self.keep(pulse);
                Pulse { continued: true, from: tick, first_hz: hz, ..pulse }
            }
            Some(pulse) => pulse,
        };
        (pulse.to, pulse.last_hz) = (tick + 1, hz);
        self.open = Some(pulse);
        match pulse.kind {
            Kind::Beep => self.beep_hz.add(place, hz),
            Kind::Steady => self.steady_hz.add(place, hz),
        }
    }

    /// Silence begins, if it was not silent already.
    pub fn close(&mut self) {
        let Some(pulse) = self.open.take() else { return };
        if pulse.kind == Kind::Beep {
            self.last_beep_end = Some(pulse.to);
            self.interrupted = false;
        }
        self.keep(pulse);
    }

    fn keep(&mut self, pulse: Pulse) {
        if self.from_the_start.len() < KEPT {
            self.from_the_start.push(pulse);
        }
        let forget = pulse.to.saturating_sub((CLOSE_UP_S as u64 + 1) * u64::from(TICKS_PER_SECOND));
        while self.lately.front().is_some_and(|old| old.to < forget) {
            self.lately.pop_front();
        }
        self.lately.push_back(pulse);
    }

    /// Makes one column of each pair.
    pub fn fold(&mut self) {
        self.beep_hz.fold();
        self.steady_hz.fold();
    }

    /// Every pulse so far, if there were few enough to keep.
    pub fn all(&self) -> Option<Vec<Pulse>> {
        (self.from_the_start.len() < KEPT)
            .then(|| self.from_the_start.iter().copied().chain(self.open).collect())
    }

    /// The memory it takes.
    #[cfg(test)]
    pub fn bytes(&self) -> usize {
        let pulses = self.from_the_start.capacity() + self.lately.capacity();
        pulses * size_of::<Pulse>() + self.beep_hz.bytes() + self.steady_hz.bytes()
    }

    /// The pulses that sounded between two ticks of the last ten seconds, cut to them.
    fn between(&self, from: u64, to: u64) -> Vec<Pulse> {
        let heard = self
            .lately
            .iter()
            .copied()
            .chain(self.open)
            .filter(|pulse| pulse.to > from && pulse.from < to);
        heard
            .map(|pulse| Pulse { from: pulse.from.max(from), to: pulse.to.min(to), ..pulse })
            .collect()
    }

    fn begin(&mut self, tick: u64, pitch_hz: f32) -> Pulse {
        // Between the two sounds the gate is always closed, so a pulse is of one kind from end to
        // end.
        let kind =
            if matches!(self.asked, Sound::Steady { .. }) { Kind::Steady } else { Kind::Beep };
        let pause = self.last_beep_end.map_or(u64::MAX, |end| tick - end);
        match kind {
            Kind::Beep if self.interrupted || pause > LONGEST_PAUSE_TICKS => self.beep_hz.cut(),
            Kind::Beep => {}
            Kind::Steady => self.steady_hz.cut(),
        }
        Pulse {
            continued: false,
            kind,
            from: tick,
            to: tick,
            first_hz: pitch_hz,
            last_hz: pitch_hz,
        }
    }
}

fn is_jump(from_hz: f32, to_hz: f32) -> bool {
    to_hz > from_hz * SEMITONE || from_hz > to_hz * SEMITONE
}

/// Ten seconds of sound, every pulse of them.
#[derive(Clone, Debug, PartialEq)]
pub struct CloseUp {
    /// The tick at which it begins.
    pub from: u64,
    /// The tick at which it ends.
    pub to: u64,
    /// Mean of the vertical speed that sounded, without its two highest seconds, in m/s; the
    /// instrument's average where that is less.
    pub climb_mps: f32,
    /// What each instrument sounded.
    pub pulses: Ears<Vec<Pulse>>,
}

/// Looks for the ten seconds of the strongest climb while the trace goes by, in steps of a second.
///
/// The strongest by the lesser of the ten seconds' mean and the instrument's average at their end,
/// so that a spike in the pressure is not a climb.
#[derive(Clone, Debug, Default)]
pub struct ClimbFinder {
    seconds: VecDeque<f32>,
    sum_mps: f32,
    ticks: u32,
    best: Option<CloseUp>,
}

impl ClimbFinder {
    /// One tick at the vertical speed that sounds; the climb of the ten seconds that end with it,
    /// if it is the best so far.
    pub fn tick(&mut self, heard_mps: f32, average_mps: Option<f32>) -> Option<f32> {
        self.sum_mps += heard_mps;
        self.ticks += 1;
        if self.ticks < TICKS_PER_SECOND {
            return None;
        }
        if self.seconds.len() == CLOSE_UP_S {
            self.seconds.pop_front();
        }
        self.seconds.push_back(self.sum_mps / TICKS_PER_SECOND as f32);
        (self.sum_mps, self.ticks) = (0.0, 0);
        let mean_mps = mean_without_peaks(&self.seconds);
        let climb_mps = average_mps.map_or(mean_mps, |average_mps| mean_mps.min(average_mps));
        let is_best = self.best.as_ref().is_none_or(|best| climb_mps > best.climb_mps);
        (self.seconds.len() == CLOSE_UP_S && is_best).then_some(climb_mps)
    }

    /// There is no reading: no ten seconds may span this.
    pub fn start_afresh(&mut self) {
        self.seconds.clear();
        (self.sum_mps, self.ticks) = (0.0, 0);
    }

    /// Keeps the ten seconds that end before the tick `to`, if there was a beep in them.
    pub fn keep(&mut self, to: u64, climb_mps: f32, pulses: Ears<&Pulses>) {
        let from = to.saturating_sub(CLOSE_UP_S as u64 * u64::from(TICKS_PER_SECOND));
        let pulses = pulses.map(|pulses| pulses.between(from, to));
        if pulses.iter().flatten().any(|pulse| pulse.kind == Kind::Beep) {
            self.best = Some(CloseUp { from, to, climb_mps, pulses });
        }
    }

    /// The best ten seconds, where there was a beep in any.
    pub fn best(&self) -> Option<&CloseUp> {
        self.best.as_ref()
    }
}

fn mean_without_peaks(values: &VecDeque<f32>) -> f32 {
    let mut sorted: Vec<f32> = values.iter().copied().collect();
    sorted.sort_by(f32::total_cmp);
    sorted.truncate(values.len().saturating_sub(2).max(1));
    sorted.iter().sum::<f32>() / sorted.len() as f32
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::Hertz;

    const BEEPS: Sound =
        Sound::Beeps { pitch: Hertz(700.0), cadence: Hertz(2.0), on_fraction: 0.5 };
    const STEADY: Sound = Sound::Steady { pitch: Hertz(300.0) };

    /// Open for `on` of every `cycle` ticks.
    fn sound(pulses: &mut Pulses, ticks: std::ops::Range<u64>, on: u64, cycle: u64, pitch_hz: f32) {
        let begin = ticks.start;
        for tick in ticks {
            let gate = (tick - begin) % cycle < on;
            pulses.tick(
                tick,
                tick as usize / 10,
                Voice { pitch: Hertz(pitch_hz), gate, ..Voice::default() },
            );
        }
    }

    #[test]
    fn each_opening_of_the_gate_is_a_pulse_of_one_kind() {
        let mut pulses = Pulses::default();
        pulses.ask(BEEPS);
        sound(&mut pulses, 0..500, 125, 250, 700.0);
        pulses.ask(STEADY);
        sound(&mut pulses, 500..900, 400, 400, 300.0);
        let all = pulses.all().unwrap();
        let expected = [(Kind::Beep, 0, 125), (Kind::Beep, 250, 375), (Kind::Steady, 500, 900)];
        let found: Vec<_> = all.iter().map(|pulse| (pulse.kind, pulse.from, pulse.to)).collect();
        assert_eq!(found, expected);
        assert_eq!((all[2].first_hz, all[2].last_hz), (300.0, 300.0));
    }

    #[test]
    fn the_beeps_of_one_climb_are_one_line_and_silence_between_climbs_is_a_hole() {
        let mut pulses = Pulses::default();
        pulses.ask(BEEPS);
        sound(&mut pulses, 0..1000, 125, 250, 700.0);
        pulses.ask(Sound::Silent);
        sound(&mut pulses, 1000..1500, 0, 1, 700.0);
        pulses.ask(BEEPS);
        sound(&mut pulses, 1500..2500, 125, 250, 700.0);
        assert_eq!(pulses.beep_hz.runs().len(), 2);
        // The same request throughout, but silent for longer than any gap between beeps: a stale
        // reading.
        sound(&mut pulses, 2500..4000, 0, 1, 700.0);
        sound(&mut pulses, 4000..4500, 125, 250, 700.0);
        assert_eq!(pulses.beep_hz.runs().len(), 3);
    }

    #[test]
    fn the_close_up_is_the_ten_seconds_of_the_strongest_climb_with_all_their_beeps() {
        let (mut pulses, mut finder) = (Pulses::default(), ClimbFinder::default());
        pulses.ask(BEEPS);
        for tick in 0..60_000_u64 {
            // 1 m/s, and 3 m/s from 40 to 50 s; a second of 50 m/s counts for nothing.
            let speed_mps = match tick {
                5_000..5_500 => 50.0,
                20_000..25_000 => 3.0,
                _ => 1.0,
            };
            let gate = tick % 250 < 125;
            pulses.tick(
                tick,
                tick as usize / 100,
                Voice { pitch: Hertz(700.0), gate, ..Voice::default() },
            );
            if let Some(climb_mps) = finder.tick(speed_mps, None) {
                finder.keep(tick + 1, climb_mps, Ears { left: &pulses, right: None });
            }
        }
        let best = finder.best().unwrap();
        assert_eq!((best.from, best.to, best.climb_mps), (20_000, 25_000, 3.0));
        assert_eq!(best.pulses.left.len(), 20);
        assert!(best.pulses.left.iter().all(|pulse| pulse.to - pulse.from == 125));
        assert!(pulses.lately.len() <= 24, "{} pulses remembered", pulses.lately.len());
    }

    #[test]
    fn without_a_beep_there_is_no_close_up() {
        let (pulses, mut finder) = (Pulses::default(), ClimbFinder::default());
        for tick in 0..20_000 {
            if let Some(climb_mps) = finder.tick(0.1, None) {
                finder.keep(tick + 1, climb_mps, Ears { left: &pulses, right: None });
            }
        }
        assert_eq!(finder.best(), None);
    }

    #[test]
    fn so_many_pulses_that_they_cannot_be_drawn_one_by_one_are_not_kept() {
        let mut pulses = Pulses::default();
        pulses.ask(BEEPS);
        for tick in 0..500_000_u64 {
            pulses.tick(
                tick,
                0,
                Voice { pitch: Hertz(700.0), gate: tick % 40 < 20, ..Voice::default() },
            );
        }
        assert_eq!(pulses.all(), None);
        assert!(pulses.from_the_start.len() == KEPT && pulses.lately.len() < 150);
    }
}
