//! The order of the house: stages import only earlier stages, and the core leans on nothing of a
//! host.

mod circles;
mod imports;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The stages in the order of the data's way. What stands before them may be used by all;
/// `settings` gathers the stages' own settings and `pipeline` knows every stage.
const STAGES: [&str; 27] = [
    "sample",
    "clock",
    "atmosphere",
    "airspeed",
    "air_data",
    "altimeter",
    "delay",
    "energy",
    "tubes",
    "repeats",
    "noise",
    "steady",
    "models",
    "estimator",
    "polar",
    "average",
    "climb",
    "launch",
    "timbre",
    "tone",
    "cruise",
    "beep",
    "fault",
    "loudness",
    "sounder",
    "waveform",
    "pwm",
];
const SHARED: [&str; 3] = ["units", "error", "settings"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// The modules named in lines such as `use crate::beep::{..}`.
fn imports(source: &str) -> Vec<String> {
    source
        .lines()
        .filter_map(|line| line.trim_start().strip_prefix("use crate::"))
        .map(|rest| {
            rest.chars()
                .take_while(|character| character.is_alphanumeric() || *character == '_')
                .collect()
        })
        .collect()
}

#[test]
fn no_stage_imports_a_later_stage() {
    for (place, stage) in STAGES.iter().enumerate() {
        let source = fs::read_to_string(root().join(format!("core/src/{stage}.rs")))
            .expect("every stage has its file");
        for import in imports(&source) {
            let earlier = STAGES[..place].contains(&import.as_str());
            assert!(earlier || SHARED.contains(&import.as_str()), "{stage} imports {import}");
        }
    }
}

#[test]
fn every_file_of_the_core_has_its_place_in_the_order() {
    for entry in fs::read_dir(root().join("core/src")).expect("the core is there") {
        let path = entry.expect("a folder can be listed").path();
        let name = path.file_stem().expect("files have names").to_string_lossy().into_owned();
        let known =
            STAGES.iter().chain(&SHARED).chain(&["lib", "pipeline"]).any(|known| **known == name);
        assert!(known, "{name} has no place in tests/house.rs");
    }
}

#[test]
fn sound_knows_nothing_of_pressure_and_the_estimator_nothing_of_flight() {
    let allowed = |stage: &str, names: &[&str]| {
        let source = fs::read_to_string(root().join(format!("core/src/{stage}.rs")))
            .expect("every stage has its file");
        for import in imports(&source) {
            assert!(names.contains(&import.as_str()), "{stage} imports {import}");
        }
    };
    allowed("estimator", &["units", "noise", "steady", "models"]);
    for part in ["noise", "steady", "models"] {
        allowed(part, &[]);
    }
    allowed("tone", &["units", "error", "settings"]);
    allowed("cruise", &["units", "tone"]);
    allowed("beep", &["units", "tone", "timbre"]);
    allowed("loudness", &["units", "timbre"]);
    allowed("waveform", &["units", "beep", "timbre"]);
    allowed("pwm", &["units", "beep"]);
    allowed("launch", &["units"]);
}

/// Every Rust file in `folder` and the folders in it.
fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).expect("the folder is there") {
        let path = entry.expect("a folder can be listed").path();
        if path.is_dir() {
            files.extend(rust_files(&path));
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            files.push(path);
        }
    }
    files
}

/// The words of `source` outside comments that only a command line has a use for.
fn words_of_a_command_line(source: &str) -> Vec<&str> {
    source
        .lines()
        .map(|line| line.split("//").next().unwrap_or(line))
        .flat_map(|line| line.split(|one: char| !one.is_alphanumeric() && one != '_'))
        .filter(|word| ["clap", "commands"].contains(word))
        .collect()
}

#[test]
fn only_the_commands_know_a_command_line() {
    let folder = root().join("sim/src");
    let (inside, outside): (Vec<PathBuf>, Vec<PathBuf>) = rust_files(&folder)
        .into_iter()
        .partition(|path| path.starts_with(folder.join("commands")) || path.ends_with("main.rs"));
    let words = |path: &Path| {
        let source = fs::read_to_string(path).expect("the file is there");
        words_of_a_command_line(&source).len()
    };
    for path in outside {
        assert_eq!(words(&path), 0, "{} names clap or commands", path.display());
    }
    assert!(inside.iter().any(|path| words(path) > 0), "the search finds what is there");
    assert_eq!(words_of_a_command_line("use clap::Args; // clap\n"), ["clap"]);
}

#[test]
fn the_core_depends_on_no_host_and_the_crates_on_one_another_in_one_direction() {
    let tree = |package: &str| {
        let output = Command::new(env!("CARGO"))
            .args([
                "tree",
                "--offline",
                "--edges",
                "normal",
                "--prefix",
                "none",
                "--package",
                package,
            ])
            .current_dir(root())
            .output()
            .expect("cargo can be run");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).expect("cargo writes text")
    };
    let names = |tree: &str| {
        let mut names: Vec<String> =
            tree.lines().filter_map(|line| line.split(' ').next().map(str::to_owned)).collect();
        names.sort();
        names.dedup();
        names
    };
    assert_eq!(
        names(&tree("chirrup-core")),
        [
            "byteorder",
            "chirrup-core",
            "hash32",
            "heapless",
            "libm",
            "micromath",
            "stable_deref_trait"
        ]
    );
    assert!(!tree("chirrup-firmware").contains("chirrup v"));
    assert!(!tree("chirrup").contains("chirrup-firmware"));
    // What made flights are the truth for must not be able to lean on what it is the truth of.
    let flight = tree("chirrup-flight");
    let own = names(&flight).into_iter().filter(|name| name.starts_with("chirrup"));
    assert_eq!(own.collect::<Vec<_>>(), ["chirrup-flight"]);
}

/// Rooms of the flight crate; each may use only those before it.
const ROOMS_OF_FLIGHT: [(&str, &[&str]); 6] = [
    ("physics", &[]),
    ("air", &["physics"]),
    ("sensors", &["physics"]),
    ("handling", &["physics"]),
    ("plan", &["physics", "air", "sensors", "handling"]),
    ("hand", &["physics", "sensors", "handling"]),
];

/// Every Rust file of a folder and the folders in it.
fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("the folder is there") {
        let path = entry.expect("a folder can be listed").path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

#[test]
fn the_rooms_of_the_flight_crate_use_only_those_before_them() {
    let folder = root().join("sim/flight/src");
    let mut files = Vec::new();
    sources(&folder, &mut files);
    assert!(files.len() > 20, "{} files", files.len());
    for file in files {
        let within = file.strip_prefix(&folder).expect("it is in there");
        let room = within.iter().next().expect("it has a name").to_string_lossy();
        let room = room.trim_end_matches(".rs");
        let Some((_, allowed)) = ROOMS_OF_FLIGHT.iter().find(|(name, _)| *name == room) else {
            assert_eq!(room, "lib", "{} has no room", file.display());
            continue;
        };
        for import in imports(&fs::read_to_string(&file).expect("it can be read")) {
            let fits = import == room || allowed.contains(&import.as_str());
            assert!(fits, "{} imports {import}", within.display());
        }
    }
}

#[test]
fn the_core_and_the_bench_forbid_unsafe_code_and_the_core_has_no_std() {
    for (file, line) in [
        ("core/src/lib.rs", "#![no_std]"),
        ("core/src/lib.rs", "#![forbid(unsafe_code)]"),
        ("sim/src/lib.rs", "#![forbid(unsafe_code)]"),
        ("sim/flight/src/lib.rs", "#![forbid(unsafe_code)]"),
        ("firmware/src/lib.rs", "#![no_std]"),
    ] {
        let source = fs::read_to_string(root().join(file)).expect("the file is there");
        assert!(source.lines().any(|found| found == line), "{file} lacks {line}");
    }
}
