//! The measures on traces of an independent simulation, `shared/rough-air` beside the project, and
//! against the figures of its own `score.py`: its README's table of 2026-11-25.
//!
//! The traces are not part of the project. Where they are absent the test says that it was skipped,
//! and fails instead where `REQUIRE_REAL_FLIGHTS=1` is set.

use super::case::GUSTS_05;
use super::flown::Flown;
use super::heard::hear;
use super::tally::Tally;
use crate::response::with::With;
use chirrup_core::{EnergyChoice, FilterChoice, Micros, Pascal, Sample, Settings, Speed};
use std::fs::File;
use std::path::Path;

/// Name, response of the fixed filter in s, error in m/s rms, false beeps, false spells.
const SCORED: [(&str, f32, f64, f64, f64); 6] = [
    ("gusts-straight", 1.0, 0.57, 17.0, 5.0),
    ("gusts-straight", 2.0, 0.37, 2.0, 0.0),
    ("thermals-circles-stick-gusts", 1.0, 0.67, 17.0, 11.0),
    ("thermals-circles-stick-gusts", 2.0, 0.56, 3.0, 3.0),
    ("entries-in-gusts", 1.0, 0.62, 60.0, 39.0),
    ("entries-in-gusts", 2.0, 0.58, 16.0, 13.0),
];

#[test]
fn the_measures_are_those_of_the_shared_score() {
    for (name, response_s, error_mps, beeps, spells) in SCORED {
        let Some(flown) = flown(name) else { return };
        let mut settings = Settings::default();
        settings.energy.choice = EnergyChoice::Electronic;
        settings.filter.choice = FilterChoice::Fixed;
        settings.filter.response_s = response_s;
        let heard = hear(&settings.build().unwrap(), &flown, With::Pressures);
        let found = Tally::of(&GUSTS_05, &flown, &heard);
        let what = format!("{name}, {response_s} s: {found:?}");
        assert!((found.error_mps - error_mps).abs() < 0.006, "{what}");
        // The score counts a sound even if it ends before its first beep is heard.
        assert!((found.false_climb.beeps - beeps).abs() < 1.0 + 0.01 * beeps, "{what}");
        assert!((found.false_climb.spells - spells).abs() < 0.6, "{what}");
    }
}

fn flown(name: &str) -> Option<Flown> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../shared/rough-air")
        .join(format!("{name}.csv"));
    let file = match File::open(&path) {
        Ok(file) => file,
        Err(error) => {
            let is_required = std::env::var("REQUIRE_REAL_FLIGHTS").is_ok_and(|value| value == "1");
            assert!(!is_required, "{name} cannot be read: {error}");
            skipped_notice(name);
            return None;
        }
    };
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(file);
    let headers = reader.headers().expect("it has a header").clone();
    let place = |name: &str| headers.iter().position(|found| found == name).expect(name);
    let places = ["time_s", "static_pa", "dynamic_pa", "truth_climb_mps"].map(place);
    let mut flown = Flown::default();
    for record in reader.records() {
        let record = record.expect("it can be read");
        let [time_s, static_pa, dynamic_pa, truth_mps] =
            places.map(|place| record[place].parse::<f64>().expect("a number"));
        flown.times_s.push(time_s);
        flown.truth_mps.push(truth_mps);
        flown.circles.push(false);
        flown.samples.push(Sample {
            speed: Some(Speed::Dynamic(Pascal(dynamic_pa as f32))),
            ..Sample::of_static(Micros((time_s * 1e6).round() as i64), Pascal(static_pa as f32))
        });
    }
    Some(flown)
}

#[allow(clippy::print_stderr)]
fn skipped_notice(name: &str) {
    eprintln!(
        "SKIPPED: shared/rough-air/{name}.csv is not here; set REQUIRE_REAL_FLIGHTS=1 to make this \
         a failure"
    );
}
