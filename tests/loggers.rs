//! The ten seconds beside the project as other people's loggers and spreadsheets write them: each
//! file is read, or the line that is printed says what to type, and typing it makes it read.
//!
//! Where the folder is absent the tests say so, and CI makes that a failure.

use crate::support::{Table, shared};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// No recordings: each is refused in one line.
const REFUSED: [&str; 2] = ["html_file.csv", "json.csv"];
/// Refused with what to type, and read once that is typed.
const TO_BE_TYPED: [&str; 3] = ["esc2.csv", "missing.csv", "units.csv"];
/// Five minutes whose clock jumps; its times are its own.
const JUMPS: &str = "rtc.csv";
/// Whole seconds, rounded from fiftieths: 49 and 51 of them in turn, and half a second at each end.
const WHOLE_SECONDS: &str = "dup.csv";

fn files() -> Option<Vec<PathBuf>> {
    let folder = shared("loggers")?;
    let entries = fs::read_dir(folder).expect("a folder can be listed");
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.expect("it is there").path()).collect();
    files.retain(|path| !path.ends_with("README.md"));
    files.sort();
    assert!(files.len() >= 30, "{files:?}");
    Some(files)
}

fn name(path: &Path) -> &str {
    path.file_name().and_then(|name| name.to_str()).expect("it is text")
}

/// What a shell makes of `chirrup replay FILE --csv - MORE`, typed as it stands.
fn typed(path: &Path, more: &str) -> Output {
    let program = assert_cmd::cargo::cargo_bin!("chirrup");
    let line = format!("{} replay {} --csv - {more}", program.display(), path.display());
    Command::new("sh").args(["-c", &line]).output().expect("there is a shell")
}

/// The readings, or the line that says why there are none.
fn read(path: &Path, more: &str) -> Result<Table, String> {
    let output = typed(path, more);
    let said = String::from_utf8(output.stderr).expect("the program writes text");
    if output.status.success() {
        return Ok(Table::read(
            &String::from_utf8(output.stdout).expect("the program writes text"),
        ));
    }
    assert_eq!(output.status.code(), Some(1), "{}: {said}", path.display());
    assert_eq!(said.trim_end().lines().count(), 1, "{}: {said}", path.display());
    assert!(!said.contains('\x1b'), "{}: {said:?}", path.display());
    Err(said.trim_end().to_owned())
}

/// What a line says to type.
fn option(said: &str) -> &str {
    let at = said.find("--columns").unwrap_or_else(|| panic!("nothing to type in: {said}"));
    &said[at..]
}

/// The pressures that the file holds, in its own order: 90,000 Pa and every fiftieth of a second a
/// tenth more, with steps back; from the file in its plainest form.
fn truth(folder: &Path) -> Vec<(f64, f64)> {
    let text = fs::read_to_string(folder.join("pipe.csv")).expect("it is there");
    let rows = text.lines().skip(1).filter_map(|line| line.split_once('|'));
    let numbers = rows.map(|(time, pressure)| (time.parse::<f64>(), pressure.parse::<f64>()));
    numbers.map_while(|(time, pressure)| Some((time.ok()?, pressure.ok()?))).collect()
}

/// Height in the standard atmosphere, m: the ICAO's formula in double precision.
fn height_m(pressure_pa: f64) -> f64 {
    (1.0 - (pressure_pa / 101_325.0).powf(287.05287 * 0.0065 / 9.80665)) * 288.15 / 0.0065
}

/// 0.05 Pa at 90,000 Pa, where 1 m is 10.9 Pa, and the millimetres of the table.
const HEIGHT_ERROR_M: f64 = 0.05 / 10.9 + 1e-3;

/// Rows that share their seconds come out at 50 Hz, to within what rounding of 0.02 s to seconds
/// leaves open: two rows more or less in a second.
fn check_spread(times: &[f64], heights: &[f64], truth: &[(f64, f64)]) {
    assert_eq!(times.len(), 500);
    for (row, (time, height)) in times.iter().zip(heights).enumerate() {
        let since_first = time - times[0];
        assert!((since_first - 0.02 * row as f64).abs() < 0.041, "row {row} at {since_first}");
        if let Some((_, pressure)) = truth.get(row) {
            assert!((height - height_m(*pressure)).abs() < HEIGHT_ERROR_M, "row {row}");
        }
    }
    let steps = times.windows(2).map(|pair| pair[1] - pair[0]);
    assert!(
        steps.clone().all(|step| (0.0194..0.0206).contains(&step)),
        "{:?}",
        steps.collect::<Vec<_>>()
    );
}

/// Every reading is of a time at 50 Hz, and of the pressure that is true there.
fn check(path: &Path, table: &Table, truth: &[(f64, f64)]) {
    let (times, heights) = (table.column("time_s"), table.column("altitude_m"));
    if name(path) == WHOLE_SECONDS {
        return check_spread(times, heights, truth);
    }
    // The files are cut to 6 kB, within a row: the last row may be anything.
    let count = times.len() - 1;
    assert!(count >= 90, "{}: {count} rows", path.display());
    let mut compared = 0;
    for (time, height) in times.iter().zip(heights).take(count) {
        let row = (time * 50.0).round();
        assert!((time - row / 50.0).abs() < 2e-4, "{}: a time of {time}", path.display());
        let Some((at, pressure)) = truth.get(row as usize) else { continue };
        assert!((at - row / 50.0).abs() < 1e-9);
        let expected = height_m(*pressure);
        assert!(
            (height - expected).abs() < HEIGHT_ERROR_M,
            "{}: {height} m at {time} s, expected {expected}",
            path.display()
        );
        compared += 1;
    }
    assert!(10 * compared >= 6 * count, "{}: {compared} of {count}", path.display());
}

#[test]
fn every_file_is_read_or_says_what_to_type() {
    let Some(files) = files() else { return };
    let truth = truth(files[0].parent().expect("it is in a folder"));
    assert!(truth.len() > 300, "{}", truth.len());
    for path in &files {
        let result = read(path, "");
        if REFUSED.contains(&name(path)) {
            let said = result.err().expect("it is no recording");
            assert!(said.contains("expected plain text"), "{said}");
            continue;
        }
        if name(path) == JUMPS {
            assert!(result.is_ok());
            continue;
        }
        let table = match result {
            Ok(table) => {
                assert!(!TO_BE_TYPED.contains(&name(path)), "{} is read", path.display());
                table
            }
            Err(said) => {
                assert!(TO_BE_TYPED.contains(&name(path)), "{said}");
                read(path, option(&said)).unwrap_or_else(|again| panic!("{said}\nand then {again}"))
            }
        };
        check(path, &table, &truth);
    }
}

#[test]
fn what_was_assumed_is_said() {
    let Some(files) = files() else { return };
    let folder = files[0].parent().expect("it is in a folder");
    for (file, expected) in [
        (
            "hpa_silent.csv",
            "static_pa looks like hPa (900.0000 at line 2): read as hPa; --columns \
                            static=static_pa:Pa says otherwise",
        ),
        (
            "iso.csv",
            "time_s holds dates and times; time 0 is 2024-07-15 12:00:00; the file does \
                     not say of which zone",
        ),
        ("epochns.csv", "time_ns counts nanoseconds from 1970; time 0 is 2024-07-15 12:00:00 UTC"),
        ("rev.csv", "the rows run backwards in time; all "),
        ("unsorted.csv", "the rows are not in the order of time; all "),
        ("dup.csv", "rows spread over the second they share"),
        ("nohead.csv", "time from #1 (s) and static from #2 (Pa)"),
    ] {
        let path = folder.join(file);
        let args = ["replay", path.to_str().expect("it is text"), "--json"];
        let summary: serde_json::Value =
            serde_json::from_str(&crate::support::run(&args)).expect("the summary is JSON");
        let notes: Vec<&str> = summary["notes"]
            .as_array()
            .expect("a list")
            .iter()
            .filter_map(|note| note.as_str())
            .collect();
        assert!(notes.iter().any(|note| note.contains(expected)), "{file}: {notes:?}");
        let plain = summary["lines_skipped"].as_array().expect("a list").len();
        assert!(plain <= 1, "{file}: {}", summary["lines_skipped"]);
    }
}
