//! Fault call: when the instrument must warn that it has no valid reading.
//!
//! ```text
//!   OK --- a bad sample, or none for stale_after_s ---> TROUBLE --- for 5 s in all ---> CALLING
//!    ^                                                     |                              |
//!    +------------ a good reading ends it at once ----------+------------------------------+
//! ```
//!
//! A sample is bad if it was not used (frozen, no pressure, a repeated or backward time) or held
//! back as suspect. A reading that is still settling neither starts trouble, so that a start causes
//! no call, nor ends it, so that a sensor that fails again and again is reported. A single bad
//! sample is trouble until the next good one, some hundredths of a second.
//!
//! The call is three falling notes, a quarter of a second each, no higher than the sink tone may
//! be: low, slow and falling, unlike climb, and interrupted, unlike sink. It repeats at the
//! interval of [`FaultWatch`] and stops after ten minutes: a pilot who has not acted on forty calls
//! will not act on the next.

use crate::sound::beep::{CALL_MIDDLE, CALL_NOTE_S, TICK, TICKS_PER_SECOND};
use crate::sound::ear::Asked;
use crate::sound::tone::{FIFTH, Sound};
use crate::units::{Hertz, Micros};

/// Trouble this long starts the call: five times the longest pause of a healthy sensor (a guess).
const PATIENCE_TICKS: u32 = 5 * TICKS_PER_SECOND;
/// After this long the pilot knows about it, and the call stops.
const GIVE_UP_TICKS: u32 = PATIENCE_TICKS + 600 * TICKS_PER_SECOND;

/// What a sample means for the health of the instrument.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Health {
    /// The reading is good.
    Good,
    /// It is still settling.
    Unknown,
    /// The sample could not be used.
    Bad,
}

/// The call with its settings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct FaultWatch {
    /// Pitch of the first note.
    first: Hertz,
    /// From one call to the next; zero where it is turned off.
    every: Micros,
}

/// State: how long there has been trouble.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct FaultState {
    in_trouble: bool,
    ticks: u32,
}

impl FaultWatch {
    /// A call every `every_s` seconds, 0 for never, pitched below `lowest_beep`, the lowest beep.
    pub(crate) fn new(every_s: f32, lowest_beep: Hertz) -> Self {
        let every = Micros((every_s * 1.0e6) as i64);
        let every = if every > TICK { every } else { Micros(0) };
        Self { first: Hertz(lowest_beep.0 / FIFTH), every }
    }

    /// What the call asks of its level, by its middle note.
    pub(crate) fn asked(&self) -> Asked {
        let middle = Hertz(self.first.0 * CALL_MIDDLE);
        // Of a call that is turned off the length does not matter.
        Asked::note(middle, CALL_NOTE_S, self.every.as_seconds().max(CALL_NOTE_S))
    }

    /// Whether a call is due now or will be unless the readings recover.
    pub(crate) fn may_call(&self, state: &FaultState) -> bool {
        self.every.0 > 0 && state.ticks < GIVE_UP_TICKS
    }

    /// Advances by one control tick; `stale` while no sample comes. Returns the call while it
    /// sounds.
    pub(crate) fn tick(&self, state: &mut FaultState, stale: bool) -> Option<Sound> {
        if !(state.in_trouble || stale) {
            return None;
        }
        state.ticks = state.ticks.saturating_add(1);
        let is_due = (PATIENCE_TICKS..GIVE_UP_TICKS).contains(&state.ticks);
        (is_due && self.every.0 > 0)
            .then_some(Sound::Fault { pitch: self.first, every: self.every })
    }
}

impl FaultState {
    /// Whether the last sample could not be used.
    pub(crate) fn is_in_trouble(&self) -> bool {
        self.in_trouble
    }

    /// Takes note of a sample.
    pub(crate) fn note(&mut self, health: Health) {
        self.in_trouble = health == Health::Bad;
        if health == Health::Good {
            self.ticks = 0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn watch() -> FaultWatch {
        FaultWatch::new(15.0, Hertz(560.0))
    }

    /// Seconds until the call begins, within `seconds` of `health` 50 times a second.
    fn called_after(seconds: u32, health: impl Fn(u32) -> Health) -> Option<f32> {
        let (watch, mut state) = (watch(), FaultState::default());
        (0..seconds * TICKS_PER_SECOND)
            .find(|tick| {
                if tick % 10 == 0 {
                    state.note(health(*tick));
                }
                watch.tick(&mut state, false).is_some()
            })
            .map(|tick| tick as f32 * 0.002)
    }

    #[test]
    fn trouble_is_called_out_after_5_seconds_and_not_before() {
        let after = called_after(60, |_| Health::Bad).unwrap();
        assert!((4.9..5.1).contains(&after), "{after} s");
        assert_eq!(called_after(60, |_| Health::Good), None);
        assert_eq!(called_after(60, |_| Health::Unknown), None);
        // One bad sample in two does no harm to the reading.
        assert_eq!(
            called_after(60, |tick| if tick % 20 == 0 { Health::Bad } else { Health::Good }),
            None
        );
    }

    #[test]
    fn a_sensor_that_never_settles_starts_the_call() {
        let dies_again = |tick: u32| if tick % 1000 < 500 { Health::Bad } else { Health::Unknown };
        let after = called_after(60, dies_again).unwrap();
        assert!((8.9..10.1).contains(&after), "{after} s");
    }

    #[test]
    fn missing_samples_start_the_call_and_a_good_one_ends_it_at_once() {
        let (watch, mut state) = (watch(), FaultState::default());
        let called =
            (0..10 * TICKS_PER_SECOND).filter(|_| watch.tick(&mut state, true).is_some()).count();
        assert!((2_490..=2_510).contains(&called), "{called} ticks");
        state.note(Health::Good);
        assert_eq!(watch.tick(&mut state, false), None);
    }

    #[test]
    fn the_call_stops_after_ten_minutes_and_never_sounds_when_turned_off() {
        let (watch, mut state) = (watch(), FaultState::default());
        assert!(watch.may_call(&state));
        let called = (0..1_000 * TICKS_PER_SECOND)
            .filter(|_| watch.tick(&mut state, true).is_some())
            .count();
        assert_eq!(called as u32 / TICKS_PER_SECOND, 600);
        assert!(!watch.may_call(&state));
        let off = FaultWatch::new(0.0, Hertz(560.0));
        assert!((0..5_000).all(|_| off.tick(&mut state, true).is_none()));
    }

    #[test]
    fn the_call_is_a_fifth_below_every_beep() {
        let mut state = FaultState { in_trouble: true, ticks: PATIENCE_TICKS };
        let call = watch().tick(&mut state, false).unwrap();
        assert!(
            matches!(call, Sound::Fault { pitch, .. } if pitch.0 <= 560.0 / 1.5 + 1e-3),
            "{call:?}"
        );
    }
}
