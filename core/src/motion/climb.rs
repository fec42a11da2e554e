//! The present climb: its duration, height gained and average rate.
//!
//! A climb's beginning and end are found from the energy height, which a pull-up does not change:
//!
//! ```text
//!                15 m above the lowest point since the last climb
//!     GLIDING -------------------------------------------------->  CLIMBING
//!             <--------------------------------------------------
//!                15 m below the highest point of the climb,
//!                or 45 s without a new highest point
//! ```
//!
//! A climb counts from the last moment within 2 m of that lowest point, so that a minute of flying
//! level before the thermal is not averaged in; its average is `(h(now) - h(then)) / (now - then)`.
//! Half a circle in sink, 20 s at -0.7 m/s, does not end it; leaving a thermal does, some 10 to 20
//! s later at the glider's own sink.
//!
//! Source: none; the rule and its figures are ours. Without total energy it uses the altitude, and
//! then a pull-up of 15 m counts as a climb.

use crate::units::{Metre, MetrePerSecond, Micros};

const BEGINS_M: f32 = 15.0;
const ENDS_M: f32 = 15.0;
const ENDS_AFTER: Micros = Micros(45_000_000);
/// A new highest point must be this much higher; less is filter noise.
const NEW_M: f32 = 1.0;
const LINGERS_M: f32 = 2.0;

/// A climb so far.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Climb {
    /// Energy height gained since it began.
    pub gain: Metre,
    /// Time since it began.
    pub lasted: Micros,
    /// Gain divided by time.
    pub average: MetrePerSecond,
}

impl Climb {
    /// The same climb with its heights multiplied by `scale`.
    pub(crate) fn scaled(self, scale: f32) -> Self {
        Self {
            gain: Metre(scale * self.gain.0),
            average: MetrePerSecond(scale * self.average.0),
            ..self
        }
    }
}

/// State of climb detection.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct ClimbState {
    lowest: Option<Metre>,
    /// The point at which a climb would begin, or began.
    start: Point,
    /// The highest point of the climb, while there is a climb.
    highest: Option<Point>,
}

#[derive(Clone, Copy, Debug, Default)]
struct Point {
    time: Micros,
    height: Metre,
}

impl ClimbState {
    /// Takes the filtered energy height at `time`, which must not go back; returns the present
    /// climb, if there is one.
    pub(crate) fn step(&mut self, time: Micros, height: Metre) -> Option<Climb> {
        let now = Point { time, height };
        match self.highest {
            None => self.glide(now),
            Some(highest) => self.climb(now, highest),
        }
        self.highest.map(|_| self.climb_until(now))
    }

    fn glide(&mut self, now: Point) {
        let lowest = *self.lowest.get_or_insert(now.height);
        if now.height < lowest {
            self.lowest = Some(now.height);
        }
        if now.height.0 <= lowest.0 + LINGERS_M {
            self.start = now;
        } else if now.height.0 >= lowest.0 + BEGINS_M {
            self.highest = Some(now);
        }
    }

    fn climb(&mut self, now: Point, highest: Point) {
        if now.height.0 >= highest.height.0 + NEW_M {
            self.highest = Some(now);
        } else if now.height.0 <= highest.height.0 - ENDS_M
            || now.time.since(highest.time) >= ENDS_AFTER
        {
            *self = Self { lowest: Some(now.height), start: now, highest: None };
        }
    }

    fn climb_until(&self, now: Point) -> Climb {
        let (gain, lasted) = (now.height.0 - self.start.height.0, now.time.since(self.start.time));
        let seconds = lasted.as_seconds();
        let average = if seconds > 0.0 { gain / seconds } else { 0.0 };
        Climb { gain: Metre(gain), lasted, average: MetrePerSecond(average) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use std::vec::Vec;

    /// (time, climb) at 10 Hz.
    fn climbs(seconds: i64, height_m: impl Fn(f32) -> f32) -> Vec<(f32, Option<Climb>)> {
        let mut state = ClimbState::default();
        (0..seconds * 10)
            .map(|step| {
                let t = step as f32 * 0.1;
                (t, state.step(Micros(step * 100_000), Metre(height_m(t))))
            })
            .collect()
    }

    /// A glide at 0.7 m/s for 60 s, a climb at 2 m/s for 120 s, a glide again.
    fn flight(t: f32) -> f32 {
        1000.0 - 0.7 * t.min(60.0) + 2.0 * (t - 60.0).clamp(0.0, 120.0) - 0.7 * (t - 180.0).max(0.0)
    }

    #[test]
    fn a_climb_counts_from_its_own_beginning() {
        let all = climbs(240, flight);
        let first = all.iter().find(|(_, climb)| climb.is_some()).unwrap().0;
        // 15 m at 2 m/s.
        assert_abs_diff_eq!(first, 67.5, epsilon = 0.2);
        let last = all[1799].1.unwrap();
        assert_abs_diff_eq!(last.gain.0, 240.0 - 2.0, epsilon = 0.5);
        assert_abs_diff_eq!(last.average.0, 2.0, epsilon = 0.001);
        let ended = all.iter().rfind(|(_, climb)| climb.is_some()).unwrap().0;
        // 15 m at 0.7 m/s.
        assert_abs_diff_eq!(ended, 180.0 + 15.0 / 0.7, epsilon = 1.0 / 0.7 + 0.2);
    }

    #[test]
    fn flying_level_before_a_thermal_is_not_averaged_in() {
        let all = climbs(200, |t| 500.0 + 1.0 * (t - 100.0).max(0.0));
        let climb = all.last().unwrap().1.unwrap();
        assert_abs_diff_eq!(climb.average.0, 1.0, epsilon = 0.001);
        assert_abs_diff_eq!(climb.lasted.as_seconds(), 99.9, epsilon = 2.1);
    }

    #[test]
    fn half_a_circle_in_sink_does_not_end_a_climb_but_a_minute_without_gain_does() {
        let circling = |t: f32| 800.0 + 1.5 * t - 25.0 * (1.0 - (t * 0.3).cos()) / 2.0;
        assert!(climbs(300, circling).iter().skip(400).all(|(_, climb)| climb.is_some()));
        let holds = |t: f32| 800.0 + 2.0 * t.min(60.0);
        let ended = climbs(200, holds).iter().rfind(|(_, climb)| climb.is_some()).unwrap().0;
        assert_abs_diff_eq!(ended, 60.0 + 45.0, epsilon = 0.7);
    }

    #[test]
    fn slow_sink_and_ten_metre_waves_are_not_climbs() {
        let all = climbs(900, |t| 2000.0 - 0.6 * t + 5.0 * (t * 0.2).sin());
        assert!(all.iter().all(|(_, climb)| climb.is_none()));
    }
}
