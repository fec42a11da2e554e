//! Our own recordings against the truth in them.

use super::{flight, holds_together, number, reached};
use crate::support::{folder, path, run};
use std::collections::HashMap;
use std::path::Path;

/// Rows of a trace of `chirrup fly`.
struct Truth {
    rows: Vec<(f64, f64, String)>,
}

impl Truth {
    fn read(path: &str) -> Self {
        let text = std::fs::read_to_string(path).expect("the trace can be read");
        let mut lines = text.lines().filter(|line| !line.starts_with('#'));
        let names = lines.next().expect("a header").split(',').enumerate();
        let place: HashMap<&str, usize> = names.map(|(place, name)| (name, place)).collect();
        let row = |line: &str| {
            let fields: Vec<&str> = line.split(',').collect();
            let number = |name: &str| fields[place[name]].parse().expect("a number");
            let phase = fields[place["truth_phase"]].to_owned();
            (number("time_s"), number("truth_altitude_m"), phase)
        };
        Self { rows: lines.map(row).collect() }
    }

    /// When the launch is over, and how much it gained, m.
    fn launch(&self) -> Option<(f64, f64)> {
        let is_launch = |phase: &str| ["winch", "aerotow"].contains(&phase);
        let last = self.rows.iter().rposition(|row| is_launch(&row.2))?;
        let after = &self.rows[last + 1];
        Some((after.0, after.1 - self.rows[0].1))
    }

    fn height_m(&self, time_s: f64) -> f64 {
        let next = self.rows.partition_point(|row| row.0 < time_s).min(self.rows.len() - 1);
        self.rows[next].1
    }
}

/// The names of all recordings.
fn names() -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../recordings");
    let entries = std::fs::read_dir(folder).expect("the recordings are there");
    let names = entries.map(|entry| entry.expect("an entry").file_name());
    let names = names.filter_map(|name| Some(name.to_str()?.strip_suffix(".csv")?.to_owned()));
    let mut names: Vec<String> = names.collect();
    names.sort();
    names
}

#[test]
fn the_launch_of_every_recording_ends_within_5_s_and_5_m_of_its_truth() {
    let folder = folder();
    let mut launched = 0;
    for name in names() {
        let recording = format!("{}/../recordings/{name}.csv", env!("CARGO_MANIFEST_DIR"));
        // The same flight with its truth, which the demonstration's recording does not have.
        let made = path(&folder, "flown.csv");
        run(&["fly", &name, "--output", &made]);
        let (truth, found) = (Truth::read(&made), flight(&recording, &[]));
        holds_together(&found);
        assert!(reached(&found).is_empty(), "{name}: {found}");
        let Some((release_s, gain_m)) = truth.launch() else {
            assert_eq!(found["begins"], "in the air", "{name}");
            assert!(found["launch"].is_null() && found["release"].is_null(), "{name}");
            continue;
        };
        launched += 1;
        let release = number(&found["release_s"]);
        assert!((release - release_s).abs() <= 5.0, "{name}: {release}, truly {release_s}");
        let gained = number(&found["launch"]["gain_m"]);
        assert!((gained - gain_m).abs() <= 5.0, "{name}: {gained}, truly {gain_m}");
    }
    assert_eq!(launched, 3);
}

#[test]
fn the_climbs_of_every_recording_gain_what_is_true_within_5_m() {
    let folder = folder();
    let mut count = 0;
    for name in names() {
        // A cold day, a blocked line: the pressure is not the height there.
        if ["wave", "blocked-static"].contains(&name.as_str()) {
            continue;
        }
        let made = path(&folder, "flown.csv");
        run(&["fly", &name, "--output", &made]);
        let (truth, found) = (Truth::read(&made), flight(&made, &[]));
        for climb in found["climbs"].as_array().expect("a list") {
            let true_m =
                truth.height_m(number(&climb["to_s"])) - truth.height_m(number(&climb["from_s"]));
            let gain_m = number(&climb["gain_m"]);
            // 1 % beside: the days are not all the standard atmosphere's.
            let within_m = 5.0 + 0.01 * true_m;
            assert!((gain_m - true_m).abs() <= within_m, "{name}: {climb}, truly {true_m}");
            count += 1;
        }
    }
    assert!(count >= 8, "{count}");
}
