//! Running average of the vertical speed over a set time.
//!
//! The mean of a vertical speed over a time is the height gained in it divided by the time, so the
//! average needs heights, not speeds: `(h(now) - h(now - T)) / T`. Heights are kept at 60 or more
//! even spacings within T, and the height at exactly `now - T` is interpolated. Until T has passed,
//! the average covers the time so far.

use crate::error::SettingsError;
use crate::rows::{Group, Kind};
use crate::units::{Metre, MetrePerSecond, Micros};
use heapless::Deque;

/// Number of heights kept. The average covers its time within one part in 60.
const CAPACITY: usize = 64;
/// No average is shown before this time: a mean over less is no steadier than the reading.
const SHORTEST: Micros = Micros(2_000_000);

/// After a longer pause the average begins anew; times of points wrap after 71 minutes.
const LONGEST_PAUSE: Micros = Micros(1_800_000_000);

setting_group! {
    /// The running average.
    pub struct AverageSettings = "", "The running average." {
        span_s as "average_s": f32 = 20.0, "s", Kind::number(5.0, 300.0),
            "Time over which the average is taken. The default is about one circle in a thermal \
            (common practice, no source).";
    }
}

/// The average with its settings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct RunningAverage {
    span: Micros,
}

/// Times are kept as wrapping 32-bit numbers: only spans of 300 s and less are needed, and it
/// halves the memory.
#[derive(Clone, Copy, Debug)]
struct Point {
    time_us: u32,
    height: Metre,
}

impl Point {
    fn at(time: Micros, height: Metre) -> Self {
        Self { time_us: time.0 as u32, height }
    }

    /// The span from `earlier`, up to 71 minutes.
    fn since(self, earlier: Point) -> Micros {
        Micros(i64::from(self.time_us.wrapping_sub(earlier.time_us)))
    }
}

/// The heights within the last averaging time.
#[derive(Clone, Debug, Default)]
pub(crate) struct AverageState {
    points: Deque<Point, CAPACITY>,
    last: Micros,
}

impl RunningAverage {
    /// The average of `settings`.
    ///
    /// # Errors
    /// A time out of range.
    pub(crate) fn of(settings: &AverageSettings) -> Result<Self, SettingsError> {
        settings.check_ranges()?;
        Ok(Self::new(settings.span_s))
    }

    /// An average over `span_s` seconds; useful from 5 to 300 s, the settings check the range.
    pub(crate) fn new(span_s: f32) -> Self {
        Self { span: Micros((span_s * 1.0e6) as i64) }
    }

    /// Takes the filtered height at `time` and returns the mean vertical speed over the averaging
    /// time.
    ///
    /// `None` in the first 2 s.
    pub(crate) fn step(
        &self,
        state: &mut AverageState,
        time: Micros,
        height: Metre,
    ) -> Option<MetrePerSecond> {
        let now = Point::at(time, height);
        if time.since(state.last) > LONGEST_PAUSE {
            state.points.clear();
        }
        state.last = time;
        self.forget_old(state, now);
        self.keep(state, now);
        let start = self.start_of_span(state, now)?;
        let elapsed = now.since(start);
        (elapsed >= SHORTEST)
            .then(|| MetrePerSecond((height.0 - start.height.0) / elapsed.as_seconds()))
    }

    /// Drops points older than the averaging time, but keeps the newest of those for interpolation.
    fn forget_old(&self, state: &mut AverageState, now: Point) {
        while let Some(second) = state.points.iter().nth(1) {
            if now.since(*second) < self.span {
                break;
            }
            state.points.pop_front();
        }
    }

    fn keep(&self, state: &mut AverageState, point: Point) {
        // At most 300 s, in 32 bits, which a small processor divides many times as fast as 64.
        let spacing_us = self.span.0 as u32 / (CAPACITY as u32 - 3);
        let spacing = Micros(i64::from(spacing_us));
        let due = state.points.back().is_none_or(|last| point.since(*last) >= spacing);
        if due {
            // Never full: the spacing leaves room for the two points beyond the ends.
            let _ = state.points.push_back(point);
        }
    }

    /// The height one averaging time ago, or the oldest one.
    fn start_of_span(&self, state: &AverageState, now: Point) -> Option<Point> {
        let mut points = state.points.iter();
        let first = *points.next()?;
        let excess = now.since(first).since(self.span);
        match points.next() {
            Some(second) if excess.0 > 0 => Some(interpolate(first, *second, excess)),
            _ => Some(first),
        }
    }
}

fn interpolate(from: Point, to: Point, after: Micros) -> Point {
    let share = after.as_seconds() / to.since(from).as_seconds();
    Point {
        time_us: from.time_us.wrapping_add(after.0 as u32),
        height: Metre(from.height.0 + share * (to.height.0 - from.height.0)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// Feeds a height of `height_m(t)` at `rate_hz` and returns the averages with their times.
    fn averages(
        span_s: f32,
        rate_hz: i64,
        seconds: i64,
        height_m: impl Fn(f64) -> f64,
    ) -> std::vec::Vec<(f64, f32)> {
        let average = RunningAverage::new(span_s);
        let mut state = AverageState::default();
        (0..seconds * rate_hz)
            .filter_map(|sample| {
                let time = Micros(sample * 1_000_000 / rate_hz);
                let seconds = time.0 as f64 * 1e-6;
                average
                    .step(&mut state, time, Metre(height_m(seconds) as f32))
                    .map(|mean| (seconds, mean.0))
            })
            .collect()
    }

    #[test]
    fn a_steady_climb_averages_to_itself_at_every_rate() {
        for rate_hz in [1, 5, 50, 200] {
            for (_, mean) in averages(20.0, rate_hz, 90, |t| 2.5 * t) {
                assert_abs_diff_eq!(mean, 2.5, epsilon = 0.001);
            }
        }
    }

    #[test]
    fn a_climb_that_ends_leaves_the_average_after_exactly_its_time() {
        let climb_until_30_s = |t: f64| 2.0 * t.min(30.0);
        for (time, mean) in averages(20.0, 50, 80, climb_until_30_s) {
            let remembered = (50.0 - time).clamp(0.0, 20.0) as f32;
            let expected = 2.0 * remembered / (time as f32).min(20.0);
            assert_abs_diff_eq!(mean, expected.min(2.0), epsilon = 0.01);
        }
    }

    #[test]
    fn no_average_in_the_first_two_seconds() {
        let all = averages(20.0, 50, 10, |t| t);
        assert_abs_diff_eq!(all[0].0, 2.0, epsilon = 1e-9);
    }

    #[test]
    fn samples_further_apart_than_the_averaging_time_average_over_their_own_interval() {
        let average = RunningAverage::new(10.0);
        let mut state = AverageState::default();
        let mut last = None;
        for sample in 0..5 {
            last =
                average.step(&mut state, Micros(sample * 30_000_000), Metre(sample as f32 * 60.0));
        }
        assert_abs_diff_eq!(last.unwrap().0, 2.0, epsilon = 1e-4);
    }
}
