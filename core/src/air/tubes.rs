//! Checks from the impact pressure, over some seconds, whether pitot and static tubes are connected
//! properly.
//!
//! Two signs of a fault, each of which must last:
//!
//! ```text
//! negative   the impact pressure is further below zero than noise: tubes swapped, pitot
//!            leaking into the cockpit, or sensor not zeroed; 3 s more with it than without
//! no speed   no flying speed, yet the height has changed by 40 m: pitot blocked, tube off, or
//!            tubes swapped
//!
//!     FINE  ---- negative for 3 s ---------------------------------------->  DOUBTFUL
//!           ---- 40 m from the height where it last flew or stood -------->
//!           <--- flying speed, or the impact pressure has come back to zero
//! ```
//!
//! The reference height follows the altitude at up to 5 cm a second, so that weather does not
//! trigger it: 3 hPa an hour, as at a front, is 0.7 cm a second. A glider trailered up a mountain
//! road with no wind in its pitot gets the warning too, which does no harm.
//!
//! Without speed there is no kinetic height ([`crate::air::energy`]), so in this state the reading
//! is not compensated.
//!
//! Every figure here is a guess.

use crate::air::air_data::AirData;
use crate::air::energy::FLYING_SPEED;
use crate::sensing::sample::Speed;
use crate::units::{Metre, Micros, limited};

/// Further below zero than a parked glider's pitot gets: a tail wind of 7 m/s.
const NEGATIVE_PA: f32 = -30.0;
const NEGATIVE_FOR: Micros = Micros(3_000_000);
const CHANGED_M: f32 = 40.0;
const WEATHER_MPS: f32 = 0.05;

/// State of the check.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct TubesState {
    negative: Micros,
    /// Height at which the glider last flew, or stands.
    height: Option<Metre>,
    doubtful: bool,
}

impl TubesState {
    /// Takes a sample's airspeed, where it is usable, and its filtered altitude, `elapsed` after
    /// the sample before; returns whether the tubes are doubtful.
    ///
    /// Without any airspeed nothing can be concluded, and the last answer stays.
    pub(crate) fn step(
        &mut self,
        elapsed: Micros,
        speed: Option<Speed>,
        air: &AirData,
        altitude: Metre,
    ) -> bool {
        let Some(equivalent) = air.equivalent_airspeed() else { return self.doubtful };
        let is_negative = matches!(
            speed,
            Some(Speed::Dynamic(dynamic)) if dynamic.0 < NEGATIVE_PA
        );
        let change = if is_negative { elapsed.0 } else { elapsed.0.saturating_neg() };
        self.negative = Micros(self.negative.0.saturating_add(change).clamp(0, NEGATIVE_FOR.0));
        let flies = equivalent >= FLYING_SPEED;
        let away = !flies && self.is_away(elapsed, altitude);
        if flies {
            self.height = Some(altitude);
        }
        let long_negative = self.negative >= NEGATIVE_FOR;
        self.doubtful =
            long_negative || away || (self.doubtful && !flies && self.negative > Micros(0));
        self.doubtful
    }

    /// Whether the height has moved away from where the glider last flew or stood.
    fn is_away(&mut self, elapsed: Micros, altitude: Metre) -> bool {
        let height = *self.height.get_or_insert(altitude);
        let change_m = altitude.0 - height.0;
        if change_m.abs() >= CHANGED_M {
            return true;
        }
        self.height = Some(Metre(height.0 + limited(change_m, WEATHER_MPS * elapsed.as_seconds())));
        false
    }

    /// After a gap the height may be different.
    pub(crate) fn restart(&mut self) {
        *self = Self::default();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::air::atmosphere::pressure_at;
    use crate::sensing::sample::Sample;
    use crate::units::Pascal;

    /// Seconds until the tubes are reported as doubtful, at 10 Hz.
    fn doubtful_after(
        seconds: i64,
        dynamic_pa: impl Fn(f32) -> f32,
        height_m: impl Fn(f32) -> f32,
    ) -> Option<f32> {
        let mut state = TubesState::default();
        (0..seconds * 10).find_map(|step| {
            let t = step as f32 * 0.1;
            let altitude = Metre(height_m(t));
            let speed = Some(Speed::Dynamic(Pascal(dynamic_pa(t))));
            let sample = Sample {
                speed,
                ..Sample::of_static(Micros(step * 100_000), pressure_at(altitude))
            };
            let doubtful = state.step(
                Micros(100_000),
                sample.usable_speed(),
                &AirData::of(&sample).unwrap(),
                altitude,
            );
            doubtful.then_some(t)
        })
    }

    #[test]
    fn swapped_tubes_are_noticed_within_four_seconds() {
        let after = doubtful_after(20, |_| -400.0, |_| 800.0).unwrap();
        assert!((2.5..4.0).contains(&after), "{after} s");
    }

    #[test]
    fn a_blocked_pitot_is_noticed_when_the_height_changes() {
        // A winch launch at 10 m/s from the fifth second on.
        let after = doubtful_after(
            60,
            |t| if t % 0.2 < 0.1 { 3.0 } else { -3.0 },
            |t| 10.0 * (t - 5.0).max(0.0),
        );
        assert!((8.5..9.5).contains(&after.unwrap()), "{after:?} s");
        // A glide at 0.7 m/s.
        let after = doubtful_after(120, |_| 0.0, |t| 900.0 - 0.7 * t);
        assert!((55.0..70.0).contains(&after.unwrap()), "{after:?} s");
    }

    #[test]
    fn flying_standing_in_wind_and_weather_are_not_faults() {
        assert_eq!(doubtful_after(600, |_| 400.0, |t| 100.0 + 3.0 * t), None);
        assert_eq!(doubtful_after(600, |t| 20.0 * (t * 0.7).sin(), |t| (t * 0.5).sin()), None);
        // Ten hours of a falling barometer, 1 hPa an hour.
        assert_eq!(doubtful_after(36_000, |_| 0.0, |t| t * 8.3 / 3600.0), None);
        // Gusts from behind, a second long.
        assert_eq!(
            doubtful_after(600, |t| if t % 4.0 < 1.0 { -60.0 } else { 10.0 }, |_| 0.0),
            None
        );
    }

    #[test]
    fn flying_speed_ends_the_doubt() {
        let mut state = TubesState::default();
        let mut step = |dynamic_pa: f32| {
            let speed = Some(Speed::Dynamic(Pascal(dynamic_pa)));
            let sample = Sample { speed, ..Sample::of_static(Micros(0), Pascal(95_000.0)) };
            state.step(
                Micros(1_000_000),
                sample.usable_speed(),
                &AirData::of(&sample).unwrap(),
                Metre(540.0),
            )
        };
        assert_eq!([-300.0, -300.0, -300.0, 300.0].map(&mut step), [false, false, true, false]);
    }

    #[test]
    fn doubt_ends_after_equal_time_at_zero_and_with_a_gap() {
        let mut state = TubesState::default();
        let step = |state: &mut TubesState, dynamic_pa: f32| {
            let speed = Some(Speed::Dynamic(Pascal(dynamic_pa)));
            let sample = Sample { speed, ..Sample::of_static(Micros(0), Pascal(95_000.0)) };
            state.step(
                Micros(1_000_000),
                sample.usable_speed(),
                &AirData::of(&sample).unwrap(),
                Metre(540.0),
            )
        };
        let answers =
            [-300.0, -300.0, -300.0, 0.0, 0.0, 0.0].map(|dynamic| step(&mut state, dynamic));
        assert_eq!(answers, [false, false, true, true, true, false]);
        let answers = [-300.0, -300.0, -300.0].map(|dynamic| step(&mut state, dynamic));
        assert_eq!(answers, [false, false, true]);
        // Without any airspeed the answer stays, until a gap.
        let bare = Sample::of_static(Micros(0), Pascal(95_000.0));
        let ask = |state: &mut TubesState| {
            state.step(
                Micros(1_000_000),
                bare.usable_speed(),
                &AirData::of(&bare).unwrap(),
                Metre(540.0),
            )
        };
        assert!(ask(&mut state));
        state.restart();
        assert!(!ask(&mut state));
    }
}
