//! Launch detection: whether the glider has left the ground, so that gusts on a parked glider are
//! silent.
//!
//! ```text
//!              15 m/s of airspeed for 3 s, or 10 m from ground height for 1 s
//!      GROUND -----------------------------------------------------------------> FLIGHT
//!             <-----------------------------------------------------------------
//!              only with an airspeed: below 10 m/s, and height within 3 m, for 60 s
//! ```
//!
//! The ground height is the first height known; it follows the weather at 0.02 m/s at most, a
//! pressure change of 8 hPa an hour. Without an airspeed a flight never ends, since a parked glider
//! and one in level flight look the same; a landed glider is silent anyway, because it does not
//! climb.
//!
//! If the instrument starts in flight (after a power cut), flight is detected with an airspeed 3 s
//! after the reading has settled, and without one when the height has changed by 10 m: 10 s at 1
//! m/s, and under a minute at the weakest climb that sounds by default, 0.2 m/s.
//!
//! Gusts on a parked glider: a static port with an error of the full dynamic pressure of a gust
//! reads 10 m wrong at 14 m/s, and a gust of more than 15 m/s lasts less than 3 s (both guesses).
//! Heights are filtered heights.

use crate::units::{Metre, MetrePerSecond, Micros, limited};

/// A glider flies faster than this, and rolls or stands in the wind at less (a guess; stalls lie at
/// 17 m/s and above).
const FLYING_MPS: f32 = 15.0;
const FLYING_FOR: Micros = Micros(3_000_000);
/// A gust does not move the height this far from the ground height.
const AWAY_M: f32 = 10.0;
const AWAY_FOR: Micros = Micros(1_000_000);
/// The fastest change of height caused by weather.
const WEATHER_MPS: f32 = 0.02;
/// A glider is parked after this long below this speed, with no more change of height than this.
const STANDING_FOR: Micros = Micros(60_000_000);
const STANDING_MPS: f32 = 10.0;
const STANDING_M: f32 = 3.0;

/// State of launch detection.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct LaunchState {
    flying: bool,
    /// On the ground, the ground height; in flight, the height at which the glider last moved.
    level_m: Option<f32>,
    fast_for: Micros,
    away_for: Micros,
    standing_for: Micros,
}

impl LaunchState {
    /// Whether the glider has been launched, given a height `elapsed` after the one before, and the
    /// indicated airspeed where known.
    pub(crate) fn step(
        &mut self,
        elapsed: Micros,
        height: Metre,
        airspeed: Option<MetrePerSecond>,
    ) -> bool {
        let level_m = *self.level_m.get_or_insert(height.0);
        let away_m = libm::fabsf(height.0 - level_m);
        if self.flying {
            self.fly(elapsed, height, away_m, airspeed)
        } else {
            self.stand(elapsed, away_m, height, airspeed)
        }
        self.flying
    }

    /// Whether the glider has been launched.
    pub(crate) fn is_flying(&self) -> bool {
        self.flying
    }

    fn stand(
        &mut self,
        elapsed: Micros,
        away_m: f32,
        height: Metre,
        airspeed: Option<MetrePerSecond>,
    ) {
        let fast = airspeed.is_some_and(|speed| speed.0 >= FLYING_MPS);
        self.fast_for = longer(self.fast_for, elapsed, fast);
        self.away_for = longer(self.away_for, elapsed, away_m >= AWAY_M);
        self.flying = self.fast_for >= FLYING_FOR || self.away_for >= AWAY_FOR;
        let weather_m = WEATHER_MPS * elapsed.as_seconds();
        self.level_m = self.level_m.map(|level_m| level_m + limited(height.0 - level_m, weather_m));
        if self.flying {
            self.start_from(height);
        }
    }

    fn fly(
        &mut self,
        elapsed: Micros,
        height: Metre,
        away_m: f32,
        airspeed: Option<MetrePerSecond>,
    ) {
        let stands = away_m <= STANDING_M && airspeed.is_some_and(|speed| speed.0 < STANDING_MPS);
        self.standing_for = longer(self.standing_for, elapsed, stands);
        if away_m > STANDING_M {
            self.level_m = Some(height.0);
        }
        if self.standing_for >= STANDING_FOR {
            self.flying = false;
            self.start_from(height);
        }
    }

    fn start_from(&mut self, height: Metre) {
        self.level_m = Some(height.0);
        (self.fast_for, self.away_for, self.standing_for) = (Micros(0), Micros(0), Micros(0));
    }
}

/// A time that grows while a condition holds, and is zero when it does not.
fn longer(time: Micros, elapsed: Micros, holds: bool) -> Micros {
    if holds { Micros(time.0.saturating_add(elapsed.0)) } else { Micros(0) }
}

#[cfg(test)]
mod tests {
    use super::*;

    const STEP: Micros = Micros(20_000);

    /// Seconds until launch is detected, within `seconds`, for a height and an airspeed over time.
    fn launched_after(
        seconds: u32,
        height: impl Fn(f32) -> f32,
        airspeed: impl Fn(f32) -> Option<f32>,
    ) -> Option<f32> {
        let mut state = LaunchState::default();
        (0..seconds * 50).map(|step| step as f32 * 0.02).find(|&time_s| {
            state.step(STEP, Metre(height(time_s)), airspeed(time_s).map(MetrePerSecond))
        })
    }

    /// A winch: on the grass for 10 s, then to 30 m/s within 4 s and up at 12 m/s.
    fn winch_height(time_s: f32) -> f32 {
        300.0 + 12.0 * (time_s - 13.0).max(0.0)
    }

    fn winch_speed(time_s: f32) -> f32 {
        (7.5 * (time_s - 10.0)).clamp(0.0, 30.0)
    }

    /// An aerotow: rolls from 10 s on at 1.5 m/s2, lifts off at 18 m/s and climbs at 2.5 m/s.
    fn tow_height(time_s: f32) -> f32 {
        300.0 + 2.5 * (time_s - 24.0).max(0.0)
    }

    fn tow_speed(time_s: f32) -> f32 {
        (1.5 * (time_s - 10.0)).clamp(0.0, 33.0)
    }

    /// A parked glider in gusts: 9 m/s of wind with sinusoidal gusts to 16 m/s every 8 s, and 60 %
    /// of their pressure in the static line, 12 m of height per 1.5 hPa.
    fn gust_speed(time_s: f32) -> f32 {
        9.0 + 7.0 * libm::sinf(time_s * 0.785)
    }

    fn gust_height(time_s: f32) -> f32 {
        300.0 - 0.6 * 0.5 * 1.225 * gust_speed(time_s) * gust_speed(time_s) / 12.0 + 0.002 * time_s
    }

    #[test]
    fn a_winch_launch_is_detected_with_and_without_an_airspeed() {
        let with = launched_after(40, winch_height, |time_s| Some(winch_speed(time_s))).unwrap();
        assert!((13.0..15.5).contains(&with), "{with} s");
        let without = launched_after(40, winch_height, |_| None).unwrap();
        assert!((14.0..15.5).contains(&without), "{without} s");
    }

    #[test]
    fn an_aerotow_is_heard_of_before_10_m_and_without_an_airspeed_within_6_s_of_lifting_off() {
        let with = launched_after(60, tow_height, |time_s| Some(tow_speed(time_s))).unwrap();
        assert!(tow_height(with) < 310.0, "{with} s");
        let without = launched_after(60, tow_height, |_| None).unwrap();
        assert!((24.0..30.0).contains(&without), "{without} s");
    }

    #[test]
    fn an_hour_of_gusts_and_weather_on_a_parked_glider_is_not_a_launch() {
        assert_eq!(launched_after(3_600, gust_height, |time_s| Some(gust_speed(time_s))), None);
        assert_eq!(launched_after(3_600, gust_height, |_| None), None);
    }

    #[test]
    fn started_in_flight_it_hears_of_it_in_3_s_with_an_airspeed_and_within_a_minute_without() {
        let with = launched_after(60, |time_s| 1500.0 + 0.2 * time_s, |_| Some(24.0)).unwrap();
        assert!(with <= 3.0, "{with} s");
        for (climb_mps, most_s) in [(0.2, 60.0), (1.0, 12.0), (3.0, 5.0), (-1.0, 12.0)] {
            let without =
                launched_after(90, |time_s| 1500.0 + climb_mps * time_s, |_| None).unwrap();
            assert!(without < most_s, "{climb_mps} m/s: {without} s");
        }
    }

    #[test]
    fn a_flight_ends_only_with_an_airspeed() {
        let landed = |time_s: f32| if time_s < 60.0 { 360.0 - time_s } else { 300.0 };
        let speed = |time_s: f32| if time_s < 60.0 { 25.0 } else { 3.0 };
        let flying_at_the_end = |with_speed: bool| {
            let mut state = LaunchState::default();
            for step in 0..200 * 50 {
                let time_s = step as f32 * 0.02;
                let airspeed = with_speed.then_some(MetrePerSecond(speed(time_s)));
                state.step(STEP, Metre(landed(time_s)), airspeed);
            }
            state.is_flying()
        };
        assert!(!flying_at_the_end(true));
        assert!(flying_at_the_end(false));
    }

    #[test]
    fn a_pitot_blocked_in_flight_does_not_silence_a_climb() {
        let mut state = LaunchState::default();
        for step in 0..600 * 50 {
            let time_s = step as f32 * 0.02;
            let airspeed = if time_s < 20.0 { 25.0 } else { 0.0 };
            let flying =
                state.step(STEP, Metre(1000.0 + 0.2 * time_s), Some(MetrePerSecond(airspeed)));
            assert!(time_s < 3.1 || flying, "{time_s} s");
        }
    }
}
