//! Suspects a static line that is blocked: ice, water, a kinked tube.
//!
//! Behind the block the static pressure stands still, while the pitot still feels the true one. So
//! the measured altitude h is constant and the measured kinetic height K = V^2/2g takes up what the
//! altitude lacks: in a glide at constant speed it grows by the sink rate, in a climb it shrinks,
//! and a pull-up shrinks it by twice its height. What sounds is the reverse of the truth: sink
//! sounds like climb.
//!
//! From means of 2 s:
//!
//! ```text
//! TRUSTED   ---- for 30 s at a flying speed h has stayed within 0.5 m of a point that follows it
//!                at 5 cm/s; since then K has changed by 10 m ---------------> SUSPECTED
//!           <--- h has moved by 2 m from that point, or a gap
//! ```
//!
//! Below flying speed it begins anew, but a suspicion stays. On the ground, a take-off run has a
//! flying speed for 10 to 15 s (common practice, no source).
//!
//! **Why no flight does that.** Measured on 5.2 h of a sailplane at 1 Hz, two minutes of an
//! unmanned aircraft at 45 Hz, and 10 h of simulated flights: h stood still in this sense for 20 s
//! at most; where K changed by 10 m meanwhile, for 8 s at most. In any 30 s in which K changed by
//! 10 m, h spanned 6.5 m or more. An automatic pilot that holds its height to half a metre and
//! speeds up for half a minute would be suspected, wrongly. The figures of the rule are guesses,
//! with that margin.
//!
//! **What it cannot see:** a line blocked while K stands still too, because the glider neither
//! sinks nor climbs, or because the pilot holds the airspeed that the same line falsifies (true
//! speed is then lost at the sink rate); a line that is only narrow, or leaks, and in sink of 0.7
//! m/s follows less than some 100 s late; trapped air that is warmed or cooled enough to move h by
//! more than 5 cm/s (0.6 Pa/s near the ground, a fiftieth of a degree in 10 s); without an
//! airspeed, nothing. A climb may take the measured airspeed below flying speed before the 30 s are
//! over; if it falls on below zero, [`crate::air::tubes`] speaks.
//!
//! It only suspects, and the reading goes on. It replaces no look at another altimeter.

use crate::air::air_data::AirData;
use crate::air::atmosphere::GRAVITY_MPS2;
use crate::air::energy::FLYING_SPEED;
use crate::units::{Metre, Micros, limited};

/// Length of a mean, and the longest for which one is compared with the next.
const MEAN_FOR_US: u32 = 2_000_000;
const MEAN_AT_MOST_US: u32 = 10_000_000;
/// How far the altitude may be from where it stood, and how fast that may move: trapped air that
/// warms up, weather.
const STILL_M: f32 = 0.5;
const DRIFT_MPS: f32 = 0.05;
const STILL_FOR_S: u8 = 30;
const KINETIC_CHANGE_M: f32 = 10.0;
/// An altitude that moves so far moves again.
const MOVES_M: f32 = 2.0;
/// Kinetic height of a speed squared.
const KINETIC_M_PER_SQUARE: f32 = 0.5 / GRAVITY_MPS2;

/// State of the watch, in few bytes: a small board's memory is nearly full.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct StaticLineState {
    phase: Phase,
    /// Altitude and kinetic height since when the altitude stands still; in [`Phase::New`] the
    /// altitude of the first sample.
    altitude: Metre,
    kinetic: Metre,
    /// Samples on their way to a mean: their time in microseconds, how many have an airspeed, the
    /// sum of what they are above `altitude`, and of their squared speeds.
    time_us: u32,
    samples: u16,
    above_m: f32,
    squared_speed: f32,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Phase {
    /// There is nothing to compare with.
    #[default]
    New,
    /// The altitude stands still for so many seconds.
    Trusted(u8),
    Suspected,
}

/// A mean of some seconds.
struct Mean {
    time_us: u32,
    altitude: Metre,
    kinetic: Metre,
    flies: bool,
}

impl StaticLineState {
    /// Takes the air data of a sample, `elapsed` after the one before; returns whether the static
    /// line is suspected to be blocked. A sample without an airspeed changes nothing.
    pub(crate) fn step(&mut self, elapsed: Micros, air: &AirData) -> bool {
        let elapsed_us = u32::try_from(elapsed.0).unwrap_or(u32::MAX);
        self.time_us = self.time_us.saturating_add(elapsed_us);
        if let Some(speed) = air.true_airspeed {
            if self.samples == 0 && self.phase == Phase::New {
                self.altitude = air.altitude;
            }
            self.samples = self.samples.saturating_add(1);
            self.above_m += air.altitude.0 - self.altitude.0;
            self.squared_speed += speed.0 * speed.0;
            if self.time_us >= MEAN_FOR_US {
                let mean = self.take_mean(air.density_ratio);
                self.judge(&mean);
            }
        }
        self.phase == Phase::Suspected
    }

    /// After a gap the height may be different.
    pub(crate) fn restart(&mut self) {
        *self = Self::default();
    }

    /// The mean of the samples since the last; `density_ratio` is that of [`AirData`].
    fn take_mean(&mut self, density_ratio: f32) -> Mean {
        let share = 1.0 / f32::from(self.samples);
        let square = share * self.squared_speed;
        let slowest_mps = FLYING_SPEED.0 * density_ratio;
        let mean = Mean {
            time_us: self.time_us,
            altitude: Metre(self.altitude.0 + share * self.above_m),
            kinetic: Metre(KINETIC_M_PER_SQUARE * square),
            flies: square >= slowest_mps * slowest_mps,
        };
        let Self { phase, altitude, kinetic, .. } = *self;
        *self = Self { phase, altitude, kinetic, ..Self::default() };
        mean
    }

    fn judge(&mut self, mean: &Mean) {
        let away_m = mean.altitude.0 - self.altitude.0;
        let stands = match self.phase {
            Phase::New => false,
            Phase::Trusted(_) => {
                away_m.abs() <= STILL_M && mean.time_us <= MEAN_AT_MOST_US && mean.flies
            }
            Phase::Suspected => away_m.abs() <= MOVES_M,
        };
        if !stands {
            self.phase = if mean.flies { Phase::Trusted(0) } else { Phase::New };
            (self.altitude, self.kinetic) = (mean.altitude, mean.kinetic);
            return;
        }
        self.altitude.0 += limited(away_m, DRIFT_MPS * 1.0e-6 * mean.time_us as f32);
        if let Phase::Trusted(before_s) = self.phase {
            let more_s = u8::try_from(mean.time_us / 1_000_000).unwrap_or(u8::MAX);
            let still_s = before_s.saturating_add(more_s);
            let changed = (mean.kinetic.0 - self.kinetic.0).abs() >= KINETIC_CHANGE_M;
            let is_suspect = still_s >= STILL_FOR_S && changed;
            self.phase = if is_suspect { Phase::Suspected } else { Phase::Trusted(still_s) };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::air::atmosphere::pressure_at;
    use crate::sensing::sample::{Sample, Speed};
    use crate::units::Pascal;
    use std::vec::Vec;

    const SPEED_MPS: f32 = 28.0;
    const NONE: [f32; 0] = [];

    /// What the sensors see: true height and equivalent airspeed, and the height of the pressure in
    /// the static line.
    struct Moment {
        height_m: f32,
        speed_mps: f32,
        line_m: f32,
    }

    fn air(moment: &Moment) -> AirData {
        let total_pa =
            pressure_at(Metre(moment.height_m)).0 + 0.6125 * moment.speed_mps * moment.speed_mps;
        let at_static = pressure_at(Metre(moment.line_m));
        let speed = Some(Speed::Dynamic(Pascal(total_pa - at_static.0)));
        AirData::of(&Sample { speed, ..Sample::of_static(Micros(0), at_static) }).unwrap()
    }

    /// The seconds at which the suspicion begins and ends, at one sample in `interval_s`.
    fn suspected(interval_s: f32, seconds: f32, of: impl Fn(f32) -> Moment) -> Vec<f32> {
        let mut state = StaticLineState::default();
        let elapsed = Micros((interval_s * 1.0e6) as i64);
        let (mut changes, mut last) = (Vec::new(), false);
        for step in 0..(seconds / interval_s) as i32 {
            let t = step as f32 * interval_s;
            let now = state.step(elapsed, &air(&of(t)));
            if core::mem::replace(&mut last, now) != now {
                changes.push(t);
            }
        }
        changes
    }

    /// A glide at a constant speed whose static line is closed from second 20 to second 200.
    fn closed(sink_mps: f32) -> impl Fn(f32) -> Moment {
        move |t| {
            let height_m = 1200.0 - sink_mps * t;
            let line_m =
                if (20.0..200.0).contains(&t) { 1200.0 - sink_mps * 20.0 } else { height_m };
            Moment { height_m, speed_mps: SPEED_MPS, line_m }
        }
    }

    /// The same open, at another speed from moment to moment.
    fn open(
        height_m: impl Fn(f32) -> f32,
        speed_mps: impl Fn(f32) -> f32,
    ) -> impl Fn(f32) -> Moment {
        move |t| Moment { height_m: height_m(t), speed_mps: speed_mps(t), line_m: height_m(t) }
    }

    #[test]
    fn a_closed_line_is_suspected_within_34_seconds_and_trusted_2_after_it_opens() {
        for sink_mps in [0.5, 0.7, 1.0, 2.0] {
            for interval_s in [0.02, 0.25, 1.0] {
                let changes = suspected(interval_s, 300.0, closed(sink_mps));
                let [from, to] = changes[..] else { panic!("{sink_mps} m/s: {changes:?}") };
                assert!((49.0..54.0).contains(&from), "{sink_mps} m/s: {from} s");
                assert!((200.0..202.1).contains(&to), "{sink_mps} m/s: {to} s");
            }
        }
        // In weak sink it takes as long as the sink takes for 10 m.
        let changes = suspected(0.1, 190.0, closed(0.2));
        assert!((70.0..74.1).contains(&changes[0]), "{changes:?}");
        // A slow log has means of one sample.
        let changes = suspected(4.0, 300.0, closed(0.7));
        assert!((48.0..57.0).contains(&changes[0]), "{changes:?}");
    }

    #[test]
    fn a_climb_behind_a_closed_line_is_suspected_while_the_measured_speed_is_a_flying_one() {
        assert!((49.0..54.0).contains(&suspected(0.1, 60.0, closed(-0.7))[0]));
        assert_eq!(suspected(0.1, 190.0, closed(-2.0)), NONE);
    }

    #[test]
    fn flights_with_an_open_line_are_not_suspected() {
        let swing = |t: f32| libm::sinf(t * 0.4);
        // A glide, level flight at a constant speed, a porpoise, and level acceleration in lift.
        let glide = open(|t| 1200.0 - 0.7 * t, |_| SPEED_MPS);
        assert_eq!(suspected(0.1, 600.0, glide), NONE);
        assert_eq!(suspected(0.1, 600.0, open(|_| 1200.0, |_| SPEED_MPS)), NONE);
        let porpoise = open(|t| 1200.0 + 30.0 * swing(t), |t| SPEED_MPS - 5.0 * swing(t));
        assert_eq!(suspected(0.1, 600.0, porpoise), NONE);
        let spurt = open(|t| 1200.0 - (t - 20.0).max(0.0), |t| SPEED_MPS + t.min(20.0));
        assert_eq!(suspected(0.1, 120.0, spurt), NONE);
        // Parked, a take-off run, a landing.
        assert_eq!(suspected(0.1, 600.0, open(|_| 300.0, |t| 5.0 + 4.0 * swing(t))), NONE);
        let run = open(|t| 300.0 + 3.0 * (t - 25.0).max(0.0), |t| (1.2 * t).min(30.0));
        assert_eq!(suspected(0.1, 120.0, run), NONE);
        let landing = open(|t| 300.0 + (20.0 - t).max(0.0), |t| (45.0 - t).clamp(0.0, 25.0));
        assert_eq!(suspected(0.1, 120.0, landing), NONE);
    }

    #[test]
    fn what_it_cannot_see() {
        // Neither climb nor sink.
        assert_eq!(suspected(0.1, 190.0, closed(0.0)), NONE);
        // A pilot who holds the airspeed that the same line shows: his true one is lost.
        let held = |t: f32| {
            let square = SPEED_MPS * SPEED_MPS - 2.0 * 9.81 * 0.7 * t;
            Moment { height_m: 1200.0 - 0.7 * t, speed_mps: square.max(0.0).sqrt(), line_m: 1200.0 }
        };
        assert_eq!(suspected(0.1, 50.0, held), NONE);
        // A narrow line: it follows, but so much later.
        let narrow = |late_s: f32| {
            move |t: f32| {
                let late_m = 0.7 * late_s * (1.0 - libm::expf(-t / late_s));
                let height_m = 1200.0 - 0.7 * t;
                Moment { height_m, speed_mps: SPEED_MPS, line_m: height_m + late_m }
            }
        };
        assert_eq!(suspected(0.1, 600.0, narrow(20.0)), NONE);
        assert_eq!(suspected(0.1, 600.0, narrow(100.0)), NONE);
        assert!(!suspected(0.1, 600.0, narrow(300.0)).is_empty());
        // Trapped air that warms up: seen at 4 cm/s, not at 10.
        let warming = |rate_mps: f32| {
            move |t: f32| Moment { line_m: 1200.0 - rate_mps * t, ..closed(0.7)(t) }
        };
        assert_eq!(suspected(0.1, 190.0, warming(0.04)).len(), 1);
        assert_eq!(suspected(0.1, 190.0, warming(0.1)), NONE);
    }

    #[test]
    fn an_automatic_pilot_that_speeds_up_at_one_height_for_half_a_minute_is_suspected_wrongly() {
        let level = open(|_| 1200.0, |t| SPEED_MPS + 0.2 * t);
        assert_eq!(suspected(0.1, 60.0, level).len(), 1);
        let level = open(|t| 1200.0 + 0.7 * libm::sinf(t * 0.7), |t| SPEED_MPS + 0.2 * t);
        assert_eq!(suspected(0.1, 60.0, level), NONE, "a human one");
    }

    #[test]
    fn a_suspicion_outlasts_slow_flight_and_lost_airspeeds_and_ends_with_a_gap() {
        let mut state = StaticLineState::default();
        let second = Micros(1_000_000);
        let seen = |t: f32| air(&closed(0.7)(t));
        assert!((0..70).map(|t| state.step(second, &seen(t as f32))).last().unwrap());
        let bare = AirData::of(&Sample::of_static(Micros(0), pressure_at(Metre(1186.0)))).unwrap();
        assert!((0..60).all(|_| state.step(second, &bare)));
        assert!(state.step(second, &seen(130.0)));
        let slow = air(&Moment { height_m: 1186.0, speed_mps: 5.0, line_m: 1186.0 });
        let mut late = state;
        assert!((0..60).all(|_| late.step(second, &slow)));
        state.restart();
        assert!(!state.step(second, &seen(80.0)));
    }

    #[test]
    fn without_an_airspeed_or_with_one_a_minute_nothing_is_suspected() {
        let mut state = StaticLineState::default();
        let bare = AirData::of(&Sample::of_static(Micros(0), pressure_at(Metre(1200.0)))).unwrap();
        for t in 0..6000 {
            let seen = if t % 600 == 0 { air(&closed(0.7)(30.0 + 0.01 * t as f32)) } else { bare };
            assert!(!state.step(Micros(100_000), &seen), "{t}");
        }
    }

    #[test]
    fn it_remembers_little() {
        assert!(size_of::<StaticLineState>() <= 24, "{}", size_of::<StaticLineState>());
    }
}
