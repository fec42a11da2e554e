//! The order of the rooms: files and folders at the top of a crate import only those before them.

use super::{root, rust_files};
use std::fs;

/// A room and the rooms that its files may import besides their own.
type Room = (&'static str, &'static [&'static str]);

/// What every stage of the core may use.
const BASE: [&str; 3] = ["units", "error", "rows"];

/// The core, in the order of the data's way. The sound knows nothing of pressure, the estimator
/// nothing of flight; `pipeline` and `stages` know them all.
const CORE: [Room; 16] = [
    ("units", &[]),
    ("decimal", &[]),
    ("error", &["decimal"]),
    ("rows", &["error"]),
    ("sensing", &["units"]),
    ("air", &["units", "error", "rows", "sensing"]),
    ("motion", &BASE),
    ("inertial", &["units", "error", "rows", "sensing", "air", "motion"]),
    ("sound", &BASE),
    ("advice", &["inertial"]),
    ("reading", &["units", "rows", "air", "motion", "inertial", "sound"]),
    ("intake", &["units", "error", "sensing", "air", "motion", "reading"]),
    ("device", &["rows"]),
    ("settings", &["rows", "air", "motion", "inertial", "sound", "reading", "device"]),
    (
        "pipeline",
        &[
            "units", "error", "rows", "sensing", "air", "motion", "inertial", "sound", "reading",
            "intake", "settings",
        ],
    ),
    ("stages", &["sensing", "air", "motion", "inertial", "sound", "intake"]),
];

/// Simulated flights: only hand and plan know a pilot, and the two do not import each other.
const FLIGHT: [Room; 7] = [
    ("physics", &[]),
    ("air", &["physics"]),
    ("sensors", &["physics"]),
    ("handling", &["physics"]),
    ("plan", &["physics", "air", "sensors", "handling"]),
    ("hand", &["physics", "sensors", "handling"]),
    ("centring", &["physics", "sensors"]),
];

/// Within the folders of the core: each file imports only those before it, and `sound` above all
/// has one direction.
const CORE_FILES: [(&str, &[&str]); 5] = [
    ("sensing", &["inertial", "sample", "held", "clock", "repeats"]),
    (
        "air",
        &[
            "atmosphere",
            "airspeed",
            "air_data",
            "altimeter",
            "delay",
            "energy",
            "static_line",
            "tubes",
        ],
    ),
    (
        "motion",
        &[
            "random",
            "noise",
            "means",
            "gusts",
            "track",
            "models",
            "outlook",
            "bursts",
            "suspicion",
            "steady",
            "fixed",
            "estimator",
            "channel",
            "plain",
            "polar",
            "average",
            "climb",
            "launch",
        ],
    ),
    (
        "inertial",
        &[
            "vector",
            "errors",
            "noise",
            "symmetric",
            "covariance",
            "roughness",
            "rest",
            "seen",
            "filter",
            "measures",
            "ground",
            "steps",
            "mounting",
            "settings",
            "launch",
            "correlation",
            "swings",
            "turns",
            "trust",
            "axes",
            "clipping",
            "stuck",
            "agreement",
            "judgement",
            "receiver",
            "aiding",
            // Of single files: they may use every other.
            "made_up",
            "tests",
        ],
    ),
    (
        "sound",
        &[
            "timbre",
            "power",
            "volume",
            "speaker",
            "ear",
            "settings",
            "tone",
            "transposed",
            "cruise",
            "beep",
            "fault",
            "shade",
            "sounder",
            "sine",
            "waveform",
            "pwm",
        ],
    ),
];

/// The names after `crate::` in lines such as `use crate::sound::beep::{..}`, above the tests.
fn imports(source: &str) -> Vec<Vec<String>> {
    let source = source.split("#[cfg(test)]").next().unwrap_or(source);
    source
        .lines()
        .filter_map(|line| line.trim_start().strip_prefix("use crate::"))
        .map(|rest| {
            rest.split("::").map(|name| name.chars().take_while(is_of_a_name).collect()).collect()
        })
        .collect()
}

fn is_of_a_name(character: &char) -> bool {
    character.is_alphanumeric() || *character == '_'
}

fn keep_their_order(crate_folder: &str, rooms: &[Room]) {
    let folder = root().join(crate_folder);
    let files = rust_files(&folder);
    assert!(files.len() > 20, "{} files", files.len());
    for file in files {
        let within = file.strip_prefix(&folder).expect("it is in there");
        let room = within.iter().next().expect("it has a name").to_string_lossy();
        let room = room.trim_end_matches(".rs");
        let Some((_, allowed)) = rooms.iter().find(|(name, _)| *name == room) else {
            assert_eq!(room, "lib", "{} has no room in tests/house/rooms.rs", file.display());
            continue;
        };
        for import in imports(&fs::read_to_string(&file).expect("it can be read")) {
            // The macros of the settings stand at the root.
            let is_macro = import[0].starts_with("setting_") || import[0].is_empty();
            let fits = is_macro || import[0] == room || allowed.contains(&import[0].as_str());
            assert!(fits, "{} imports {}", within.display(), import.join("::"));
        }
    }
}

#[test]
fn the_rooms_of_the_core_use_only_those_before_them() {
    keep_their_order("core/src", &CORE);
}

#[test]
fn the_rooms_of_made_flights_use_only_those_before_them() {
    keep_their_order("sim/flight/src", &FLIGHT);
}

#[test]
fn within_a_room_of_the_core_a_stage_imports_only_earlier_ones() {
    for (room, stages) in CORE_FILES {
        let folder = root().join("core/src").join(room);
        for file in rust_files(&folder) {
            let name = file.file_stem().expect("it has a name").to_string_lossy().into_owned();
            let place = stages.iter().position(|stage| **stage == name);
            let Some(place) = place else {
                assert_eq!(name, "mod", "{room}/{name} has no place in tests/house/rooms.rs");
                continue;
            };
            for import in imports(&fs::read_to_string(&file).expect("it can be read")) {
                let is_later = import[0] == room && !stages[..place].contains(&import[1].as_str());
                assert!(!is_later, "{room}/{name} imports {}", import[1]);
            }
        }
    }
}
