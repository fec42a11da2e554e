//! Whether the satellite receiver's velocity is used.
//!
//! The filter stands alone without it, so that it is only ever an aid: what it says beyond belief
//! is not taken, and if it goes on saying so, or the filter is contradicted by the pressures while
//! it is used, it is left alone for a while, each time for twice as long.

use crate::units::{larger, smaller};

/// It is left alone for this long at first, and at most, s (guesses).
const FIRST_S: f32 = 120.0;
const MOST_S: f32 = 480.0;

/// The filter does not take for gusts what has a mean of more than this over this time (guesses:
/// gusts of 1.2 m/s rms, 5 s long, have one of 0.9 m/s rms).
const MOST_GUST_MPS: f32 = 2.0;
const GUST_S: f32 = 20.0;

/// State of the decision.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Receiver {
    /// How much longer it is left alone, s.
    left_s: f32,
    /// Mean of what the filter takes for a gust, m/s.
    gust: f32,
    /// How long it was left alone the last time, s.
    last_s: f32,
}

impl Receiver {
    /// Passes `dt_s`, with what the filter takes for a gust along the flight path.
    pub(super) fn pass(&mut self, dt_s: f32, gust: f32) {
        self.left_s = larger(self.left_s - dt_s, 0.0);
        self.gust += (gust - self.gust) * (dt_s / (GUST_S + dt_s));
    }

    /// Whether it contradicts the airspeed: gusts come and go.
    pub(super) fn is_against_airspeed(&self) -> bool {
        self.gust.abs() > MOST_GUST_MPS
    }

    pub(super) fn is_used(&self) -> bool {
        self.left_s == 0.0
    }

    /// Leaves it alone.
    pub(super) fn drop(&mut self) {
        self.last_s = smaller(larger(2.0 * self.last_s, FIRST_S), MOST_S);
        self.left_s = self.last_s;
        self.gust = 0.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    #[test]
    fn it_is_left_alone_for_twice_as_long_each_time_up_to_eight_minutes() {
        let mut receiver = Receiver::default();
        assert!(receiver.is_used());
        let mut waits = Vec::new();
        for _ in 0..6 {
            receiver.drop();
            let mut waited_s = 0;
            while !receiver.is_used() {
                receiver.pass(1.0, 0.0);
                waited_s += 1;
            }
            waits.push(waited_s);
        }
        assert_eq!(waits, [120, 240, 480, 480, 480, 480]);
    }

    #[test]
    fn a_gust_that_does_not_end_is_none() {
        // The mean of 3 m/s through one pole of 20 s is above 2 m/s after 20 ln 3 = 22 s.
        let after = |seconds: u32, gust: fn(u32) -> f32| {
            let mut receiver = Receiver::default();
            (0..50 * seconds).for_each(|step| receiver.pass(0.02, gust(step / 250)));
            receiver
        };
        let gusts_of_5_s = after(300, |count| if count % 2 == 0 { 3.0 } else { -3.0 });
        assert!(!gusts_of_5_s.is_against_airspeed());
        assert!(!after(21, |_| 3.0).is_against_airspeed());
        let mut against = after(23, |_| 3.0);
        assert!(against.is_against_airspeed());
        against.drop();
        assert!(!against.is_against_airspeed());
    }
}
