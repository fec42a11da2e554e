//! Launches, spins and loops of the built-in scenarios: common practice (no source), and the
//! readings of an instrument.

use crate::support::{Table, folder, path, run};
use serde_json::Value;

const FEET: f64 = 1.0 / 0.3048;

/// The built-in scenario's account, its trace, and the readings of an instrument.
fn flown(name: &str, args: &[&str]) -> (Value, Table, Table) {
    let folder = folder();
    let trace = path(&folder, "trace.csv");
    let mut all = vec!["fly", name, "-o", &trace, "--json"];
    all.extend(args);
    let account = serde_json::from_str(&run(&all)).expect("JSON");
    let readings = Table::read(&run(&["replay", &trace, "--csv", "-"]));
    let text = std::fs::read_to_string(&trace).expect("it was written");
    // As the readings' table, with the phase in the place of the status.
    let text: String = text
        .lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| format!("{line}\n"))
        .collect();
    (account, Table::read(&text.replacen("truth_phase", "status", 1)), readings)
}

/// Seconds and metres of all parts of that name.
fn phase(account: &Value, name: &str) -> (f64, f64) {
    let phases = account["phases"].as_array().expect("a list");
    let number = |phase: &Value, key: &str| phase[key].as_f64().expect("a number");
    phases.iter().filter(|phase| phase["phase"] == name).fold(
        (0.0, 0.0),
        |(seconds, metres), phase| {
            (
                seconds + number(phase, "to_s") - number(phase, "from_s"),
                metres + number(phase, "to_m") - number(phase, "from_m"),
            )
        },
    )
}

fn greatest(values: &[f64]) -> f64 {
    values.iter().copied().filter(|value| value.is_finite()).fold(f64::NEG_INFINITY, f64::max)
}

#[test]
fn a_winch_launch_takes_half_a_minute_to_a_thousand_feet_and_is_read_to_its_peak() {
    // About 30 s to 1000 to 2000 ft, peak rates about 3000 ft/min: common practice, no source.
    let (account, truth, readings) = flown("winch-and-circuit", &[]);
    let (seconds, metres) = phase(&account, "winch");
    assert!((25.0..38.0).contains(&seconds), "{seconds} s");
    assert!((1000.0..2000.0).contains(&(metres * FEET)), "{} ft", metres * FEET);
    let peak = greatest(truth.column("truth_vertical_mps"));
    assert!((2700.0..3400.0).contains(&(peak * FEET * 60.0)), "{} ft/min", peak * FEET * 60.0);
    let read = greatest(readings.column("vertical_speed_mps"));
    assert!((read - peak).abs() < 0.05 * peak, "read {read} of {peak} m/s");
    assert!(greatest(truth.column("truth_altitude_m")) > 450.0);
    assert_eq!(
        truth.column("truth_altitude_m").last().copied(),
        Some(140.0),
        "it lands where it began"
    );
}

#[test]
fn an_aerotow_takes_about_five_minutes() {
    // Common practice, no source.
    let (account, _, _) = flown("aerotow-and-thermal", &[]);
    let (seconds, metres) = phase(&account, "aerotow");
    assert!((240.0..360.0).contains(&seconds), "{seconds} s");
    assert!((500.0..800.0).contains(&metres), "{metres} m");
    let (_, climbed) = phase(&account, "centred");
    assert!(climbed > 400.0, "{climbed} m");
}

#[test]
fn the_wave_reaches_7000_m() {
    let (account, truth, _) = flown("wave", &[]);
    assert!((7000.0..7050.0).contains(&account["highest_m"].as_f64().expect("a number")));
    // The true airspeed at 7000 m is sqrt(1.225 / 0.590) = 1.44 times the indicated 27 m/s, on a
    // standard day.
    let phases = account["phases"].as_array().expect("a list");
    let fastest = phases[0]["fastest_mps"].as_f64().expect("a number");
    assert!((38.0..40.5).contains(&fastest), "{fastest} m/s");
    assert!(greatest(truth.column("truth_air_mps")) > 3.5);
}

#[test]
fn a_spin_and_its_recovery_are_survived_by_glider_and_instrument() {
    let (account, truth, readings) = flown("spin", &[]);
    let (seconds, metres) = phase(&account, "spin");
    let turns = seconds / 3.5;
    // 60 to 110 m for a turn, a pull-out of less than 3 g: common practice, no source.
    assert!((60.0..110.0).contains(&(-metres / turns)), "{} m a turn", -metres / turns);
    let load = account["most_load"].as_f64().expect("a number");
    assert!((1.7..3.0).contains(&load), "{load} g");
    // It sinks all the time, and sink is never shown as lift.
    let heard = readings.column("te_vertical_speed_mps");
    assert!(greatest(heard) < 0.5, "{} m/s", greatest(heard));
    let steepest = truth.column("truth_vertical_mps").iter().copied().fold(0.0, f64::min);
    assert!((-32.0..-22.0).contains(&steepest), "{steepest} m/s");
}

#[test]
fn loops_and_chandelles_stay_within_what_a_glider_bears() {
    let (account, truth, _) = flown("aerobatics", &[]);
    let load = |key: &str| account[key].as_f64().expect("a number");
    assert!((3.0..3.6).contains(&load("most_load")) && load("least_load") > 0.0, "{account}");
    let of = |name: &str| {
        let rows = truth.status.iter().enumerate().filter(|(_, phase)| *phase == name);
        let heights: Vec<f64> =
            rows.map(|(row, _)| truth.column("truth_altitude_m")[row]).collect();
        greatest(&heights) - heights[0]
    };
    assert!((80.0..130.0).contains(&of("loop")), "a loop of {} m", of("loop"));
    let (_, gained) = phase(&account, "chandelle");
    assert!((80.0..180.0).contains(&gained), "two chandelles gain {gained} m");
}
