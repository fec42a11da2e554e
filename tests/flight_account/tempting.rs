//! Recordings that tempt to a false claim: two flights read as one, a drive over a pass, a clock
//! that jumps, a tug that levels off, an engine that nothing hears, a barometer that jumps. All are
//! made of straight pieces, with the truth known by construction.

use super::{flight, holds_together, number, reached};
use crate::support::{folder, pressure_pa, run, write};
use serde_json::Value;
use std::fmt::Write;

/// A piece: length in s, climb in m/s, airspeed in m/s, turn in degrees a second.
type Piece = (usize, f64, f64, f64);

const STANDS: Piece = (200, 0.0, 0.0, 0.0);
const ROLLS: Piece = (12, 0.0, 25.0, 0.0);
const OFF: Piece = (30, -1.0, 25.0, 0.0);

fn glide(for_s: usize) -> Vec<Piece> {
    vec![(for_s, -1.0, 28.0, 0.0)]
}

/// From the ground to 600 m above it and free.
fn towed() -> Vec<Piece> {
    vec![STANDS, ROLLS, (240, 2.5, 33.0, 0.0), OFF]
}

/// Up and down by 100 m, again and again.
fn soars(times: usize) -> Vec<Piece> {
    [(100, 1.0, 25.0, 14.0), (100, -1.0, 28.0, 0.0)].repeat(times)
}

/// What the recorder makes of it.
#[derive(Clone, Copy)]
struct Recorder<'a> {
    airspeed: bool,
    /// The noise of the engine, of 999, where there is a sensor.
    engine: Option<&'a dyn Fn(usize) -> u32>,
    /// What the barometer adds, m.
    barometer_m: &'a dyn Fn(usize) -> f64,
    /// What the clock adds, s.
    clock_s: &'a dyn Fn(usize) -> usize,
    misses: &'a dyn Fn(usize) -> bool,
}

const PLAIN: Recorder<'_> = Recorder {
    airspeed: false,
    engine: None,
    barometer_m: &|_| 0.0,
    clock_s: &|_| 0,
    misses: &|_| false,
};

/// A flight recorder's file of the pieces, from 500 m on, one fix a second.
fn igc(pieces: &[Piece], recorder: &Recorder<'_>) -> String {
    let mut text = String::from("AXXXMADE\nHFDTE010726\n");
    match (recorder.airspeed, recorder.engine.is_some()) {
        (true, _) => text += "I013640TAS\n",
        (false, true) => text += "I013638ENL\n",
        (false, false) => {}
    }
    let (mut x, mut y, mut height_m, mut course, mut mps) = (0.0_f64, 0.0_f64, 500.0, 0.0_f64, 0.0);
    let seconds = pieces.iter().flat_map(|piece| std::iter::repeat_n(piece, piece.0));
    for (t, (_, climb, speed, turn)) in seconds.enumerate() {
        mps += f64::clamp(speed - mps, -3.0, 3.0);
        course += turn.to_radians();
        x += mps * course.sin();
        y += mps * course.cos();
        height_m += climb;
        if (recorder.misses)(t) {
            continue;
        }
        let noise_m = 0.4 * f64::from((t * 7_919 % 1_000) as u32) / 1_000.0;
        let clock = 32_400 + t + (recorder.clock_s)(t);
        let (north, east) = (48.0 + y / 111_195.0, 8.0 + x / 111_195.0 / 0.669_131);
        let minutes = |degrees: f64| (60_000.0 * degrees.fract()) as u32;
        write!(
            text,
            "B{:02}{:02}{:02}{:02}{:05}N{:03}{:05}EA{:05.0}{:05.0}",
            clock / 3600,
            clock / 60 % 60,
            clock % 60,
            north as u32,
            minutes(north),
            east as u32,
            minutes(east),
            height_m + noise_m + (recorder.barometer_m)(t),
            height_m + 50.0
        )
        .expect("a string");
        if recorder.airspeed {
            write!(text, "{:05.0}", 360.0 * mps).expect("a string");
        } else if let Some(noise) = recorder.engine {
            write!(text, "{:03}", noise(t)).expect("a string");
        }
        text.push('\n');
    }
    text
}

fn lasts(pieces: &[Piece]) -> usize {
    pieces.iter().map(|piece| piece.0).sum()
}

fn of(pieces: &[Piece], recorder: &Recorder<'_>) -> Value {
    let folder = folder();
    let found = flight(&write(&folder, "made.igc", igc(pieces, recorder)), &[]);
    holds_together(&found);
    found
}

fn claims_nothing(found: &Value, why: &str) {
    assert_eq!(reached(found), Vec::<String>::new(), "{found}");
    let words = found["badges"]["not_known"].to_string();
    assert!(words.contains(why), "{why}: {words}");
}

#[test]
fn two_flights_with_ten_minutes_on_a_hilltop_between_are_two() {
    let bungee = vec![(600, 0.0, 0.0, 0.0), (6, 0.0, 18.0, 0.0), (30, -2.0, 22.0, 0.0)];
    let again = vec![(60, 1.2, 22.0, 0.0)];
    let pieces =
        [towed(), soars(46), glide(570), bungee, again, soars(46), glide(72), vec![STANDS]];
    let found = of(&pieces.concat(), &PLAIN);
    assert_eq!(found["others"].as_array().map(Vec::len), Some(1), "{found}");
    assert!(!reached(&found).contains(&"duration 18000.0".to_owned()), "{found}");
}

#[test]
fn a_landing_and_a_launch_within_seconds_are_doubted() {
    let rolls = vec![(15, 0.0, 3.0, 0.0)];
    let launch = towed()[1..].to_vec();
    let pieces =
        [towed(), soars(40), glide(570), rolls, launch, soars(48), glide(570), vec![STANDS]];
    claims_nothing(&of(&pieces.concat(), &PLAIN), "may have stood on the ground");
}

#[test]
fn a_drive_over_a_pass_is_no_flight_and_not_the_flight() {
    let drive = vec![(300, 1.2, 18.0, 0.0), (400, -0.9, 18.0, 3.0), (1_100, 1.15, 16.0, 0.0)];
    let down = vec![(1_000, -1.0, 16.0, 0.0), STANDS];
    let found = of(&[vec![STANDS], drive.clone(), down.clone()].concat(), &PLAIN);
    assert_eq!(found["begins"], "never flies", "{found}");
    assert_eq!(reached(&found), Vec::<String>::new());
    let flown = [towed(), soars(6), glide(570), vec![(1_200, 0.0, 0.0, 0.0)]].concat();
    let found = of(&[flown, drive, down].concat(), &PLAIN);
    assert!(number(&found["take_off_s"]) < 32_400.0 + 300.0, "{found}");
    assert_eq!(reached(&found), Vec::<String>::new());
}

#[test]
fn time_that_the_clock_jumps_over_is_not_flown() {
    let flown = [towed(), soars(86), glide(570), vec![STANDS]].concat();
    let truly_s = (lasts(&flown) - 2 * 200 - 252) as f64;
    assert!(truly_s < 18_000.0);
    let once = |t: usize| 240 * usize::from(t > 8_450);
    let often = |t: usize| 120 * [8_450, 8_500, 8_550].iter().filter(|at| t > **at).count();
    for clock_s in [&once as &dyn Fn(usize) -> usize, &often] {
        let found = of(&flown, &Recorder { clock_s, ..PLAIN });
        assert!(number(&found["badges"]["duration_s"]) > 18_000.0, "{found}");
        assert!(number(&found["badges"]["duration_at_least_s"]) <= truly_s, "{found}");
        assert!(!reached(&found).contains(&"duration 18000.0".to_owned()), "{found}");
    }
}

#[test]
fn a_landing_and_a_launch_in_a_gap_are_doubted() {
    let first = [towed(), soars(40), glide(570), vec![(240, 0.0, 0.0, 0.0)]].concat();
    let last_s = lasts(&first);
    let winch = vec![(8, 0.0, 20.0, 0.0), (35, 12.0, 25.0, 0.0)];
    let pieces = [first, winch, soars(48), glide(420), vec![STANDS]].concat();
    let misses = |t: usize| t > last_s - 250 && t < last_s + 20;
    claims_nothing(&of(&pieces, &Recorder { misses: &misses, ..PLAIN }), "in a gap of");
}

#[test]
fn a_gap_in_the_air_is_no_landing() {
    let zero = vec![(300, 0.01, 25.0, 14.0)];
    let pieces = [towed(), soars(6), zero, soars(6), glide(570), vec![STANDS]].concat();
    let found = of(&pieces, &Recorder { misses: &|t| t > 1_850 && t < 1_877, ..PLAIN });
    assert_eq!(found["others"].as_array().map(Vec::len), Some(0), "{found}");
    assert_eq!(found["launch"]["kind"], "tow");
}

#[test]
fn a_tow_that_levels_off_and_climbs_on_gains_nothing() {
    let tow = [(150, 2.5, 36.0, 0.0), (40, 0.0, 29.0, 0.0), (440, 2.5, 34.0, 0.0)];
    let down = vec![OFF, (1_230, -1.2, 28.0, 0.0), STANDS];
    let pieces = [vec![STANDS, ROLLS], tow.to_vec(), down].concat();
    for airspeed in [false, true] {
        let found = of(&pieces, &Recorder { airspeed, ..PLAIN });
        assert_eq!(reached(&found), Vec::<String>::new(), "{found}");
        assert_ne!(found["release"]["confidence"], "sure", "{found}");
        // Truly 29 minutes less ten.
        assert!(number(&found["badges"]["duration_at_least_s"]) < 1_260.0, "{found}");
    }
}

#[test]
fn a_straight_climb_as_steady_as_an_engine_s_is_no_gain_where_nothing_hears_one() {
    let climb = vec![(300, -1.2, 28.0, 0.0), (500, 2.4, 26.0, 0.0), (1_100, -1.2, 28.0, 0.0)];
    let pieces = [towed(), climb, vec![STANDS]].concat();
    claims_nothing(&of(&pieces, &PLAIN), "may have been under power");
    let quiet = |_: usize| 20;
    let found = of(&pieces, &Recorder { engine: Some(&quiet), ..PLAIN });
    assert_eq!(reached(&found), ["gain 1000.0"], "{found}");
}

#[test]
fn a_gain_that_the_satellites_do_not_show_is_not_claimed() {
    let up = vec![(300, -1.0, 28.0, 0.0), (800, 1.15, 25.0, 14.0), (1_200, -1.0, 28.0, 0.0)];
    let pieces = [towed(), up, vec![STANDS]].concat();
    let jumps = |t: usize| 40.0 * [900, 1_100, 1_200].iter().filter(|at| t > **at).count() as f64;
    let found = of(&pieces, &Recorder { barometer_m: &jumps, ..PLAIN });
    claims_nothing(&found, "satellites do not show");
}

#[test]
fn a_claim_says_its_time_to_the_second_and_inspect_says_why_there_is_none() {
    let pieces = [towed(), soars(40), glide(570), vec![STANDS]].concat();
    let folder = folder();
    let said = run(&["inspect", &write(&folder, "made.igc", igc(&pieces, &PLAIN))]);
    let found = of(&pieces, &PLAIN);
    assert_eq!(reached(&found), ["duration 7200.0"]);
    let at_least = number(&found["badges"]["duration_at_least_s"]) as u64;
    let clock =
        format!("{}:{:02}:{:02} or more", at_least / 3600, at_least / 60 % 60, at_least % 60);
    assert!(said.contains(&clock) && said.contains("if no engine ran"), "{clock}: {said}");
    let cut = [&[(90, -1.0, 28.0, 0.0)][..], &pieces[4..]].concat();
    let said = run(&["inspect", &write(&folder, "cut.igc", igc(&cut, &PLAIN))]);
    assert!(said.contains("badges        nothing is said: the release is not"), "{said}");
}

#[test]
fn a_winch_launch_into_lift_is_a_winch_launch() {
    let winch = vec![STANDS, (6, 0.0, 25.0, 0.0), (28, 11.0, 27.0, 0.0)];
    for lift in [(200, 3.0, 25.0, 14.0), (230, 3.0, 25.0, 0.0), (420, 2.4, 25.0, 14.0)] {
        let down_s = 308 + (lift.0 as f64 * lift.1) as usize;
        let found = of(&[winch.clone(), vec![lift], glide(down_s), vec![STANDS]].concat(), &PLAIN);
        assert_eq!(found["launch"]["kind"], "winch", "{found}");
        let known = number(&found["release"]["earliest_s"])..=number(&found["release"]["latest_s"]);
        let at_s = number(&found["take_off_s"]) + 28.0;
        assert!(known.contains(&at_s), "{found}");
    }
}

#[test]
fn a_climb_under_power_is_none() {
    let climb = vec![(200, -1.0, 28.0, 0.0), (400, 2.4, 27.0, 0.0), (900, -1.2, 28.0, 0.0)];
    let pieces = [towed(), soars(2), climb, vec![STANDS]].concat();
    let from_s = 482 + 400 + 200;
    let runs = |t: usize| if t < 452 || (from_s..from_s + 400).contains(&t) { 950 } else { 20 };
    let found = of(&pieces, &Recorder { engine: Some(&runs), ..PLAIN });
    assert_eq!(found["climbs"].as_array().map(Vec::len), Some(2), "{found}");
    assert!(number(&found["best_gain_m"]) < 150.0, "{found}");
    claims_nothing(&found, "engine runs");
}

#[test]
fn a_slow_steady_climb_at_the_start_of_a_log_of_pressures_is_no_ground() {
    let mut text = String::from("time_s,static_pa\n");
    for t in 0..600 {
        let height_m = 1_000.0 + 0.3 * f64::from(t.min(300)) + 2.0 * f64::from((t - 300).max(0));
        writeln!(text, "{t},{:.1}", pressure_pa(height_m)).expect("a string");
    }
    let folder = folder();
    let found = flight(&write(&folder, "made.csv", text), &[]);
    assert_eq!(found["begins"], "in the air", "{found}");
}

/// A piece that a gap or `--from` and `--to` cut out may be shorter than what is looked for in it.
#[test]
fn a_piece_of_a_flight_of_any_length_has_an_account() {
    for for_s in [3, 4, 5, 6, 9, 10, 11, 19, 20, 21, 29, 30, 31, 39, 40, 41] {
        for (climb, turn) in [(2.5, 0.0), (6.0, 14.0)] {
            let gap = |t: usize| if t < 20 + for_s { 0 } else { 1_200 };
            let pieces = [(20, 0.0, 28.0, 0.0), (for_s, climb, 28.0, turn), (300, 1.0, 28.0, 14.0)];
            of(&pieces, &Recorder { clock_s: &gap, ..PLAIN });
        }
    }
}
