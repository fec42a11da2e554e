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

const INTERVALS: i64 = 3;
const AT_MOST: Micros = Micros(3_000_000);

/// What is held between samples.
#[derive(Clone, Copy, Debug, Default)]
pub struct Held {
    speed: Kept<Speed>,
    te_pressure: Kept<Pascal>,
    outside_air: Kept<Kelvin>,
    /// Whether there was a sample without a static pressure.
    is_used: bool,
}

impl Held {
    /// The sample with what is held for it; of one without a static pressure, the values are held
    /// from now on and it is returned as it is.
    pub fn fill(&mut self, sample: &Sample) -> Sample {
        let mut filled = *sample;
        self.is_used |= sample.static_pressure.is_none();
        if !self.is_used {
            return filled;
        }
        filled.speed = self.speed.step(sample.time, sample.usable_speed());
        filled.te_pressure = self.te_pressure.step(sample.time, sample.usable_te_pressure());
        filled.outside_air = self.outside_air.step(sample.time, sample.usable_outside_air());
        if sample.static_pressure.is_none() { *sample } else { filled }
    }
}

/// The last value of one sensor.
#[derive(Clone, Copy, Debug)]
struct Kept<T> {
    last: Option<(T, Micros)>,
    /// A running mean of its intervals, each counted as [`AT_MOST`] at most.
    usual_interval: Option<Micros>,
}

impl<T> Default for Kept<T> {
    fn default() -> Self {
        Self { last: None, usual_interval: None }
    }
}

impl<T: Copy> Kept<T> {
    /// Takes a new value at `time` where there is one; returns the value that is valid then.
    fn step(&mut self, time: Micros, value: Option<T>) -> Option<T> {
        let Some(value) = value else {
            return self
                .last
                .filter(|(_, at)| self.is_valid(time.since(*at)))
                .map(|(kept, _)| kept);
        };
        if let Some((_, at)) = self.last {
            self.learn(time.since(at));
        }
        self.last = Some((value, time));
        Some(value)
    }

    fn is_valid(&self, age: Micros) -> bool {
        let limit = self.usual_interval.map_or(AT_MOST.0, |usual| INTERVALS * usual.0);
        (0..=limit.min(AT_MOST.0)).contains(&age.0)
    }

    fn learn(&mut self, interval: Micros) {
        // A clock that was set back says nothing about the interval.
        if interval.0 > 0 {
            let interval = interval.0.min(AT_MOST.0);
            let usual = self.usual_interval.map_or(interval, |usual| usual.0);
            self.usual_interval = Some(Micros(usual + (interval - usual) / 4));
        }
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
