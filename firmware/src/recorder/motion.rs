//! When a recording begins and ends: the glider leaves the ground, and it has stood for long.
//!
//! ```text
//!       2.5 m from the height of the last 20 s, or 12 m/s of airspeed
//! STILL ------------------------------------------------------------> MOVING
//!       <------------------------------------------------------------
//!        within 2.5 m, and slower than 12 m/s, for five minutes
//! ```
//!
//! A glider that began to move within 30 s of the first sample has not been seen to stand: the
//! instrument came on in flight, after a brown-out, and the recording continues the one before.
//!
//! It begins easily: a gust on the ground costs a few pages, a launch that is missed is lost. A
//! flight without airspeed that stays within 2.5 m for five minutes ends, and the next begins as
//! soon as it moves, with what came before it.
//!
//! In whole numbers of 1/64 Pa; at sea level 30 Pa are 2.5 m, and 90 Pa are 12 m/s.

use crate::sampler::Sampled;
use chirrup_core::Micros;

const AWAY: i64 = 30 * 64;
const FAST: i64 = 90 * 64;
const STANDING_FOR: Micros = Micros(300_000_000);
/// In this time a sink of 0.2 m/s is noticed.
const STOOD_FOR: Micros = Micros(30_000_000);
/// Powers of two of samples: 0.6 s against noise and gusts, and 20 s for the height that was.
const QUICK: u32 = 5;
const SLOW: u32 = 10;
/// Parts of a sixty-fourth, so that slow means do not stop short.
const PARTS: u32 = 12;

/// What is remembered of the samples.
#[derive(Clone, Copy, Debug, Default)]
pub struct Motion {
    means: Option<Means>,
}

/// What the glider does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    /// It has not moved yet, nor been seen to stand.
    Unknown,
    Stands,
    Moves,
    /// It moves, and had not been seen to stand before.
    MovesOn,
}

#[derive(Clone, Copy, Debug)]
struct Means {
    quick: i64,
    slow: i64,
    dynamic: i64,
    /// Where it was when it last moved, and since when it has not.
    place: i64,
    since: Micros,
    phase: Phase,
}

impl Motion {
    /// Takes a sample; whether it moves.
    pub fn step(&mut self, sampled: &Sampled) -> bool {
        let pressure = i64::from(sampled.static_64ths_pa) << PARTS;
        let means = self.means.get_or_insert(Means {
            quick: pressure,
            slow: pressure,
            dynamic: 0,
            place: pressure,
            since: sampled.time,
            phase: Phase::Unknown,
        });
        let dynamic = i64::from(sampled.dynamic_64ths_pa.unwrap_or(0)) << PARTS;
        means.quick += (pressure - means.quick) >> QUICK;
        means.slow += (pressure - means.slow) >> SLOW;
        means.dynamic += (dynamic - means.dynamic) >> QUICK;
        let is_fast = means.dynamic > FAST << PARTS;
        let is_away = |from: i64| (means.quick - from).abs() > AWAY << PARTS;
        let (is_off, stood_for) = (is_away(means.slow), sampled.time.since(means.since));
        match means.phase {
            Phase::Moves | Phase::MovesOn if is_fast || is_away(means.place) => {
                (means.place, means.since) = (means.quick, sampled.time);
            }
            Phase::Moves | Phase::MovesOn if stood_for >= STANDING_FOR => {
                (means.phase, means.slow) = (Phase::Stands, means.quick);
            }
            Phase::Moves | Phase::MovesOn => {}
            before if is_fast || is_off => {
                (means.place, means.since) = (means.quick, sampled.time);
                let has_stood = before == Phase::Stands;
                means.phase = if has_stood { Phase::Moves } else { Phase::MovesOn };
            }
            _ if stood_for >= STOOD_FOR => means.phase = Phase::Stands,
            _ => {}
        }
        self.is_moving()
    }

    /// Whether it moves.
    pub fn is_moving(&self) -> bool {
        matches!(self.phase(), Some(Phase::Moves | Phase::MovesOn))
    }

    /// Whether it has been seen to stand for half a minute and stands; or there was no sample yet.
    pub fn stands(&self) -> bool {
        self.phase().is_none_or(|phase| phase == Phase::Stands)
    }

    /// Whether it moves, and had not been seen to stand before.
    pub fn began_in_the_air(&self) -> bool {
        self.phase() == Some(Phase::MovesOn)
    }

    fn phase(&self) -> Option<Phase> {
        self.means.map(|means| means.phase)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::recorder::tests::flash::rand_core::Next;

    /// Seconds after the start at which it moves first, and then stands, in air whose pressure and
    /// dynamic pressure are functions of the second.
    fn moves(seconds: i64, air: impl Fn(f64) -> (f64, Option<f64>)) -> (Option<f64>, Option<f64>) {
        let (mut motion, mut chance) = (Motion::default(), Next(5));
        let (mut begins, mut ends) = (None, None);
        for at in 0..seconds * 50 {
            let second = at as f64 / 50.0;
            let (pressure, dynamic) = air(second);
            let sampled = Sampled {
                time: Micros(at * 20_000),
                static_64ths_pa: (64.0 * (pressure + 1.2 * chance.normal())) as i32,
                dynamic_64ths_pa: dynamic.map(|pa| (64.0 * pa) as i32),
                ..Sampled::default()
            };
            match (motion.step(&sampled), begins) {
                (true, None) => begins = Some(second),
                (false, Some(_)) if ends.is_none() => ends = Some(second),
                _ => {}
            }
        }
        (begins, ends)
    }

    #[test]
    fn a_parked_glider_in_changing_weather_does_not_move() {
        // 1 hPa an hour, and wind of 8 m/s on a pitot.
        let weather = |second: f64| (98_000.0 + second * 100.0 / 3_600.0, Some(40.0));
        assert_eq!(moves(3_600, weather), (None, None));
    }

    /// What it says of a flight at its end: whether it stands, and whether it began in the air.
    fn says(seconds: i64, climb_mps: f64, from_s: f64) -> (bool, bool) {
        let (mut motion, mut chance) = (Motion::default(), Next(5));
        for at in 0..seconds * 50 {
            let climbed = climb_mps * (at as f64 / 50.0 - from_s).max(0.0);
            let pressure = 98_000.0 - 12.0 * climbed + 1.2 * chance.normal();
            motion.step(&Sampled {
                time: Micros(at * 20_000),
                static_64ths_pa: (64.0 * pressure) as i32,
                ..Sampled::default()
            });
        }
        (motion.stands(), motion.began_in_the_air())
    }

    #[test]
    fn a_start_in_the_air_is_told_from_one_on_the_ground() {
        for climb_mps in [0.25, -0.25, -0.7, 3.0] {
            assert_eq!(says(60, climb_mps, 0.0), (false, true), "{climb_mps} m/s in flight");
            assert_eq!(says(120, climb_mps, 60.0), (false, false), "{climb_mps} m/s from launch");
        }
        assert_eq!(says(20, 0.0, 0.0), (false, false), "not known yet");
        assert_eq!(says(40, 0.0, 0.0), (true, false));
        assert!(Motion::default().stands(), "without a sensor nothing sounds");
    }

    #[test]
    fn every_launch_is_noticed_within_its_first_metres() {
        for (climb_mps, most_s) in [(10.0, 1.5), (2.0, 3.0), (0.5, 10.0), (-1.0, 6.0)] {
            let air = |second: f64| (98_000.0 - 12.0 * climb_mps * (second - 60.0).max(0.0), None);
            let (begins, _) = moves(80, air);
            let begins = begins.expect("it moves");
            assert!((60.0..60.0 + most_s).contains(&begins), "{climb_mps} m/s: {begins} s");
        }
    }

    #[test]
    fn a_tow_that_is_still_rolling_is_noticed_by_its_airspeed() {
        // 1.5 m/s2 on the ground.
        let air = |second: f64| {
            let speed = 1.5 * (second - 30.0).max(0.0);
            (98_000.0, Some(0.6 * speed * speed))
        };
        let (begins, _) = moves(60, air);
        let begins = begins.expect("it moves");
        assert!((36.0..40.0).contains(&begins), "{begins} s");
    }

    #[test]
    fn a_landing_is_over_after_five_minutes_and_a_cruise_is_not() {
        let landed = |second: f64| (98_000.0 - 600.0 * (second.min(60.0) / 60.0), None);
        let (begins, ends) = moves(500, landed);
        assert!(begins.is_some_and(|begins| begins < 10.0));
        let ends = ends.expect("it stands");
        assert!((355.0..365.0).contains(&ends), "{ends} s");
        let cruise = |_| (80_000.0, Some(300.0));
        assert_eq!(moves(1_000, cruise).1, None);
    }
}
