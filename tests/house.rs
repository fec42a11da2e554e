//! The order of the code: stages import only earlier stages, and the core needs nothing of a host.

mod circles;
mod imports;
mod rooms;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
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
    // The simulated truth must not depend on the code that it tests.
    let flight = tree("chirrup-flight");
    let own = names(&flight).into_iter().filter(|name| name.starts_with("chirrup"));
    assert_eq!(own.collect::<Vec<_>>(), ["chirrup-flight"]);
}

#[test]
fn the_core_and_the_bench_forbid_unsafe_code_and_the_core_has_no_std() {
    for (file, line) in [
        ("core/src/lib.rs", "#![no_std]"),
        ("core/src/lib.rs", "#![forbid(unsafe_code)]"),
        ("sim/src/lib.rs", "#![forbid(unsafe_code)]"),
        ("sim/flight/src/lib.rs", "#![forbid(unsafe_code)]"),
        ("sim/onboard/src/lib.rs", "#![forbid(unsafe_code)]"),
        ("firmware/src/lib.rs", "#![no_std]"),
        ("firmware/sensors/src/lib.rs", "#![no_std]"),
        ("firmware/sensors/src/lib.rs", "#![forbid(unsafe_code)]"),
    ] {
        let source = fs::read_to_string(root().join(file)).expect("the file is there");
        assert!(source.lines().any(|found| found == line), "{file} lacks {line}");
    }
}
