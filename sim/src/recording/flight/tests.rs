//! Flights as functions of time.

use super::*;
use approx::assert_abs_diff_eq;

fn track(seconds: i32, height: impl Fn(f64) -> f64, speed: Option<&dyn Fn(f64) -> f64>) -> Track {
    let times_s: Vec<f64> = (0..seconds * 5).map(|step| f64::from(step) * 0.2).collect();
    let altitude_m = times_s.iter().map(|time| height(*time)).collect();
    let speed_mps =
        speed.map_or_else(Vec::new, |speed| times_s.iter().map(|time| speed(*time)).collect());
    Track { times_s, altitude_m, speed_mps, ..Track::default() }
}

fn flight(track: &Track) -> Flight {
    Flight::of(&Recording::default(), track)
}

/// On the ground for a minute, 30 s at 12 m/s, a glide at 1 m/s, on the ground again.
fn winch(t: f64) -> f64 {
    (200.0 + 12.0 * (t - 60.0).clamp(0.0, 30.0) - (t - 90.0).max(0.0)).max(200.0)
}

#[test]
fn a_winch_launch_is_told_with_its_height_and_time() {
    let flight = flight(&track(600, winch, None));
    assert_abs_diff_eq!(flight.take_off_s.unwrap(), 60.0, epsilon = 2.0);
    let launch = flight.launch.unwrap();
    assert_eq!(launch.kind, "winch");
    assert_abs_diff_eq!(launch.gain_m, 360.0, epsilon = 10.0);
    assert_abs_diff_eq!(launch.lasts_s, 30.0, epsilon = 2.0);
    // From 560 m at 90 s, a metre a second: on the ground at 450 s.
    assert_abs_diff_eq!(flight.landing_s.unwrap(), 450.0, epsilon = 3.0);
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
    let flight = flight(&track(400, height, Some(&speed)));
    assert_abs_diff_eq!(flight.take_off_s.unwrap(), 60.0, epsilon = 3.0);
    assert_abs_diff_eq!(flight.landing_s.unwrap(), 300.0, epsilon = 4.0);
}

#[test]
fn an_aerotow_is_told_from_a_winch_and_from_a_flight_that_begins_in_the_air() {
    let tow = |t: f64| 300.0 + 2.5 * (t - 30.0).clamp(0.0, 300.0) - 0.7 * (t - 330.0).max(0.0);
    let launch = flight(&track(900, tow, None)).launch.unwrap();
    assert_eq!(launch.kind, "tow");
    assert_abs_diff_eq!(launch.gain_m, 750.0, epsilon = 10.0);
    let glide = flight(&track(600, |t| 1000.0 - 0.7 * t, Some(&|_| 28.0)));
    assert_eq!((glide.take_off_s, glide.launch, glide.landing_s), (None, None, None));
}

#[test]
fn a_barometer_on_a_table_never_takes_off() {
    let flight = flight(&track(300, |t| 80.0 + 0.5 * (t * 0.3).sin(), None));
    assert_eq!((flight.take_off_s, flight.landing_s), (None, None));
}

#[test]
fn the_best_gain_is_from_a_low_to_a_later_high() {
    let corners = [500.0, 900.0, 300.0, 650.0, 400.0];
    let height = |t: f64| {
        let (place, share) = ((t / 400.0) as usize, (t / 400.0).fract());
        let next = corners[(place + 1).min(4)];
        corners[place.min(4)] + share * (next - corners[place.min(4)])
    };
    assert_abs_diff_eq!(flight(&track(1_600, height, None)).best_gain_m, 400.0, epsilon = 1.0);
}
