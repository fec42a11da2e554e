//! Values that came without a static pressure, held for the next sample that has one.
//!
//! Sensors with clocks of their own, and logs that give each measurement a row, have samples with
//! an airspeed and no static pressure. What they bring is used with the next static pressure that
//! comes without its own:
//!
//! ```text
//! pitot            q1        q2        q3
//! static      p1        p2        p3        p4
//! used        p1        p2 q1     p3 q2     p4 q3
//! ```
//!
//! A value is held for three of its own usual intervals, and never longer than 3 s (guesses: two
//! measurements may be lost before the sensor counts as missing; in 3 s a pull-up is over). Before
//! its second value the interval is not known, and the 3 s hold.
//!
//! Until the first sample without a static pressure nothing is held: in a stream whose samples all
//! have one, a missing airspeed is a missing airspeed.

use crate::sensing::sample::{Sample, Speed};
use crate::units::{Kelvin, Micros, Pascal};

const INTERVALS: u32 = 3;
const AT_MOST_US: u32 = 3_000_000;
/// This many samples back in time in a row mean that the clock was set back, as in
/// [`crate::sensing::clock`].
const BACKWARD_LIMIT: u8 = 10;

/// What is held between samples.
#[derive(Clone, Copy, Debug, Default)]
pub struct Held {
    speed: Kept<Speed>,
    te_pressure: Kept<Pascal>,
    outside_air: Kept<Kelvin>,
    /// The time of the last sample, with or without a static pressure.
    last: Micros,
    has_last: bool,
    backward_in_a_row: u8,
    /// Whether there was a sample without a static pressure.
    is_used: bool,
}

impl Held {
    /// The sample with what is held for it; of one without a static pressure, the values are held
    /// from now on and it is returned as it is.
    pub fn fill(&mut self, sample: &Sample) -> Sample {
        self.filled(sample).unwrap_or(*sample)
    }

    /// The same; `None` where it is the sample as it is. A sample is large, and in most streams
    /// nothing is ever held.
    pub(crate) fn filled(&mut self, sample: &Sample) -> Option<Sample> {
        let elapsed = self.since_last(sample.time);
        (self.last, self.has_last, self.backward_in_a_row) = (sample.time, true, 0);
        let is_partial = sample.static_pressure.is_none();
        self.is_used |= is_partial;
        if !self.is_used {
            return None;
        }
        // What is held from the time before a clock was set back is of no age that is known.
        let us = elapsed.map_or(u32::MAX, |elapsed| u32::try_from(elapsed.0).unwrap_or(u32::MAX));
        let speed = self.speed.step(us, sample.usable_speed());
        let te_pressure = self.te_pressure.step(us, sample.usable_te_pressure());
        let outside_air = self.outside_air.step(us, sample.usable_outside_air());
        (!is_partial).then_some(Sample { speed, te_pressure, outside_air, ..*sample })
    }

    /// Whether a sample without a static pressure comes in order of time; those that do not are
    /// counted, and ten in a row mean that the clock was set back.
    pub(crate) fn is_in_order(&mut self, time: Micros) -> bool {
        let is_backward = self.has_last && time < self.last;
        self.backward_in_a_row =
            if is_backward { self.backward_in_a_row.saturating_add(1) } else { 0 };
        !is_backward || self.backward_in_a_row >= BACKWARD_LIMIT
    }

    /// Time since the last sample, with or without a static pressure; `None` before the first and
    /// where time went back.
    pub(crate) fn since_last(&self, time: Micros) -> Option<Micros> {
        (self.has_last && time >= self.last).then(|| time.since(self.last))
    }
}

/// The last value of one sensor.
#[derive(Clone, Copy, Debug)]
struct Kept<T> {
    value: Option<T>,
    /// Time since it came.
    age_us: u32,
    /// A running mean of its intervals, each counted as [`AT_MOST_US`] at most; at first that.
    usual_us: u32,
}

impl<T> Default for Kept<T> {
    fn default() -> Self {
        Self { value: None, age_us: u32::MAX, usual_us: AT_MOST_US }
    }
}

impl<T: Copy> Kept<T> {
    /// Takes a new value, where there is one, `elapsed_us` after the last call; returns the value
    /// that is valid then.
    fn step(&mut self, elapsed_us: u32, value: Option<T>) -> Option<T> {
        self.age_us = self.age_us.saturating_add(elapsed_us);
        let Some(value) = value else {
            let limit_us = (INTERVALS * self.usual_us).min(AT_MOST_US);
            return self.value.filter(|_| self.age_us <= limit_us);
        };
        if self.value.is_some() {
            let interval = self.age_us.min(AT_MOST_US);
            let is_second = self.usual_us == AT_MOST_US;
            let usual = if is_second { interval } else { self.usual_us };
            self.usual_us = usual - usual / 4 + interval / 4;
        }
        (self.value, self.age_us) = (Some(value), 0);
        Some(value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::MetrePerSecond;

    fn with_speed(time_ms: i64, has_static: bool, speed_mps: Option<f32>) -> Sample {
        let mut sample = Sample::of_static(Micros(1_000 * time_ms), Pascal(90_000.0));
        sample.static_pressure = sample.static_pressure.filter(|_| has_static);
        sample.speed = speed_mps.map(|speed| Speed::True(MetrePerSecond(speed)));
        sample
    }

    fn speed_of(sample: Sample) -> Option<f32> {
        match sample.speed {
            Some(Speed::True(speed)) => Some(speed.0),
            _ => None,
        }
    }

    #[test]
    fn a_speed_without_a_static_pressure_goes_with_the_next_one() {
        let mut held = Held::default();
        assert_eq!(held.fill(&with_speed(0, false, Some(30.0))), with_speed(0, false, Some(30.0)));
        assert_eq!(speed_of(held.fill(&with_speed(10, true, None))), Some(30.0));
        assert_eq!(speed_of(held.fill(&with_speed(20, true, Some(31.0)))), Some(31.0));
        // Its own interval is 20 ms: it is valid for 60 ms.
        assert_eq!(speed_of(held.fill(&with_speed(80, true, None))), Some(31.0));
        assert_eq!(speed_of(held.fill(&with_speed(81, true, None))), None);
    }

    #[test]
    fn nothing_is_held_longer_than_three_seconds() {
        for first in [None, Some(29.0)] {
            let mut held = Held::default();
            held.fill(&with_speed(-60_000, false, first));
            held.fill(&with_speed(0, false, Some(30.0)));
            assert_eq!(speed_of(held.fill(&with_speed(3_000, true, None))), Some(30.0));
            assert_eq!(speed_of(held.fill(&with_speed(3_001, true, None))), None);
        }
    }

    #[test]
    fn nothing_is_held_while_every_sample_has_a_static_pressure() {
        let mut held = Held::default();
        held.fill(&with_speed(0, true, Some(30.0)));
        assert_eq!(speed_of(held.fill(&with_speed(10, true, None))), None);
    }

    #[test]
    fn a_clock_set_back_holds_nothing_from_the_future_and_no_time_overflows() {
        let mut held = Held::default();
        held.fill(&with_speed(5_000, false, Some(30.0)));
        assert_eq!(speed_of(held.fill(&with_speed(4_000, true, None))), None);
        for time in [i64::MIN, i64::MAX, i64::MIN] {
            let mut sample = with_speed(0, false, Some(30.0));
            sample.time = Micros(time);
            held.fill(&sample);
        }
    }
}
