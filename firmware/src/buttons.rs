//! Three buttons: debounced, short and held.
//!
//! ```text
//!            down for 20 ms             0.7 s                   every 0.5 s
//! RELEASED ----------------> PRESSED ---------> HELD: "held" ----------------> "still held"
//!     ^                         |                 |
//!     +------ up for 20 ms: "short" --------------+ nothing more
//! ```
//!
//! The times are guesses; a worn button bounces for 5 to 10 ms (common practice, no source).

use chirrup_core::Micros;
use chirrup_sensors::sensor::after;

const SETTLED: Micros = Micros(20_000);
const HOLD: Micros = Micros(700_000);
const REPEAT: Micros = Micros(500_000);

/// A press of a button.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Press {
    /// Pressed and released.
    Short,
    /// Held for long.
    Held,
    /// Held on; repeats until it is released.
    StillHeld,
}

/// One button.
#[derive(Clone, Copy, Debug, Default)]
pub struct Button {
    /// The level of the pin, and since when.
    raw: bool,
    raw_since: Option<Micros>,
    state: State,
}

#[derive(Clone, Copy, Debug, Default)]
enum State {
    #[default]
    Released,
    Pressed(Micros),
    /// When the next "still held" is due.
    Held(Micros),
}

impl Button {
    /// Reads the pin level; call it every 5 to 20 ms.
    pub fn step(&mut self, now: Micros, is_down: bool) -> Option<Press> {
        if is_down != self.raw || self.raw_since.is_none() {
            self.raw = is_down;
            self.raw_since = Some(now);
        }
        let is_settled = self.raw_since.is_some_and(|since| now.since(since) >= SETTLED);
        match self.state {
            State::Released if is_settled && is_down => {
                self.state = State::Pressed(now);
                None
            }
            State::Pressed(_) if is_settled && !is_down => {
                self.state = State::Released;
                Some(Press::Short)
            }
            State::Held(_) if is_settled && !is_down => {
                self.state = State::Released;
                None
            }
            State::Pressed(since) if now.since(since) >= HOLD && is_down => {
                self.state = State::Held(after(now, REPEAT));
                Some(Press::Held)
            }
            State::Held(due) if now >= due && is_down => {
                self.state = State::Held(after(due, REPEAT));
                Some(Press::StillHeld)
            }
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    /// The presses and their times in ms, for a pin that is down where `is_down` returns true, read
    /// every 5 ms.
    fn presses(for_ms: i64, is_down: impl Fn(i64) -> bool) -> Vec<(i64, Press)> {
        let mut button = Button::default();
        let looked = (0..for_ms).step_by(5);
        looked.filter_map(|ms| Some((ms, button.step(Micros(ms * 1_000), is_down(ms))?))).collect()
    }

    #[test]
    fn a_short_press_counts_once_however_the_contact_bounces() {
        let bounces = |ms: i64| (100..250).contains(&ms) && !(110..120).contains(&ms) && ms != 240;
        let found = presses(1_000, bounces);
        assert_eq!(found.len(), 1);
        assert!(matches!(found[0], (265..=275, Press::Short)), "{found:?}");
    }

    #[test]
    fn a_spike_is_not_a_press() {
        assert_eq!(presses(1_000, |ms| ms % 100 < 15), []);
    }

    #[test]
    fn a_held_button_repeats_and_its_release_does_nothing() {
        let found = presses(5_000, |ms| (100..2_000).contains(&ms));
        let still = Press::StillHeld;
        assert_eq!(found, [(820, Press::Held), (1_320, still), (1_820, still)]);
    }

    #[test]
    fn a_button_that_is_stuck_down_from_the_start_does_no_harm() {
        let found = presses(10_000, |_| true);
        assert!(found.iter().all(|(_, press)| *press != Press::Short));
        assert_eq!(found.iter().filter(|(_, press)| *press == Press::Held).count(), 1);
    }
}
