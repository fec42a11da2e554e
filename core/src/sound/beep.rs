//! The gate: when a beep begins and ends, and at what pitch, one control tick at a time.
//!
//! ```text
//!      SILENT --> a sound            at once, with the start of a beep
//!      BEEPS                         gate open while cycle < on_fraction
//!      one sound <--> another        through a gap, never directly
//! ```
//!
//! `cycle` is the place within one beep and its gap as a 32-bit binary fraction; it advances by
//! `cadence x tick` and wraps by itself, so a changing cadence does not move a beep that is under
//! way. When the climb jumps, the present beep or gap is cut short and the next beep begins at
//! once: the change is heard within 70 ms and not after the rest of a slow beep. In every case an
//! edge waits until the beep is 40 ms or the gap 30 ms long.
//!
//! Within a beep the pitch glides: each tick it covers a third of the remaining difference, and
//! lags an evenly rising pitch by 3.7 ms. The same ticks drive audio samples and a PWM timer.

use crate::sound::timbre::Timbre;
use crate::sound::tone::{Meaning, SHORTEST_BEEP_S, SHORTEST_GAP_S, Sound};
use crate::units::{Hertz, Micros};

/// The control tick: 500 a second. Long compared with a float operation on a small processor, short
/// compared with the ear's sense of rhythm (5 % of the shortest cycle is 4 ms).
pub const TICK: Micros = Micros(2_000);
/// Control ticks in a second.
pub const TICKS_PER_SECOND: u32 = 500;

const TICK_S: f32 = 0.002;
const SHORTEST_BEEP_TICKS: u16 = (SHORTEST_BEEP_S / TICK_S + 0.5) as u16;
const SHORTEST_GAP_TICKS: u16 = (SHORTEST_GAP_S / TICK_S + 0.5) as u16;
/// 2^32, one full cycle.
const WHOLE_CYCLE: f32 = 4_294_967_296.0;
/// Share of the remaining pitch difference covered in one tick: the slowest with which a jump of 2
/// m/s is within a just noticeable step (0.6 %) of its end after 20 ms, since slower keeps the
/// spectrum narrower.
const GLIDE: f32 = 0.35;
/// The climb has jumped when the cadence is this much faster than at the beginning of the beep...
const CADENCE_JUMP: f32 = 1.25;
/// ... or the pitch this much higher: by the default law 0.8 m/s...
const PITCH_JUMP: f32 = 1.15;
/// ... and of quick beeps this much, ten just noticeable steps of 0.6 %: they last so short a time
/// that no gust gets there, and high climbs hardly differ in cadence.
const QUICK_PITCH_JUMP: f32 = 1.06;
/// Beeps are quick from here.
const QUICK: Hertz = Hertz(4.0);

/// Notes of a pair, in ticks from the start of the pair: 80 ms each, 40 ms apart.
const PAIR: [Note; 2] =
    [Note { from: 0, to: 40, share: 1.0 }, Note { from: 60, to: 100, share: 1.0 }];
/// Notes of the fault call: 250 ms each, 120 ms apart, each a major third (5:4) below the one
/// before.
const CALL: [Note; 3] = [
    Note { from: 0, to: 125, share: 1.0 },
    Note { from: 185, to: 310, share: 0.8 },
    Note { from: 370, to: 495, share: 0.64 },
];

/// Length of a note of the fault call.
pub(crate) const CALL_NOTE_S: f32 = 0.250;
/// Pitch of the call's middle note as a share of its first.
pub(crate) const CALL_MIDDLE: f32 = CALL[1].share;

/// A note within a sequence of notes.
#[derive(Clone, Copy)]
struct Note {
    from: u16,
    to: u16,
    share: f32,
}

/// What beeps of one sound have in common.
#[derive(Clone, Copy)]
struct Rhythm {
    pitch: Hertz,
    cadence: Hertz,
    /// The climb has jumped when the pitch is this much higher than at the beginning of the beep.
    pitch_jump: f32,
    /// Place in the cycle up to which the gate is open.
    open_until: u32,
    /// How far the cycle advances in a tick.
    step: u32,
}

impl Rhythm {
    fn of(pitch: Hertz, cadence: Hertz, on_fraction: f32) -> Self {
        Self {
            pitch,
            cadence,
            pitch_jump: if cadence.0 > QUICK.0 { QUICK_PITCH_JUMP } else { PITCH_JUMP },
            open_until: (on_fraction * WHOLE_CYCLE) as u32,
            step: step_of(cadence),
        }
    }
}

/// How far the cycle advances in a tick.
fn step_of(cadence: Hertz) -> u32 {
    (cadence.0 * (TICK_S * WHOLE_CYCLE)) as u32
}

/// What to sound during one tick.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Voice {
    /// Pitch; keeps its last value while the gate is closed.
    pub pitch: Hertz,
    /// Sound or silence.
    pub gate: bool,
    /// Amplitude as a share of full scale, 0 to 1.
    pub level: f32,
    /// Timbre of the tone.
    pub timbre: Timbre,
    /// What the sound means, or meant while its edge fades.
    pub meaning: Meaning,
}

impl Default for Voice {
    fn default() -> Self {
        Self {
            pitch: Hertz(0.0),
            gate: false,
            level: 1.0,
            timbre: Timbre::Pure,
            meaning: Meaning::Nothing,
        }
    }
}

/// State of the gate.
#[derive(Clone, Copy, Debug)]
pub struct BeepState {
    meaning: Meaning,
    cycle: u32,
    voice: Voice,
    ticks_since_edge: u16,
    /// Ticks since a sequence of notes began.
    figure: u16,
    /// Cadence and pitch when the beep began.
    begun: (Hertz, Hertz),
    /// The climb has jumped and a new beep is due.
    hurried: bool,
}

impl Default for BeepState {
    fn default() -> Self {
        Self {
            meaning: Meaning::Nothing,
            cycle: 0,
            voice: Voice::default(),
            ticks_since_edge: u16::MAX,
            figure: 0,
            begun: (Hertz(0.0), Hertz(0.0)),
            hurried: false,
        }
    }
}

impl BeepState {
    /// Advances by so many [`TICK`]s towards `sound`, which is played at a level and in a timbre.
    /// What ends keeps its own until it has faded.
    pub(crate) fn run_shaded(&mut self, sound: &Sound, level: f32, timbre: Timbre, ticks: u32) {
        self.run(sound, ticks);
        if self.voice.meaning == sound.meaning() {
            (self.voice.level, self.voice.timbre) = (level, timbre);
        }
    }

    /// Advances by one [`TICK`] towards `sound`.
    pub fn tick(&mut self, sound: &Sound) -> Voice {
        self.run(sound, 1);
        self.voice
    }

    /// Advances by so many ticks; what does not change between them is worked out once.
    #[inline]
    fn run(&mut self, sound: &Sound, ticks: u32) {
        match *sound {
            Sound::Silent => self.each(ticks, Meaning::Nothing, |_| ()),
            Sound::Steady { pitch } => {
                self.each(ticks, Meaning::Sink, |gate| gate.sound_at(pitch, true));
            }
            Sound::Beeps { pitch, cadence, on_fraction } => {
                let rhythm = Rhythm::of(pitch, cadence, on_fraction);
                self.each(ticks, Meaning::Climb, |gate| gate.beep(&rhythm));
            }
            Sound::Pairs { first, second, cadence } => {
                let step = step_of(cadence);
                self.each(ticks, Meaning::Cruise, |gate| {
                    let wrapped = gate.advance(step);
                    gate.play(&PAIR, wrapped, |place| if place == 0 { first } else { second });
                });
            }
            Sound::Fault { pitch, every } => {
                let step = step_of(Hertz(1.0 / every.as_seconds()));
                self.each(ticks, Meaning::Fault, |gate| {
                    let wrapped = gate.advance(step);
                    gate.play(&CALL, wrapped, |_| pitch);
                });
            }
        }
    }

    /// Every tick of a sound that means `meaning`: `play` once the sound before has ended.
    #[inline(always)]
    fn each(&mut self, ticks: u32, meaning: Meaning, play: impl Fn(&mut Self)) {
        for _ in 0..ticks {
            self.ticks_since_edge = self.ticks_since_edge.saturating_add(1);
            if self.meaning == meaning || self.leave(meaning) {
                play(self);
            }
        }
    }

    /// The present sound.
    pub fn voice(&self) -> Voice {
        self.voice
    }

    fn beep(&mut self, rhythm: &Rhythm) {
        let Rhythm { pitch, cadence, pitch_jump, open_until, step } = *rhythm;
        if self.cycle == 0 {
            self.begun = (cadence, pitch);
        }
        let (begun_cadence, begun_pitch) = self.begun;
        self.hurried |=
            cadence.0 > begun_cadence.0 * CADENCE_JUMP || pitch.0 > begun_pitch.0 * pitch_jump;
        if self.hurried && !self.voice.gate && self.ticks_since_edge >= SHORTEST_GAP_TICKS {
            (self.hurried, self.cycle, self.begun) = (false, 0, (cadence, pitch));
        }
        let open = !self.hurried && self.cycle < open_until;
        self.sound_at(pitch, open);
        if self.advance(step) {
            self.begun = (cadence, pitch);
        }
    }

    /// Advances the cycle; true where it wraps.
    fn advance(&mut self, step: u32) -> bool {
        let before = self.cycle;
        self.cycle = self.cycle.wrapping_add(step);
        self.cycle < before
    }

    /// Plays a sequence of notes, from the start where the cycle has wrapped.
    fn play(&mut self, notes: &[Note], wrapped: bool, pitch_of: impl Fn(usize) -> Hertz) {
        let figure = self.figure;
        self.figure = if wrapped { 0 } else { figure.saturating_add(1) };
        let now = notes.iter().enumerate().find(|(_, note)| (note.from..note.to).contains(&figure));
        let pitch =
            now.map_or(self.voice.pitch, |(place, note)| Hertz(pitch_of(place).0 * note.share));
        self.sound_at(pitch, now.is_some());
    }

    /// Opens or closes the gate if allowed, and lets the pitch glide while it is open.
    fn sound_at(&mut self, pitch: Hertz, open: bool) {
        let was_open = self.voice.gate;
        self.turn_gate(open);
        if self.voice.gate {
            let from = if was_open { self.voice.pitch.0 } else { pitch.0 };
            self.voice.pitch = Hertz(from + GLIDE * (pitch.0 - from));
            self.voice.meaning = self.meaning;
        }
    }

    /// Ends the previous sound; true once the gate has been closed long enough for the new one to
    /// begin.
    fn leave(&mut self, wanted: Meaning) -> bool {
        self.turn_gate(false);
        let closed = !self.voice.gate
            && (wanted == Meaning::Nothing || self.ticks_since_edge >= SHORTEST_GAP_TICKS);
        if closed {
            self.meaning = wanted;
            (self.cycle, self.figure, self.hurried) = (0, 0, false);
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
    use proptest::prelude::*;
    use std::vec::Vec;

    const CLIMB: Sound =
        Sound::Beeps { pitch: Hertz(700.0), cadence: Hertz(2.5), on_fraction: 0.5 };
    const SINK: Sound = Sound::Steady { pitch: Hertz(300.0) };

    /// The ticks at which the gate opens and closes while playing `sound_at(tick)`.
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
        // 2.5 beeps a second, on for half of the time: 100 ticks on, 100 off.
        let expected: Vec<_> = (0..10).map(|edge| (edge * 100, edge % 2 == 0)).collect();
        let found = edges(1000, |_| CLIMB);
        assert_eq!(found.len(), expected.len());
        for (found, expected) in found.iter().zip(&expected) {
            assert!(
                found.0.abs_diff(expected.0) <= 1 && found.1 == expected.1,
                "{found:?} {expected:?}"
            );
        }
    }

    #[test]
    fn a_cadence_of_fractional_ticks_does_not_drift() {
        let sound = Sound::Beeps { pitch: Hertz(700.0), cadence: Hertz(7.3), on_fraction: 0.5 };
        let opened = edges(500 * 600, |_| sound).iter().filter(|edge| edge.1).count();
        assert_eq!(opened, 7 * 600 + 180); // 7.3 a second for 600 s
    }

    #[test]
    fn sink_and_climb_are_separated_by_a_gap() {
        let found = edges(400, |tick| if tick < 200 { SINK } else { CLIMB });
        assert_eq!(found[0], (0, true));
        assert_eq!(found[1], (200, false));
        assert_eq!(found[2], (215, true)); // 30 ms later
    }

    #[test]
    fn no_beep_is_shorter_than_40_ms_and_no_gap_shorter_than_30_ms() {
        // The reading flickers about the threshold at every rate.
        for period in 1..60 {
            let found =
                edges(
                    5000,
                    |tick| if tick % (2 * period) < period { CLIMB } else { Sound::Silent },
                );
            for pair in found.windows(2) {
                let length = pair[1].0 - pair[0].0;
                let least = if pair[0].1 { 20 } else { 15 };
                assert!(length >= least, "period {period}: {length} ticks, gate {}", pair[0].1);
            }
        }
    }

    /// Any sound that the settings allow.
    fn any_sound() -> impl Strategy<Value = Sound> {
        let pitch = || (80.0..4_000.0_f32).prop_map(Hertz);
        let beeps = (pitch(), 0.5..14.0_f32, 0.0..1.0_f32).prop_map(|(pitch, cadence, share)| {
            let (least, most) = (SHORTEST_BEEP_S * cadence, 1.0 - SHORTEST_GAP_S * cadence);
            Sound::Beeps {
                pitch,
                cadence: Hertz(cadence),
                on_fraction: least + share * (most - least),
            }
        });
        prop_oneof![
            Just(Sound::Silent),
            beeps,
            pitch().prop_map(|pitch| Sound::Steady { pitch }),
            (pitch(), pitch(), 0.7..2.2_f32).prop_map(|(first, second, cadence)| Sound::Pairs {
                first,
                second,
                cadence: Hertz(cadence)
            }),
            pitch().prop_map(|pitch| Sound::Fault { pitch, every: Micros(5_000_000) }),
        ]
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            failure_persistence: None,
            ..ProptestConfig::default()
        })]

        #[test]
        fn beeps_last_40_ms_and_gaps_30_ms_whatever_the_sounds_and_times(
            sounds in prop::collection::vec((any_sound(), 1..400_u32), 1..60)
        ) {
            let (mut state, mut last, mut since) = (BeepState::default(), false, u32::MAX);
            for (sound, ticks) in sounds {
                for _ in 0..ticks {
                    let voice = state.tick(&sound);
                    since = since.saturating_add(1);
                    if voice.gate != last {
                        let least = if last { 20 } else { 15 };
                        prop_assert!(since >= least, "{since} ticks, gate {last}");
                        (last, since) = (voice.gate, 0);
                    }
                    let in_range = (40.0..=4_000.0).contains(&voice.pitch.0);
                    prop_assert!(!voice.gate || in_range, "{voice:?}");
                }
            }
        }
    }

    #[test]
    fn a_climb_that_jumps_begins_the_next_beep_within_70_ms_whenever_it_comes() {
        let quick = Sound::Beeps { pitch: Hertz(900.0), cadence: Hertz(4.0), on_fraction: 0.5 };
        for jump in 1000..1200 {
            let found = edges(2000, |tick| if tick < jump { CLIMB } else { quick });
            let next = found.iter().find(|edge| edge.1 && edge.0 >= jump).unwrap();
            assert!(next.0 - jump <= 35, "{jump}: {next:?}");
        }
    }

    #[test]
    fn a_climb_that_varies_by_less_than_a_jump_cuts_no_beep_short() {
        let wavering = |tick: u32| {
            let cadence = if (tick / 50).is_multiple_of(2) { 2.5 } else { 3.0 };
            Sound::Beeps { pitch: Hertz(700.0), cadence: Hertz(cadence), on_fraction: 0.5 }
        };
        let found = edges(5000, wavering);
        assert!(found.windows(2).all(|pair| pair[1].0 - pair[0].0 > 80), "{found:?}");
    }

    #[test]
    fn silence_closes_the_gate_and_keeps_the_pitch_for_the_fading_edge() {
        let mut state = BeepState::default();
        for _ in 0..50 {
            state.tick(&SINK);
        }
        let faded = state.tick(&Sound::Silent);
        assert_eq!((faded.pitch, faded.gate, faded.meaning), (Hertz(300.0), false, Meaning::Sink));
    }
}
