//! When a recording leaves the ground, how, and when it is back.
//!
//! ```text
//! take-off    the height rises by 15 m above the lowest so far within 20 s, or the airspeed
//!             stays above flying speed for 5 s: 14 m/s, or half of the fastest 5 s of a slower
//!             aircraft, and at least 8 m/s
//! launch      a climb of more than 6 m/s over 10 s within a minute of take-off: winch;
//!             else one of 150 m in five minutes that never stops for 20 s: aerotow, or any
//!             other engine; else unknown. It ends at its highest point before the first 20 s
//!             without gain, or before 10 m are lost.
//! landing     the last moment with flying speed, or, without airspeed, the moment
//!             from which the height stays within 6 m of the last one
//! ```
//!
//! Winch launches take about 30 s to 300 to 600 m (common practice, no source); the figures of the
//! rules are guesses.

use crate::recording::series::Even;
use crate::recording::track::Track;
use chirrup_core::stages::{FLYING_SPEED, NO_SPEED};
use serde::Serialize;

const RISE_M: f64 = 15.0;
const RISE_WITHIN_S: f64 = 20.0;
/// Heights that differ by less are the same to a barometer.
const AS_LOW_M: f64 = 1.0;
const FLYING_FOR_S: f64 = 5.0;
const WINCH_MPS: f64 = 6.0;
const WINCH_OVER_S: f64 = 10.0;
const WINCH_WITHIN_S: f64 = 60.0;
const TOW_M: f64 = 150.0;
const TOW_WITHIN_S: f64 = 300.0;
const PAUSE_S: f64 = 20.0;
const LOST_M: f64 = 10.0;
const STILL_M: f64 = 6.0;
/// Airborne at once: nothing on the ground is in the recording.
const AT_ONCE_S: f64 = 3.0;

/// Take-off, launch and landing.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Flight {
    /// Time of take-off; absent where the recording begins in the air or never leaves the ground.
    pub take_off_s: Option<f64>,
    /// The launch, where there is one.
    pub launch: Option<Launch>,
    /// Time of landing; absent where the recording ends in the air or never leaves the ground.
    pub landing_s: Option<f64>,
    /// Lowest height before the end, and highest.
    pub lowest_m: f64,
    /// Highest height.
    pub highest_m: f64,
    /// Most height gained from a low point to a later high point after the launch.
    pub best_gain_m: f64,
}

/// The kind of launch.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Launch {
    /// `winch`, or `tow` for anything slower.
    pub kind: &'static str,
    /// Height gained.
    pub gain_m: f64,
    /// How long it took.
    pub lasts_s: f64,
    /// Fastest climb over 10 s.
    pub best_climb_mps: f64,
}

impl Flight {
    /// Analyses `track`.
    pub fn of(track: &Track) -> Self {
        let height = Even::of(&track.times_s, &track.altitude_m, 1.0).smoothed(3.0);
        let speed =
            (!track.speed_mps.is_empty()).then(|| Even::of(&track.times_s, &track.speed_mps, 1.0));
        let speeds = speed.as_ref().map(|speed| speed.values.as_slice());
        let flying_mps = speeds.map_or(f64::MAX, flying_mps);
        let take_off = take_off(&height.values, speeds, flying_mps);
        let on_ground_before = take_off.filter(|place| *place as f64 > AT_ONCE_S);
        let launch = on_ground_before.and_then(|place| launch(&height.values[place..]));
        let landing = take_off.and_then(|place| landing(&height.values, speeds, flying_mps, place));
        let (lowest_m, highest_m) = extremes(&height.values);
        let after = on_ground_before
            .map_or(0, |place| place + launch.map_or(0, |launch| launch.lasts_s as usize));
        let time = |place: usize| height.start_s + place as f64;
        Self {
            take_off_s: on_ground_before.map(time),
            launch,
            landing_s: landing.map(time),
            lowest_m,
            highest_m,
            best_gain_m: best_gain(&height.values[after.min(height.values.len() - 1)..]),
        }
    }
}

fn extremes(values: &[f64]) -> (f64, f64) {
    values
        .iter()
        .fold((f64::MAX, f64::MIN), |(least, most), value| (least.min(*value), most.max(*value)))
}

/// The airspeed from which on it flies, m/s, of one airspeed a second.
fn flying_mps(speeds: &[f64]) -> f64 {
    let slowest = |some: &[f64]| some.iter().fold(f64::MAX, |least, speed| least.min(*speed));
    let fastest = speeds.windows(FLYING_FOR_S as usize).map(slowest).fold(0.0, f64::max);
    (0.5 * fastest).clamp(f64::from(NO_SPEED.0), f64::from(FLYING_SPEED.0))
}

fn take_off(heights: &[f64], speeds: Option<&[f64]>, flying_mps: f64) -> Option<usize> {
    let window = RISE_WITHIN_S as usize;
    let rises = |place: usize| {
        let from = place.saturating_sub(window);
        heights[place] - extremes(&heights[from..=place]).0 > RISE_M
    };
    let flies = |place: usize| {
        let from = place.saturating_sub(FLYING_FOR_S as usize);
        speeds.is_some_and(|speeds| speeds[from..=place].iter().all(|speed| *speed > flying_mps))
    };
    let noticed = (0..heights.len()).find(|&place| (place > 0 && rises(place)) || flies(place))?;
    // Back to where it began: the last point as low as the lowest before the rise.
    let from = noticed.saturating_sub(window);
    let (lowest, _) = extremes(&heights[from..=noticed]);
    (from..=noticed).rev().find(|&place| heights[place] < lowest + AS_LOW_M)
}

fn launch(heights: &[f64]) -> Option<Launch> {
    let mut highest = 0;
    for place in 0..heights.len() {
        if heights[place] > heights[highest] {
            highest = place;
        } else if (place - highest) as f64 > PAUSE_S || heights[place] < heights[highest] - LOST_M {
            break;
        }
    }
    let over = WINCH_OVER_S as usize;
    let climbs =
        (over..=highest).map(|place| (heights[place] - heights[place - over]) / WINCH_OVER_S);
    let best = |within_s: f64| climbs.clone().take(within_s as usize).fold(0.0, f64::max);
    let gain_m = heights[highest] - heights[0];
    let kind = if best(WINCH_WITHIN_S) > WINCH_MPS {
        "winch"
    } else if gain_m >= TOW_M && heights[highest.min(TOW_WITHIN_S as usize)] - heights[0] >= TOW_M {
        "tow"
    } else {
        return None;
    };
    Some(Launch { kind, gain_m, lasts_s: highest as f64, best_climb_mps: best(f64::MAX) })
}

fn landing(
    heights: &[f64],
    speeds: Option<&[f64]>,
    flying_mps: f64,
    take_off: usize,
) -> Option<usize> {
    let last = heights.len() - 1;
    let moves = |place: usize| match speeds {
        Some(speeds) => speeds[place.min(speeds.len() - 1)] > flying_mps,
        None => (heights[place] - heights[last]).abs() > STILL_M,
    };
    let landed = (take_off..=last).rev().find(|&place| moves(place))? + 1;
    // A recording that ends while it moves has no landing.
    (landed + FLYING_FOR_S as usize <= last).then_some(landed)
}

fn best_gain(heights: &[f64]) -> f64 {
    let mut lowest = f64::MAX;
    heights.iter().fold(0.0, |best, height| {
        lowest = lowest.min(*height);
        f64::max(best, height - lowest)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn track(
        seconds: i32,
        height: impl Fn(f64) -> f64,
        speed: Option<&dyn Fn(f64) -> f64>,
    ) -> Track {
        let times_s: Vec<f64> = (0..seconds * 5).map(|step| f64::from(step) * 0.2).collect();
        let altitude_m = times_s.iter().map(|time| height(*time)).collect();
        let speed_mps =
            speed.map_or_else(Vec::new, |speed| times_s.iter().map(|time| speed(*time)).collect());
        Track { times_s, altitude_m, speed_mps, ..Track::default() }
    }

    /// On the ground for a minute, 30 s at 12 m/s, a glide at 1 m/s, on the ground again.
    fn winch(t: f64) -> f64 {
        (200.0 + 12.0 * (t - 60.0).clamp(0.0, 30.0) - (t - 90.0).max(0.0)).max(200.0)
    }

    #[test]
    fn a_winch_launch_is_told_with_its_height_and_time() {
        let flight = Flight::of(&track(600, winch, None));
        assert_abs_diff_eq!(flight.take_off_s.unwrap(), 60.0, epsilon = 2.0);
        let launch = flight.launch.unwrap();
        assert_eq!(launch.kind, "winch");
        assert_abs_diff_eq!(launch.gain_m, 360.0, epsilon = 10.0);
        assert_abs_diff_eq!(launch.lasts_s, 30.0, epsilon = 2.0);
        assert_abs_diff_eq!(flight.landing_s.unwrap(), 444.0, epsilon = 3.0);
    }

    #[test]
    fn a_slow_model_takes_off_and_lands_at_its_own_speeds_and_not_in_the_wind_on_the_ground() {
        let speed = |t: f64| if (60.0..300.0).contains(&t) { 9.5 + (t * 0.5).sin() } else { 5.0 };
        // Two sprints, so that half of the fastest is 9 m/s.
        let speed = move |t: f64| if (100.0..120.0).contains(&t) { 16.0 } else { speed(t) };
        let height = |t: f64| {
            let noise = 0.3 * (t * 0.7).sin();
            100.0 + noise + (t - 60.0).clamp(0.0, 20.0) - ((t - 280.0) * 1.0).clamp(0.0, 20.0)
        };
        let flight = Flight::of(&track(400, height, Some(&speed)));
        assert_abs_diff_eq!(flight.take_off_s.unwrap(), 60.0, epsilon = 3.0);
        assert_abs_diff_eq!(flight.landing_s.unwrap(), 300.0, epsilon = 4.0);
    }

    #[test]
    fn an_aerotow_is_told_from_a_winch_and_from_a_flight_that_begins_in_the_air() {
        let tow = |t: f64| 300.0 + 2.5 * (t - 30.0).clamp(0.0, 300.0) - 0.7 * (t - 330.0).max(0.0);
        let launch = Flight::of(&track(900, tow, None)).launch.unwrap();
        assert_eq!(launch.kind, "tow");
        assert_abs_diff_eq!(launch.gain_m, 750.0, epsilon = 10.0);
        let glide = Flight::of(&track(600, |t| 1000.0 - 0.7 * t, Some(&|_| 28.0)));
        assert_eq!((glide.take_off_s, glide.launch, glide.landing_s), (None, None, None));
    }

    #[test]
    fn a_barometer_on_a_table_never_takes_off() {
        let flight = Flight::of(&track(300, |t| 80.0 + 0.5 * (t * 0.3).sin(), None));
        assert_eq!((flight.take_off_s, flight.landing_s), (None, None));
    }

    #[test]
    fn the_best_gain_is_from_a_low_to_a_later_high() {
        assert_abs_diff_eq!(best_gain(&[500.0, 900.0, 300.0, 650.0, 400.0]), 400.0);
    }
}
