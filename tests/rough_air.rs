//! `chirrup response --only rough`: what a reading is worth in gusts, thermals and circles.

use crate::support::{complaint, folder, path, run};
use serde_json::Value;
use std::fs;

/// What the default settings must hold, in the worst of the flights: case, measure, bound. Gain is
/// no less than its bound, everything else no more. Requirements of our own; no source.
const MUST: [(&str, &str, f64); 30] = [
    ("filter", "noise_mps", 0.016),
    ("filter", "lag_ratio_at1", 0.36),
    ("filter", "lag_ratio_at2", 0.28),
    ("still", "error_mps", 0.025),
    ("pull_ups", "error_mps", 0.085),
    ("gusts_025", "error_mps", 0.22),
    ("gusts_025", "false_spells", 0.0),
    ("gusts_05", "error_mps", 0.38),
    ("gusts_05", "false_spells", 1.0),
    ("gusts_05_10_hz", "error_mps", 0.38),
    ("gusts_05_10_hz", "false_spells", 1.0),
    ("gusts_05_uneven", "error_mps", 0.38),
    ("gusts_05_uneven", "false_spells", 1.0),
    ("gusts_1", "error_mps", 0.50),
    ("gusts_1", "false_spells", 2.0),
    ("thermals_gusts", "error_mps", 0.82),
    ("thermals_gusts", "false_spells", 6.0),
    ("thermals", "error_mps", 0.20),
    ("thermals", "false_spells", 4.0),
    ("thermals_4_hz", "error_mps", 0.22),
    ("thermals_1_hz", "error_mps", 0.29),
    ("entry_1", "half_late_s", 0.42),
    ("entry_2", "half_late_s", 0.30),
    ("entry_1_gusts", "half_late_s", 1.5),
    ("entry_1_gusts", "missed_percent", 6.0),
    ("entry_2_gusts", "half_late_s", 1.5),
    ("entry_1_rare", "missed_percent", 6.0),
    ("after_thermal", "false_spells", 5.0),
    ("circles", "lag_deg", 6.0),
    ("circles", "gain", 0.93),
];

/// What must hold with an inertial sensor, without and with a satellite receiver. Requirements of
/// our own; no source.
const MUST_INERTIAL: [(&str, &str, f64, f64); 17] = [
    ("still", "error_mps", 0.05, 0.05),
    ("pull_ups", "worst_mps", 0.35, 0.35),
    ("gusts_05", "error_mps", 0.18, 0.10),
    ("gusts_05", "false_beeps", 0.0, 0.0),
    ("gusts_1", "error_mps", 0.25, 0.10),
    ("gusts_1", "false_beeps", 0.0, 0.0),
    ("thermals_gusts", "error_mps", 0.33, 0.28),
    ("thermals_gusts", "false_beeps", 5.0, 5.0),
    ("entry_2_gusts", "half_late_s", 0.15, 0.15),
    ("entry_2_gusts", "before_mps", 0.18, 0.18),
    ("circles", "lag_deg", 10.0, 7.0),
    ("circles_gusts", "lag_deg", 10.0, 7.0),
    ("circles_long", "error_mps", 0.36, 0.25),
    ("circles_long", "mean_mps", 0.10, 0.10),
    ("inertial_askew", "error_mps", 0.36, 0.33),
    ("inertial_lever", "error_mps", 0.36, 0.33),
    ("inertial_doubled", "error_mps", 0.36, 0.33),
];

fn rough(args: &[&str]) -> Value {
    let text = run(&[&["response", "--only", "rough", "--json"], args].concat());
    let mut figures: Value = serde_json::from_str(&text).expect("it prints JSON");
    figures["rough"].take()
}

fn rows(rough: &Value) -> &Vec<Value> {
    rough["rows"].as_array().expect("it has rows")
}

fn row<'a>(rough: &'a Value, case: &str, measure: &str) -> &'a Value {
    let is_it = |row: &&Value| row["case"] == case && row["measure"] == measure;
    rows(rough).iter().find(is_it).unwrap_or_else(|| panic!("there is no {measure} of {case}"))
}

#[test]
fn the_default_holds_what_it_must_in_rough_air() {
    let found = rough(&["--rough-runs", "2"]);
    let mut broken = Vec::new();
    for (case, measure, bound) in MUST {
        let present = row(&found, case, measure)["present"].as_f64();
        let holds = match measure {
            "gain" => present >= Some(bound),
            _ => present.is_some_and(|present| present <= bound),
        };
        if !holds {
            broken.push(format!("{case} {measure}: {present:?}, at most {bound}"));
        }
    }
    for (case, measure, must, with_satellites) in MUST_INERTIAL {
        let is_it = |row: &&Value| row["case"] == case && row["measure"] == measure;
        let all = found["inertial"].as_array().expect("it has rows");
        let row = all.iter().find(is_it).unwrap_or_else(|| panic!("no {measure} of {case}"));
        for (name, bound) in [("inertial", must), ("with_satellites", with_satellites)] {
            if row[name].as_f64().is_none_or(|present| present > bound) {
                broken.push(format!("{case} {measure} {name}: {}, at most {bound}", row[name]));
            }
        }
    }
    assert!(broken.is_empty(), "{broken:#?}");
}

#[test]
fn a_setting_that_turns_the_inertial_sensor_off_reads_the_pressures_alone() {
    let found = rough(&["--rough-runs", "1", "--settings", "inertial=off"]);
    let all = found["inertial"].as_array().expect("it has rows");
    assert_eq!(all.len(), MUST_INERTIAL.len());
    for row in all {
        assert_eq!(row["inertial"], row["pressures"], "{row}");
        assert_eq!(row["with_satellites"], row["pressures"], "{row}");
    }
}

#[test]
fn a_fixed_filter_has_its_own_place_on_the_front_and_every_bound_is_printed() {
    let found = rough(&["--rough-runs", "1", "--settings", "filter=fixed,response_s=2"]);
    for (case, measure, bound) in MUST {
        assert_eq!(row(&found, case, measure)["must"], bound, "{case} {measure}");
    }
    let judged = rows(&found).iter().filter(|row| !row["must"].is_null()).count();
    assert_eq!(judged, MUST.len());
    let front = found["front"].as_array().expect("it has a front");
    let own = front.iter().find(|trade| trade["response_s"] == 2.0).expect("2 s is on it");
    for name in ["half_late_s", "false_spells"] {
        assert_eq!(found["present"][name], own[name], "{name}");
    }
    for row in rows(&found).iter().filter(|row| row["best_fixed_response_s"] == 2.0) {
        assert_eq!(row["present"], row["best_fixed"], "{row}");
    }
    // With gusts nothing that is quick is the best; without, nothing that is slow.
    let best_s = |case| row(&found, case, "error_mps")["best_fixed_response_s"].as_f64().unwrap();
    assert!(best_s("gusts_05") >= 1.4 && best_s("still") >= 2.8 && best_s("thermals") <= 0.7);
    // What a fixed filter of 2 s is known to be: its lag at an edge, and a wave of 18 s through
    // it, w0 = sqrt 2 / 2 s: lag atan2(sqrt 2 w / w0, 1 - (w / w0)^2) = 42.7 degrees, gain
    // 1 / sqrt(1 + (w / w0)^4) = 0.971.
    let present = |case, measure| row(&found, case, measure)["present"].as_f64().unwrap();
    assert!((present("circles", "lag_deg") - 42.7).abs() < 1.5, "{found:#}");
    assert!((present("circles", "gain") - 0.971).abs() < 0.02, "{found:#}");
    assert!((present("entry_2", "half_late_s") - 2.05).abs() < 0.15, "{found:#}");
}

#[test]
fn the_same_command_prints_the_same_text_that_fits_a_narrow_window_and_draws() {
    let folder = folder();
    let (svg, png) = (path(&folder, "r.svg"), path(&folder, "r.png"));
    let args = |place| ["response", "--only", "rough", "--rough-runs", "1", "--plot", place];
    let text = run(&args(&svg));
    assert_eq!(text, run(&args(&png)));
    let longest = text.lines().map(|line| line.chars().count()).max();
    assert!(longest <= Some(100), "a line of {longest:?} columns");
    assert!(fs::read_to_string(svg).expect("it is there").starts_with("<svg"));
    assert!(fs::read(png).expect("it is there").starts_with(b"\x89PNG"));
}

#[test]
fn a_part_that_does_not_exist_or_no_flights_is_exit_2_in_one_line() {
    for (args, part) in [
        (["--rough-runs", "0"], "--rough-runs is 0, expected 1 to 100"),
        (["--only", "smooth"], "smooth"),
    ] {
        let message = complaint(&[&["response"][..], &args].concat(), 2);
        assert!(message.starts_with("chirrup: ") && message.contains(part), "{args:?}: {message}");
    }
}
