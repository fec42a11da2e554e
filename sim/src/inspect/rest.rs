//! When a recording is at rest: the longest stretch of the whole of it, before take-off and after
//! landing, in which the height stays, so that what a sensor shows there is its own.
//!
//! ```text
//! whole      no take-off and no landing, no airspeed of more than 8 m/s
//! before     from the start to 5 s before take-off
//! after      from 10 s after landing to the end
//! stays      means of 5 s of the height within 2 m of each other
//! ```
//!
//! The figures are guesses.

use crate::recording::flight::Flight;
use crate::recording::series::Even;
use crate::recording::track::Track;
use chirrup_core::stages::NO_SPEED;

const BEFORE_TAKE_OFF_S: f64 = 5.0;
const AFTER_LANDING_S: f64 = 10.0;
const MEAN_S: f64 = 5.0;
const STAYS_M: f64 = 2.0;

/// From when to when, s; `None` where it never rests.
pub(super) fn of(track: &Track, flight: &Flight) -> Option<(f64, f64)> {
    let (first, last) = (*track.times_s.first()?, *track.times_s.last()?);
    let before = flight.take_off_s.map(|at_s| (first, at_s - BEFORE_TAKE_OFF_S));
    let after = flight.landing_s.map(|at_s| (at_s + AFTER_LANDING_S, last));
    let never_flies = before.is_none()
        && after.is_none()
        && track.speed_mps.iter().all(|speed| *speed < f64::from(NO_SPEED.0));
    let whole = never_flies.then_some((first, last));
    let stretches = [whole, before, after].into_iter().flatten();
    stretches
        .filter(|stretch| stays(track, *stretch))
        .max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))
}

fn stays(track: &Track, (from_s, to_s): (f64, f64)) -> bool {
    let first = track.times_s.partition_point(|time| *time < from_s);
    let end = track.times_s.partition_point(|time| *time <= to_s);
    if end < first + 2 {
        return false;
    }
    let heights = Even::of(&track.times_s[first..end], &track.altitude_m[first..end], MEAN_S);
    let (low, high) = heights
        .values
        .iter()
        .fold((f64::MAX, f64::MIN), |(low, high), height| (low.min(*height), high.max(*height)));
    high - low < STAYS_M
}
