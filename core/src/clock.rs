//! The order of samples in time: which to use, which to pass over, and when the time between them was a gap.
//!
//! ```text
//!            dt > 0                      used; a gap where dt > max(10 s, 5 usual intervals)
//!            dt = 0                      repeated: passed over
//!            dt < 0                      backward: passed over, and after 10 of them in a row the clock is taken
//!                                        to have been set back: start afresh at the new time
//! ```
//!
//! The usual interval is a running mean of the intervals seen (weight 1/8), so that a flight log of one sample in
//! 5 s is as much a stream as a sensor at 100 Hz.

use crate::units::Micros;

/// A gap is at least this long (a guess: after it the air is another).
const GAP_US: i64 = 10_000_000;
/// And at least this many times the usual interval (a guess).
const GAP_INTERVALS: i64 = 5;
/// This many backward samples in a row are a clock that was set back, not samples out of order (a guess).
const BACKWARD_LIMIT: u8 = 10;

/// How a sample arrived.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arrival {
    /// The first of all: use it.
    First,
    /// So long after the last one used: use it.
    After(Micros),
    /// So long after the last one that whatever was known is out of date: use it, and start afresh.
    AfterGap(Micros),
    /// The clock was set back: use it, and start afresh.
    ClockReset,
    /// At the same time as the last one used: pass over it.
    Repeated,
    /// Before the last one used: pass over it.
    Backward,
}

/// What is remembered of the sampling clock.
#[derive(Clone, Copy, Debug, Default)]
pub struct ClockState {
    last: Option<Micros>,
    usual_interval_us: i64,
    backward_in_a_row: u8,
}

impl ClockState {
    /// Judges the time stamp of the next sample.
    pub fn step(&mut self, time: Micros) -> Arrival {
        let Some(last) = self.last else {
            self.last = Some(time);
            return Arrival::First;
        };
        let elapsed = time.since(last);
        match elapsed.0 {
            0 => Arrival::Repeated,
            1.. => self.forward(time, elapsed),
            _ => self.backward(time),
        }
    }

    /// The mean of the intervals between samples lately, zero before the second sample.
    pub fn usual_interval(&self) -> Micros {
        Micros(self.usual_interval_us)
    }

    fn forward(&mut self, time: Micros, elapsed: Micros) -> Arrival {
        let usual = if self.usual_interval_us == 0 { elapsed.0 } else { self.usual_interval_us };
        let limit = GAP_US.max(usual.saturating_mul(GAP_INTERVALS));
        // A gap counts as no more than the limit, so that one of an hour does not make an hour usual.
        self.usual_interval_us = usual.saturating_add((elapsed.0.min(limit) - usual) / 8);
        self.last = Some(time);
        self.backward_in_a_row = 0;
        if elapsed.0 > limit { Arrival::AfterGap(elapsed) } else { Arrival::After(elapsed) }
    }

    fn backward(&mut self, time: Micros) -> Arrival {
        self.backward_in_a_row = self.backward_in_a_row.saturating_add(1);
        if self.backward_in_a_row < BACKWARD_LIMIT {
            return Arrival::Backward;
        }
        self.backward_in_a_row = 0;
        self.last = Some(time);
        Arrival::ClockReset
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn clock_after(times: &[i64]) -> ClockState {
        let mut clock = ClockState::default();
        for &time in times {
            clock.step(Micros(time));
        }
        clock
    }

    #[test]
    fn samples_in_order_are_used_with_the_time_between_them() {
        let mut clock = clock_after(&[5]);
        assert_eq!(clock.step(Micros(20_005)), Arrival::After(Micros(20_000)));
        assert_eq!(clock.step(Micros(60_005)), Arrival::After(Micros(40_000)));
    }

    #[test]
    fn repeated_and_backward_samples_are_passed_over() {
        let mut clock = clock_after(&[0, 20_000]);
        assert_eq!(clock.step(Micros(20_000)), Arrival::Repeated);
        assert_eq!(clock.step(Micros(10_000)), Arrival::Backward);
        assert_eq!(clock.step(Micros(40_000)), Arrival::After(Micros(20_000)));
    }

    #[test]
    fn a_clock_set_back_is_believed_at_the_tenth_sample() {
        let mut clock = clock_after(&[1_000_000_000]);
        for sample in 0..9 {
            assert_eq!(clock.step(Micros(sample * 20_000)), Arrival::Backward);
        }
        assert_eq!(clock.step(Micros(180_000)), Arrival::ClockReset);
        assert_eq!(clock.step(Micros(200_000)), Arrival::After(Micros(20_000)));
    }

    #[test]
    fn what_is_a_gap_follows_the_usual_interval() {
        let mut fast = clock_after(&[0, 20_000, 40_000]);
        assert_eq!(fast.step(Micros(11_000_000)), Arrival::AfterGap(Micros(10_960_000)));
        let mut slow = clock_after(&[0, 8_000_000, 16_000_000]);
        assert_eq!(slow.step(Micros(46_000_000)), Arrival::After(Micros(30_000_000)));
    }

    #[test]
    fn the_ends_of_the_clock_do_not_overflow() {
        let mut clock = clock_after(&[i64::MIN]);
        assert_eq!(clock.step(Micros(i64::MAX)), Arrival::After(Micros(i64::MAX)));
        assert_eq!(clock.step(Micros(i64::MIN)), Arrival::Backward);
    }
}
