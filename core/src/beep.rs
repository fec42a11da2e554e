//! The gate of the sound: when a beep begins and ends, and what pitch is asked of it, one control tick at a time.
//!
//! ```text
//!      SILENT --> BEEPS: at once, with the start of a beep       BEEPS: gate open while cycle < on_fraction
//!      BEEPS <--> STEADY: through a gap, never from one into the other
//! ```
//!
//! `cycle` is the place within one beep and its gap as a 32-bit binary fraction; it advances by
//! `cadence x tick` and wraps by itself, so a changing cadence shifts no beep that is under way. An edge waits until
//! the beep is 40 ms or the gap 30 ms long. The same ticks drive samples and a PWM timer.

use crate::tone::{SHORTEST_BEEP_S, SHORTEST_GAP_S, Sound};
use crate::units::{Hertz, Micros};

/// The control tick: 500 a second. Long against a float operation on a small processor, short against the ear's
/// sense of rhythm (5 % of the shortest cycle is 4 ms).
pub const TICK: Micros = Micros(2_000);
/// Control ticks in a second.
pub const TICKS_PER_SECOND: u32 = 500;

const TICK_S: f32 = 0.002;
const SHORTEST_BEEP_TICKS: u16 = (SHORTEST_BEEP_S / TICK_S + 0.5) as u16;
const SHORTEST_GAP_TICKS: u16 = (SHORTEST_GAP_S / TICK_S + 0.5) as u16;
/// 2^32, a whole cycle.
const WHOLE_CYCLE: f32 = 4_294_967_296.0;

/// What is to sound during one tick.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Voice {
    /// Pitch asked for; keeps its last value while the gate is closed.
    pub pitch: Hertz,
    /// Sound or silence.
    pub gate: bool,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Kind {
    #[default]
    Silent,
    Beeps,
    Steady,
}

impl Kind {
    fn of(sound: &Sound) -> Self {
        match sound {
            Sound::Silent => Kind::Silent,
            Sound::Beeps { .. } => Kind::Beeps,
            Sound::Steady { .. } => Kind::Steady,
        }
    }
}

/// What the gate remembers.
#[derive(Clone, Copy, Debug)]
pub struct BeepState {
    kind: Kind,
    cycle: u32,
    voice: Voice,
    ticks_since_edge: u16,
}

impl Default for BeepState {
    fn default() -> Self {
        Self { kind: Kind::Silent, cycle: 0, voice: Voice::default(), ticks_since_edge: u16::MAX }
    }
}

impl BeepState {
    /// Advances by one [`TICK`] towards `sound`.
    pub fn tick(&mut self, sound: &Sound) -> Voice {
        self.ticks_since_edge = self.ticks_since_edge.saturating_add(1);
        let wanted = Kind::of(sound);
        if wanted != self.kind && !self.leave(wanted) {
            return self.voice;
        }
        match *sound {
            Sound::Silent => {}
            Sound::Steady { pitch } => {
                self.voice.pitch = pitch;
                self.turn_gate(true);
            }
            Sound::Beeps { pitch, cadence, on_fraction } => {
                self.voice.pitch = pitch;
                self.turn_gate(self.cycle < (on_fraction * WHOLE_CYCLE) as u32);
                self.cycle = self.cycle.wrapping_add((cadence.0 * (TICK_S * WHOLE_CYCLE)) as u32);
            }
        }
        self.voice
    }

    /// What sounds now.
    pub fn voice(&self) -> Voice {
        self.voice
    }

    /// Ends the sound that was; true once the gate is closed long enough for the new one to begin.
    fn leave(&mut self, wanted: Kind) -> bool {
        self.turn_gate(false);
        let closed = !self.voice.gate && (wanted == Kind::Silent || self.ticks_since_edge >= SHORTEST_GAP_TICKS);
        if closed {
            self.kind = wanted;
            self.cycle = 0;
        }
        closed
    }

    /// Opens or closes the gate if the last edge is long enough ago.
    fn turn_gate(&mut self, open: bool) {
        let shortest = if self.voice.gate { SHORTEST_BEEP_TICKS } else { SHORTEST_GAP_TICKS };
        if open != self.voice.gate && self.ticks_since_edge >= shortest {
            self.voice.gate = open;
            self.ticks_since_edge = 0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    const CLIMB: Sound = Sound::Beeps { pitch: Hertz(700.0), cadence: Hertz(2.5), on_fraction: 0.5 };
    const SINK: Sound = Sound::Steady { pitch: Hertz(300.0) };

    /// The ticks at which the gate opens and closes while `sound_at(tick)` is asked for.
    fn edges(ticks: u32, sound_at: impl Fn(u32) -> Sound) -> Vec<(u32, bool)> {
        let mut state = BeepState::default();
        let mut last = false;
        let mut edges = Vec::new();
        for tick in 0..ticks {
            let gate = state.tick(&sound_at(tick)).gate;
            if gate != last {
                edges.push((tick, gate));
                last = gate;
            }
        }
        edges
    }

    #[test]
    fn beeps_begin_at_once_and_keep_their_cadence() {
        // 2.5 beeps a second, half of the time: 100 ticks on, 100 off.
        let expected: Vec<_> = (0..10).map(|edge| (edge * 100, edge % 2 == 0)).collect();
        let found = edges(1000, |_| CLIMB);
        assert_eq!(found.len(), expected.len());
        for (found, expected) in found.iter().zip(&expected) {
            assert!(found.0.abs_diff(expected.0) <= 1 && found.1 == expected.1, "{found:?} {expected:?}");
        }
    }

    #[test]
    fn a_cadence_that_is_no_whole_number_of_ticks_does_not_drift() {
        let sound = Sound::Beeps { pitch: Hertz(700.0), cadence: Hertz(7.3), on_fraction: 0.5 };
        let opened = edges(500 * 600, |_| sound).iter().filter(|edge| edge.1).count();
        assert_eq!(opened, 7 * 600 + 180); // 7.3 a second for 600 s
    }

    #[test]
    fn sink_and_climb_are_parted_by_a_gap() {
        let found = edges(400, |tick| if tick < 200 { SINK } else { CLIMB });
        assert_eq!(found[0], (0, true));
        assert_eq!(found[1], (200, false));
        assert_eq!(found[2], (215, true)); // 30 ms later
    }

    #[test]
    fn no_beep_is_shorter_than_40_ms_and_no_gap_shorter_than_30_ms() {
        // The reading flickers about the threshold at every rate.
        for period in 1..60 {
            let found = edges(5000, |tick| if tick % (2 * period) < period { CLIMB } else { Sound::Silent });
            for pair in found.windows(2) {
                let length = pair[1].0 - pair[0].0;
                let least = if pair[0].1 { 20 } else { 15 };
                assert!(length >= least, "period {period}: {length} ticks, gate {}", pair[0].1);
            }
        }
    }

    #[test]
    fn silence_closes_the_gate_and_keeps_the_pitch_for_the_fading_edge() {
        let mut state = BeepState::default();
        for _ in 0..50 {
            state.tick(&SINK);
        }
        assert_eq!(state.tick(&Sound::Silent), Voice { pitch: Hertz(300.0), gate: false });
    }
}
