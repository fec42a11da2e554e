//! What several suites need: the program, small traces, the tables it writes, the real flights.

use assert_cmd::Command;
use chirrup::trace::{self, Item};
use chirrup_core::Sample;
use std::collections::HashMap;
use std::fmt::Write;
use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

/// The program under test.
pub fn chirrup() -> Command {
    Command::cargo_bin("chirrup").expect("the program is built with its tests")
}

/// Runs `chirrup` with `args` and returns its standard output; fails with its standard error.
pub fn run(args: &[&str]) -> String {
    let output = chirrup().args(args).output().expect("the program can be started");
    assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("the program writes text")
}

/// Runs `chirrup` with `args`, which must fail with `code`, and returns the one line it says.
pub fn complaint(args: &[&str], code: i32) -> String {
    let output = chirrup().args(args).output().expect("the program can be started");
    let text = String::from_utf8(output.stderr).expect("the program writes text");
    assert_eq!(output.status.code(), Some(code), "{args:?}: {text}");
    assert_eq!(text.trim_end().lines().count(), 1, "{args:?}: more than one line: {text}");
    text.trim_end().to_owned()
}

/// Static pressure of the standard atmosphere below 11 km in double precision, by the ICAO's
/// formula and not by the core.
pub fn pressure_pa(height_m: f64) -> f64 {
    101_325.0 * (1.0 - 0.0065 * height_m / 288.15).powf(9.80665 / (287.05287 * 0.0065))
}

/// A trace of static pressures: `height_m` of time, at `rate_hz` for `seconds`.
pub fn trace_of(rate_hz: f64, seconds: f64, height_m: impl Fn(f64) -> f64) -> String {
    let mut text = String::from("time_s,static_pa\n");
    for sample in 0..(rate_hz * seconds) as u32 {
        let time = f64::from(sample) / rate_hz;
        writeln!(text, "{time:.6},{:.3}", pressure_pa(height_m(time)))
            .expect("a string takes every line");
    }
    text
}

/// A folder for one test, gone when it ends.
pub fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("there is room for temporary files")
}

/// Puts `text` into a file of `folder` and returns its path as text.
pub fn write(folder: &tempfile::TempDir, name: &str, text: impl AsRef<[u8]>) -> String {
    let path = folder.path().join(name);
    std::fs::write(&path, text).expect("the file can be written");
    path.to_str().expect("the path is text").to_owned()
}

/// The path of a file in `folder` as text.
pub fn path(folder: &tempfile::TempDir, name: &str) -> String {
    folder.path().join(name).to_str().expect("the path is text").to_owned()
}

/// Columns of words, which [`Table`] leaves out.
const WORDS: [&str; 2] = ["inertial_trust", "inertial_remark"];

/// A table by its columns; an empty field is NaN, which compares with nothing.
pub struct Table {
    columns: HashMap<String, Vec<f64>>,
    /// The `status` column.
    pub status: Vec<String>,
}

impl Table {
    /// Reads what `--csv` writes.
    pub fn read(text: &str) -> Self {
        let mut lines = text.lines();
        let names: Vec<&str> = lines.next().expect("there is a header").split(',').collect();
        let mut table = Self { columns: HashMap::new(), status: Vec::new() };
        for line in lines {
            let fields: Vec<&str> = line.split(',').collect();
            assert_eq!(fields.len(), names.len(), "{line}");
            for (name, field) in names.iter().zip(fields) {
                if *name == "status" {
                    table.status.push(field.to_owned());
                } else if !WORDS.contains(name) {
                    let value =
                        if field.is_empty() { f64::NAN } else { field.parse().expect("a number") };
                    table.columns.entry((*name).to_owned()).or_default().push(value);
                }
            }
        }
        table
    }

    /// One column.
    pub fn column(&self, name: &str) -> &[f64] {
        self.columns.get(name).unwrap_or_else(|| panic!("there is no column {name}"))
    }
}

#[expect(
    clippy::print_stdout,
    reason = "the test runner shows it with --nocapture, and CI forbids the case"
)]
/// A file made by others, from the folder beside the project; `None`, with a message, where it
/// is absent.
pub fn shared(name: &str) -> Option<PathBuf> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared").join(name);
    if path.exists() {
        return Some(path);
    }
    assert!(
        std::env::var_os("REQUIRE_REAL_FLIGHTS").is_none(),
        "REQUIRE_REAL_FLIGHTS is set and {} is not there",
        path.display()
    );
    println!("NOT CHECKED: {} is not there", path.display());
    None
}

/// A recording of a real flight made by others; `None`, with a message, where it is absent.
pub fn real_flight(name: &str) -> Option<PathBuf> {
    shared(&format!("real-flights/{name}"))
}

/// The samples of a trace, all of which must be readable.
pub fn samples(path: &Path) -> Vec<Sample> {
    let file = BufReader::new(File::open(path).expect("it can be read"));
    let name = path.to_string_lossy();
    let mut trace = trace::open(&name, Box::new(file), &Default::default()).expect("it is a trace");
    let samples = std::iter::from_fn(|| trace.next())
        .map(|item| match item.expect("it can be read") {
            Item::Sample { sample, .. } => sample,
            Item::Skipped(skipped) => panic!("{name}: {skipped:?}"),
        })
        .collect();
    assert!(trace.notes().is_empty(), "{name}: {:?}", trace.notes());
    samples
}
