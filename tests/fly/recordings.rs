//! The recordings are the output of `chirrup fly`, byte for byte.
//!
//! ```text
//! CHIRRUP_REWRITE_RECORDINGS=1 cargo test -p chirrup --test suites fly::recordings
//! ```
//! rewrites them.

use crate::support::run;
use chirrup_flight::plan::builtin::ALL;
use std::fs;
use std::path::PathBuf;

fn recordings() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../recordings")
}

#[test]
fn every_recording_is_what_its_scenario_makes() {
    for built_in in ALL {
        let path = recordings().join(format!("{}.csv", built_in.name));
        let mut args = vec!["fly", built_in.name, "-o", "-"];
        // The demonstration is replayed as an instrument would see it: without the truth.
        if built_in.name == "demo-flight" {
            args.push("--sensors-only");
        }
        let made = run(&args);
        if std::env::var_os("CHIRRUP_REWRITE_RECORDINGS").is_some() {
            fs::write(&path, &made).expect("the recording can be written");
        }
        let kept = fs::read_to_string(&path).expect("the recording is there");
        assert!(
            kept == made,
            "recordings/{}.csv is not what `chirrup {}` makes",
            built_in.name,
            args.join(" ")
        );
        assert!(kept.len() < 300_000, "{} is large: {} bytes", built_in.name, kept.len());
    }
}

#[test]
fn the_readme_beside_them_tells_of_every_recording() {
    let readme = fs::read_to_string(recordings().join("README.md")).expect("it is there");
    for built_in in ALL {
        assert!(
            readme.contains(&format!("`{}.csv`", built_in.name)),
            "{} is not in recordings/README.md",
            built_in.name
        );
    }
}
