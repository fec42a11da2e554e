//! A delay of a fraction of a second for one height channel, to align channels with different lags.
//!
//! Pressure lines of different length and volume lag by different times. When one line lags by T,
//! the other is delayed by T here, before the two are summed:
//!
//! ```text
//! out(t) = in(t - T)        interpolated between the two samples around t - T
//! ```
//!
//! T need not be a whole number of samples. Until there is enough history, the oldest height is
//! used.
//!
//! Linear interpolation reduces a movement of frequency f by at most (2 pi f dt)^2 / 8: 0.2 % at 1
//! Hz and 50 samples a second.
//!
//! Source: linear interpolation; any text on numerical methods.

use crate::units::{Metre, Micros};
use heapless::Deque;

/// The longest delay that the settings allow.
pub(crate) const LONGEST: Micros = Micros(500_000);
/// Number of heights kept. Above 200 samples a second not every height is kept: the ring holds one
/// per 5 ms, plus the newest.
const CAPACITY: usize = 104;
const SPACING_US: u32 = (LONGEST.0 as u32) / (CAPACITY as u32 - 4);

/// Recent heights of one channel.
#[derive(Clone, Debug, Default)]
pub(crate) struct DelayState {
    ring: Deque<Point, CAPACITY>,
    newest: Option<Point>,
}

/// Times are kept as wrapping 32-bit numbers, because only spans under a second are needed and it
/// halves the memory.
#[derive(Clone, Copy, Debug)]
struct Point {
    time_us: u32,
    height_m: f32,
}

impl DelayState {
    /// Takes the `height` at `time` and returns the height `by` earlier; `by` is at most
    /// [`LONGEST`].
    ///
    /// `time` must not go back; samples further apart than the delay give a height between the last
    /// two.
    pub(crate) fn step(&mut self, time: Micros, height: Metre, by: Micros) -> Metre {
        let now = Point { time_us: time.0 as u32, height_m: height.0 };
        self.keep(now);
        self.height_before(now, by.0 as u32)
    }

    fn keep(&mut self, now: Point) {
        if let Some(before) = self.newest {
            let due = self
                .ring
                .back()
                .is_none_or(|last| before.time_us.wrapping_sub(last.time_us) >= SPACING_US);
            if due {
                if self.ring.is_full() {
                    self.ring.pop_front();
                }
                // There is room: if the ring was full, the oldest was removed above.
                let _ = self.ring.push_back(before);
            }
        }
        self.newest = Some(now);
    }

    /// Searches backward from the newest for the first two heights around the wanted moment.
    fn height_before(&self, now: Point, by_us: u32) -> Metre {
        let mut later = now;
        for earlier in self.ring.iter().rev() {
            let age_us = now.time_us.wrapping_sub(earlier.time_us);
            if age_us >= by_us {
                let span_us = later.time_us.wrapping_sub(earlier.time_us);
                let share =
                    if span_us == 0 { 1.0 } else { (age_us - by_us) as f32 / span_us as f32 };
                return Metre(earlier.height_m + share * (later.height_m - earlier.height_m));
            }
            later = *earlier;
        }
        Metre(later.height_m)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use std::vec::Vec;

    /// (time in s, delayed height) of `height_m(t)` sampled at `times_us`.
    fn delayed(
        times_us: impl Iterator<Item = i64>,
        by_us: i64,
        height_m: impl Fn(f64) -> f64,
    ) -> Vec<(f64, f64)> {
        let mut state = DelayState::default();
        times_us
            .map(|time_us| {
                let seconds = time_us as f64 * 1e-6;
                let out =
                    state.step(Micros(time_us), Metre(height_m(seconds) as f32), Micros(by_us));
                (seconds, f64::from(out.0))
            })
            .collect()
    }

    #[test]
    fn a_ramp_is_delayed_by_exactly_the_setting_at_every_rate() {
        for step_us in [1_000, 5_000, 20_000, 77_000, 200_000, 1_000_000] {
            for by_us in [0, 7_000, 60_000, 123_456, 500_000] {
                for (time, out) in delayed((0..400).map(|step| step * step_us), by_us, |t| 3.0 * t)
                {
                    let before = (time - by_us as f64 * 1e-6).max(0.0);
                    assert_abs_diff_eq!(out, 3.0 * before, epsilon = 2e-4);
                }
            }
        }
    }

    #[test]
    fn uneven_samples_and_a_clock_near_the_end_of_32_bits_do_not_matter() {
        let times =
            (0..2_000_i64).map(|step| 4_294_000_000 + step * 20_000 + (step * 7_919) % 15_000);
        for (time, out) in delayed(times, 87_000, |t| 2.0 * (t - 4_294.0)).into_iter().skip(10) {
            assert_abs_diff_eq!(out, 2.0 * (time - 0.087 - 4_294.0), epsilon = 1e-3);
        }
    }

    #[test]
    fn a_one_hertz_movement_loses_no_more_than_documented() {
        let wave = |t: f64| (std::f64::consts::TAU * t).sin();
        for (time, out) in
            delayed((0..500).map(|step| step * 20_000), 50_000, wave).into_iter().skip(10)
        {
            assert_abs_diff_eq!(out, wave(time - 0.05), epsilon = 0.002);
        }
    }
}
