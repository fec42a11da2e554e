//! The demonstration flight is realistic, and its guide is correct. That the recording comes from
//! the scenario is checked with the other recordings.

use super::{Tick, fly};
use crate::support::{Table, folder, path, run};
use chirrup_flight::plan::builtin::find;
use std::fs;

const G: f64 = 9.80665;
const GROUND_M: f64 = 180.0;
const TICKS_A_SECOND: f64 = 200.0;

fn flown() -> Vec<Tick> {
    fly(find("demo-flight").expect("it is built in").text)
}

fn at(ticks: &[Tick], time_s: f64) -> Tick {
    ticks[(time_s * TICKS_A_SECOND).round() as usize]
}

#[test]
fn it_lasts_500_seconds_and_ends_where_it_began_to_within_a_field() {
    let ticks = flown();
    let last = ticks.last().expect("it flies");
    assert!((last.time_s - 500.0).abs() < 1e-6, "{} s", last.time_s);
    assert!((last.place.up - GROUND_M).abs() < 1e-9 && last.velocity.length() < 1e-9);
    assert!(last.place.level().length() < 700.0, "{} m away", last.place.level().length());
    let turns = ticks.iter().map(|tick| tick.place.level().length()).fold(0.0, f64::max);
    assert!(turns < 3000.0, "it stays within reach of the field: {turns} m");
}

#[test]
fn the_flight_is_one_that_could_be_flown() {
    let ticks = flown();
    let height = |time_s: f64| at(&ticks, time_s).place.up;
    // A winch launch takes about 30 s to 1000-2000 ft, with rates of about 3000 ft/min (common
    // practice, no source).
    let gained_ft = (height(48.0) - GROUND_M) / 0.3048;
    assert!((900.0..2000.0).contains(&gained_ft), "winch launch to {gained_ft} ft");
    let best_fpm =
        (15..48).map(|t| height(f64::from(t) + 1.0) - height(f64::from(t))).fold(0.0, f64::max)
            / 0.3048
            * 60.0;
    assert!((2500.0..3500.0).contains(&best_fpm), "winch launch at {best_fpm} ft/min");
    // The pull-up gains what mechanics say, less the drag's 1 m/s or so for its 8 s.
    let (before, after) = (at(&ticks, 313.0), at(&ticks, 321.0));
    let gained = after.place.up - before.place.up;
    let energy = (before.airspeed_mps.powi(2) - after.airspeed_mps.powi(2)) / (2.0 * G);
    assert!(
        (energy - gained - 8.0).abs() < 4.0,
        "pull-up of {gained} m for {energy} m of kinetic height"
    );
    assert!(gained > 45.0, "{gained} m");
    // The load factor of a flight with passengers.
    for tick in &ticks {
        assert!(
            (0.0..2.6).contains(&tick.load_factor),
            "{} g at {} s",
            tick.load_factor,
            tick.time_s
        );
    }
    // The cable pulls from the first metre to the top of the climb.
    for half in 35..72 {
        let t = f64::from(half) / 2.0;
        let rate = at(&ticks, t + 0.5).energy_m - at(&ticks, t - 0.5).energy_m;
        assert!(rate > 3.0, "energy rises by {rate} m/s at {t} s");
    }
    let touch = ticks.iter().rposition(|tick| tick.place.up > GROUND_M).expect("it flies");
    let last_second = ticks[touch - 200].place.up - GROUND_M;
    assert!(
        (470.0..490.0).contains(&ticks[touch].time_s),
        "touchdown at {} s",
        ticks[touch].time_s
    );
    assert!(last_second < 3.0, "touchdown at {last_second} m/s");
}

#[test]
fn the_air_is_as_the_guide_says() {
    let ticks = flown();
    let air = |from_s: f64, to_s: f64| -> Vec<f64> {
        let within = ticks.iter().filter(|tick| (from_s..to_s).contains(&tick.time_s));
        within.map(|tick| tick.air.up).collect()
    };
    let most = |values: &[f64]| values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let least = |values: &[f64]| values.iter().copied().fold(f64::INFINITY, f64::min);
    // Still: nothing but the turbulence of a quiet day.
    for (from_s, to_s) in [(53.0, 107.0), (302.0, 321.0)] {
        let air = air(from_s, to_s);
        assert!(most(&air) < 0.35 && least(&air) > -0.35, "{} to {}", least(&air), most(&air));
    }
    // Off its core the strong thermal comes and goes within a circle; centred it is always there.
    let (off, centred) = (air(198.0, 225.0), air(235.0, 274.0));
    assert!(most(&off) > 6.0 && least(&off) < 1.2, "{} to {}", least(&off), most(&off));
    assert!(least(&centred) > 3.7 && most(&centred) < 5.0, "{}", least(&centred));
    assert!(most(&air(340.0, 381.0)) < -3.0, "sink all the way: {}", most(&air(340.0, 381.0)));
}

#[test]
fn every_part_sounds_as_the_guide_says() {
    let folder = folder();
    let out = path(&folder, "demo");
    run(&["demo", "--output", &out]);
    let table = Table::read(&fs::read_to_string(format!("{out}/demo.csv")).expect("it is there"));
    let between = |from: f64, to: f64, column: &str| -> Vec<f64> {
        let rows = table.column("time_s").iter().zip(table.column(column));
        rows.filter(|(time, _)| (from..to).contains(*time)).map(|(_, value)| *value).collect()
    };
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    let most = |values: &[f64]| values.iter().copied().fold(0.0, f64::max);
    assert!(
        between(0.0, 15.0, "tone_hz").iter().all(|pitch| pitch.is_nan()),
        "silence on the ground"
    );
    // On the winch fast and high, slower and lower towards the release.
    let (climbing, at_the_top) = (between(25.0, 35.0, "tone_hz"), between(42.0, 47.0, "tone_hz"));
    assert!(mean(&climbing) > 1.2 * mean(&at_the_top), "{} Hz", mean(&at_the_top));
    let (climbing, at_the_top) =
        (between(25.0, 35.0, "cadence_hz"), between(42.0, 47.0, "cadence_hz"));
    assert!(mean(&climbing) > mean(&at_the_top) && mean(&at_the_top) > 3.2);
    // The beeps of two circles rise and fall before 3:55, and none after it.
    let beeps = |from, to| between(from, to, "cadence_hz");
    for circle in [(200.0, 210.0, 214.0, 218.0), (222.0, 229.0, 195.0, 199.0)] {
        let (from, to, faint_from, faint_to) = circle;
        assert!(most(&beeps(from, to)) > 3.2, "it swells from {from} s");
        assert!(most(&beeps(faint_from, faint_to)) < 1.6, "it fades from {faint_from} s");
    }
    let centred = beeps(235.0, 274.0);
    assert!(centred.iter().all(|rate| (2.15..3.4).contains(rate)), "even when centred");
    // In the dive no beep, and with the airbrakes the steady tone.
    assert!(most(&beeps(302.0, 314.0)) == 0.0, "no beep in the dive");
    assert!(
        beeps(430.0, 482.0).iter().all(|rate| *rate == 0.0),
        "a steady tone with the airbrakes"
    );
}
