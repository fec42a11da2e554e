//! The order of samples in time: which to use, which to skip, and when the time between them counts
//! as a gap.
//!
//! ```text
//!            dt > 0                      used; a gap where dt > max(10 s, 5 usual intervals)
//!            dt = 0                      repeated: not used
//!            dt < 0                      backward: not used; after 10 in a row the clock must have
//!                                        been set back: restart at the new time
//!            dt + 2^32 us in 0 to 10 s   a 32-bit clock has wrapped (every 71.6 min): used
//! ```
//!
//! The usual interval is a running mean of the intervals seen (weight 1/8), so that a flight log of
//! one sample in 5 s is handled like a sensor at 100 Hz.

use crate::units::Micros;

/// A gap is at least this long (a guess: by then the glider is in different air).
const GAP_US: i64 = 10_000_000;
/// And at least this many times the usual interval (a guess).
const GAP_INTERVALS: i64 = 5;
/// A 32-bit clock wraps here.
const WRAP_US: i64 = 1 << 32;
/// This many backward samples in a row mean that the clock was set back, not samples out of order
/// (a guess).
const BACKWARD_LIMIT: u8 = 10;

/// How a sample arrived.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Arrival {
    /// The first of all: use it.
    First,
    /// This long after the last one used: use it.
    After(Micros),
    /// So long after the last one that earlier samples no longer apply: use it, and restart.
    AfterGap(Micros),
    /// The clock was set back: use it, and restart.
    ClockReset,
    /// At the same time as the last one used: skip it.
    Repeated,
    /// Before the last one used: skip it.
    Backward,
}

/// State of the sampling clock.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct ClockState {
    last: Option<Micros>,
    usual_interval_us: i64,
    backward_in_a_row: u8,
}

impl ClockState {
    /// Classifies the time stamp of the next sample, and stores it.
    pub(crate) fn step(&mut self, time: Micros) -> Arrival {
        let arrival = self.judge(time);
        match arrival {
            Arrival::First => self.last = Some(time),
            Arrival::After(elapsed) | Arrival::AfterGap(elapsed) => self.forward(time, elapsed),
            Arrival::ClockReset => {
                self.last = Some(time);
                self.backward_in_a_row = 0;
            }
            Arrival::Backward => self.backward_in_a_row = self.backward_in_a_row.saturating_add(1),
            Arrival::Repeated => {}
        }
        arrival
    }

    /// Classifies the time stamp of a possible next sample, without storing it.
    pub(crate) fn judge(&self, time: Micros) -> Arrival {
        let Some(last) = self.last else { return Arrival::First };
        let elapsed = time.since(last).0;
        let wrapped = elapsed.saturating_add(WRAP_US);
        match elapsed {
            0 => Arrival::Repeated,
            1.. if elapsed > self.gap_us(elapsed) => Arrival::AfterGap(Micros(elapsed)),
            1.. => Arrival::After(Micros(elapsed)),
            _ if wrapped > 0 && wrapped < GAP_US => Arrival::After(Micros(wrapped)),
            _ if self.backward_in_a_row + 1 >= BACKWARD_LIMIT => Arrival::ClockReset,
            _ => Arrival::Backward,
        }
    }

    /// The running mean of the intervals between samples; zero before the second sample.
    pub(crate) fn usual_interval(&self) -> Micros {
        Micros(self.usual_interval_us)
    }

    /// Intervals above this are gaps; `elapsed_us` is the interval itself, used where it is the
    /// first.
    fn gap_us(&self, elapsed_us: i64) -> i64 {
        let usual = if self.usual_interval_us == 0 { elapsed_us } else { self.usual_interval_us };
        GAP_US.max(usual.saturating_mul(GAP_INTERVALS))
    }

    fn forward(&mut self, time: Micros, elapsed: Micros) {
        let usual = if self.usual_interval_us == 0 { elapsed.0 } else { self.usual_interval_us };
        // A gap counts as no more than the limit, so that a gap of an hour does not make hours
        // usual.
        let counted = elapsed.0.min(self.gap_us(elapsed.0));
        self.usual_interval_us = usual.saturating_add((counted - usual) / 8);
        self.last = Some(time);
        self.backward_in_a_row = 0;
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
    fn repeated_and_backward_samples_are_skipped() {
        let mut clock = clock_after(&[0, 20_000]);
        assert_eq!(clock.step(Micros(20_000)), Arrival::Repeated);
        assert_eq!(clock.step(Micros(10_000)), Arrival::Backward);
        assert_eq!(clock.step(Micros(40_000)), Arrival::After(Micros(20_000)));
    }

    #[test]
    fn a_clock_set_back_is_accepted_at_the_tenth_sample() {
        let mut clock = clock_after(&[1_000_000_000]);
        for sample in 0..9 {
            assert_eq!(clock.step(Micros(sample * 20_000)), Arrival::Backward);
        }
        assert_eq!(clock.step(Micros(180_000)), Arrival::ClockReset);
        assert_eq!(clock.step(Micros(200_000)), Arrival::After(Micros(20_000)));
    }

    #[test]
    fn the_gap_limit_follows_the_usual_interval() {
        let mut fast = clock_after(&[0, 20_000, 40_000]);
        assert_eq!(fast.step(Micros(11_000_000)), Arrival::AfterGap(Micros(10_960_000)));
        let mut slow = clock_after(&[0, 8_000_000, 16_000_000]);
        assert_eq!(slow.step(Micros(46_000_000)), Arrival::After(Micros(30_000_000)));
    }

    #[test]
    fn a_clock_of_32_bits_may_wrap() {
        let before = (1_i64 << 32) - 5_000;
        let mut clock = clock_after(&[before - 20_000, before]);
        assert_eq!(clock.step(Micros(15_000)), Arrival::After(Micros(20_000)));
        assert_eq!(clock.step(Micros(35_000)), Arrival::After(Micros(20_000)));
    }

    #[test]
    fn a_single_early_time_stamp_does_no_harm() {
        // 65.536 ms too early: a lost carry between two halves of a counter.
        let mut clock = clock_after(&[1_000_000, 1_020_000]);
        assert_eq!(clock.step(Micros(1_040_000 - 65_536)), Arrival::Backward);
        assert_eq!(clock.step(Micros(1_060_000)), Arrival::After(Micros(40_000)));
    }

    #[test]
    fn the_ends_of_the_clock_do_not_overflow() {
        let mut clock = clock_after(&[i64::MIN]);
        assert_eq!(clock.step(Micros(i64::MAX)), Arrival::After(Micros(i64::MAX)));
        assert_eq!(clock.step(Micros(i64::MIN)), Arrival::Backward);
    }

    #[test]
    fn the_usual_interval_begins_with_the_first_and_follows_by_an_eighth() {
        assert_eq!(clock_after(&[0]).usual_interval(), Micros(0));
        assert_eq!(clock_after(&[0, 20_000]).usual_interval(), Micros(20_000));
        assert_eq!(clock_after(&[0, 20_000, 60_000]).usual_interval(), Micros(22_500));
    }
}
