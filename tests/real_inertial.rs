//! The real recordings with an inertial sensor, and the traces of an independent simulation, beside
//! the project: every cell of every sensor is read. Nobody here flew, recorded or computed them;
//! where they are absent the tests say so, and CI makes that a failure.

use crate::support::{run, samples, shared};
use chirrup_core::{Sample, Speed};
use std::collections::HashMap;
use std::path::{Path, PathBuf};

const RECORDINGS: [&str; 6] = [
    "inertial-flights/fixedwing-imu136-150s.csv",
    "inertial-flights/motorglider-model-imu50-330s.csv",
    "inertial-flights/fullsize-imu50-stall-30s.csv",
    "rough-air/gusts-straight.csv",
    "rough-air/thermals-circles-stick-gusts.csv",
    "rough-air/entries-in-gusts.csv",
];

fn recordings() -> impl Iterator<Item = PathBuf> {
    RECORDINGS.into_iter().filter_map(shared)
}

/// The cells of each column that are not empty, split by hand: none of them has a quote.
fn cells(path: &Path) -> (usize, HashMap<String, usize>) {
    let text = std::fs::read_to_string(path).expect("it can be read");
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
    let names: Vec<&str> = lines.next().expect("it has a header").split(',').collect();
    let (mut rows, mut cells) = (0, HashMap::new());
    for line in lines {
        rows += 1;
        for (name, cell) in names.iter().zip(line.split(',')) {
            *cells.entry((*name).to_owned()).or_insert(0) += usize::from(!cell.is_empty());
        }
    }
    (rows, cells)
}

#[test]
fn every_cell_of_every_sensor_is_read() {
    for path in recordings() {
        let (rows, cells) = cells(&path);
        let samples = samples(&path);
        let count = |has: fn(&Sample) -> bool| samples.iter().filter(|sample| has(sample)).count();
        let what = path.display();
        assert_eq!(samples.len(), rows, "{what}");
        assert_eq!(count(|sample| sample.static_pressure.is_some()), cells["static_pa"], "{what}");
        let dynamic = count(|sample| matches!(sample.speed, Some(Speed::Dynamic(_))));
        assert_eq!(dynamic, cells["dynamic_pa"], "{what}");
        // In one of them the force comes less often than the turn rate, and the last one stands.
        assert_eq!(count(|sample| sample.inertial.is_some()), cells["gyro_x_radps"], "{what}");
        let velocities = count(|sample| sample.ground_velocity.is_some());
        assert_eq!(velocities, cells["gnss_vn_mps"], "{what}");
        let usable = |sample: &Sample| {
            sample.usable_inertial().is_some() == sample.inertial.is_some()
                && sample.usable_ground_velocity().is_some() == sample.ground_velocity.is_some()
        };
        assert!(samples.iter().all(usable), "{what}");
    }
}

#[test]
fn a_replay_uses_every_row() {
    for path in recordings() {
        let (rows, cells) = cells(&path);
        let path = path.to_str().expect("the path is text");
        let summary = run(&["replay", path, "--json"]);
        let summary: serde_json::Value = serde_json::from_str(&summary).expect("it is JSON");
        let number = |name: &str| summary[name].as_u64().unwrap_or(0) as usize;
        assert_eq!(summary["lines_skipped"].as_array().map(Vec::len), Some(0), "{path}");
        assert_eq!(number("samples_used"), cells["static_pa"], "{path}");
        assert_eq!(number("samples_partial"), rows - cells["static_pa"], "{path}");
    }
}
