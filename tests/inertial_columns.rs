//! The columns of an inertial sensor and a satellite receiver: in by foreign names, out beside the
//! readings.

use crate::inspect::pull_ups;
use crate::support::{Table, complaint, folder, path, run, write};
use serde_json::Value;
use std::fs;
use tempfile::TempDir;

/// What `chirrup replay --csv` adds where there is an inertial sensor.
const ADDED: &str = ",inertial_climb_mps,inertial_deviation_mps,inertial_vertical_speed_mps,\
                     load_factor,bank_rad,inertial_trust,inertial_weight,inertial_remark";

/// The trace of a flight of ours with both sensors.
fn flown(folder: &TempDir) -> String {
    let scenario = pull_ups(50, "[sensors.inertial]\n[sensors.gnss]\n");
    let (scenario, trace) = (write(folder, "flight.toml", scenario), path(folder, "flight.csv"));
    run(&["fly", &scenario, "-o", &trace]);
    trace
}

/// The readings of a trace as CSV, and the summary.
fn replayed(folder: &TempDir, trace: &str, more: &[&str]) -> (String, Value) {
    let readings = path(folder, "readings.csv");
    let args = ["replay", trace, "--energy", "electronic", "--csv", &readings, "--json"];
    let summary = run(&[&args[..], more].concat());
    let readings = fs::read_to_string(readings).expect("it is there");
    (readings, serde_json::from_str(&summary).expect("it is JSON"))
}

/// A trace with each cell of these columns changed, and their names.
fn changed(trace: &str, change: impl Fn(&str, Option<f64>) -> Option<String>) -> String {
    let text = fs::read_to_string(trace).expect("it is there");
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
    let names: Vec<&str> = lines.next().expect("it has a header").split(',').collect();
    let row = |cells: Vec<String>| cells.join(",") + "\n";
    let named = |name: &&str| change(name, None);
    let mut changed = row(names.iter().filter_map(named).collect());
    for line in lines {
        let cells = names.iter().zip(line.split(','));
        let cell = |(name, cell): (&&str, &str)| match cell.parse() {
            Ok(value) => change(name, Some(value))
                .map(|new| if new.is_empty() { cell.to_owned() } else { new }),
            Err(_) => change(name, None).map(|_| cell.to_owned()),
        };
        changed += &row(cells.filter_map(cell).collect());
    }
    changed
}

#[test]
fn the_readings_show_what_the_inertial_sensor_says_and_only_where_there_is_one() {
    let folder = folder();
    let trace = flown(&folder);
    let (with, summary) = replayed(&folder, &trace, &[]);
    let (off, summary_off) = replayed(&folder, &trace, &["--settings", "inertial=off"]);
    let bare = changed(&trace, |name, value| {
        let is_motion = ["accel", "gyro", "gnss"].iter().any(|of| name.starts_with(of));
        (!is_motion).then(|| value.map_or_else(|| name.to_owned(), |_| String::new()))
    });
    let bare = write(&folder, "bare.csv", bare);
    let (without, summary_without) = replayed(&folder, &bare, &[]);
    assert_eq!(off, without);
    let header = |readings: &str| readings.lines().next().expect("it has a header").to_owned();
    assert_eq!(header(&with), header(&without) + ADDED);
    assert!(header(&without).ends_with(",sounding,status"), "{}", header(&without));
    for summary in [summary_off, summary_without] {
        assert!(summary["instruments"][0]["inertial"].is_null(), "{summary}");
    }
    // The flight pushes over and pulls up: the load goes both ways about 1.
    let said = &summary["instruments"][0]["inertial"];
    let load = |end: &str| said["load_factor"][end].as_f64().expect("a number");
    assert!((0.3..0.95).contains(&load("lowest")), "{said}");
    assert!((1.05..1.8).contains(&load("highest")), "{said}");
    let trusts = said["inertial_trust_s"].as_array().expect("a list");
    let of = |trust: &str| trusts.iter().find(|time| time["trust"] == trust);
    assert!(of("trusted").expect("it is trusted")["lasted_s"].as_f64() > Some(60.0), "{said}");
    let last = with.lines().last().expect("it has rows").split(',').collect::<Vec<_>>();
    assert_eq!(last.len(), header(&with).split(',').count());
    assert_eq!(last[last.len() - 3..], ["trusted", "1.000", ""]);
    // What is trusted is what sounds.
    let table = Table::read(&with);
    let (sounds, felt) =
        (table.column("te_vertical_speed_mps"), table.column("inertial_climb_mps"));
    let place = sounds.len() - 1;
    assert!((sounds[place] - felt[place]).abs() < 1e-3, "{} {}", sounds[place], felt[place]);
    assert!(with.lines().all(|line| line.split(',').count() == last.len()));
}

#[test]
fn foreign_columns_of_both_sensors_are_read_by_the_names_and_units_that_were_given() {
    let folder = folder();
    let trace = flown(&folder);
    let (ours, _) = replayed(&folder, &trace, &[]);
    let foreign = |name: &str| {
        match name {
            "accel_x_mps2" => "ax",
            "accel_y_mps2" => "ay",
            "accel_z_mps2" => "az_g",
            "gyro_x_radps" => "p (dps)",
            "gyro_y_radps" => "q",
            "gyro_z_radps" => "r",
            "gnss_vn_mps" => "north kt",
            "gnss_ve_mps" => "east",
            "gnss_vd_mps" => "down",
            own => return own.to_owned(),
        }
        .to_owned()
    };
    let theirs = changed(&trace, |name, value| {
        Some(match (name, value) {
            (name, None) => foreign(name),
            // Standard gravity, degrees and knots by definition.
            ("accel_z_mps2", Some(value)) => (value / 9.80665).to_string(),
            ("gyro_x_radps", Some(value)) => value.to_degrees().to_string(),
            ("gnss_vn_mps", Some(value)) => (value * 3600.0 / 1852.0).to_string(),
            _ => String::new(),
        })
    });
    let theirs = write(&folder, "theirs.csv", theirs);
    let map = "accel_x=ax,accel_y=ay,accel_z=az_g,gyro_x=p (dps),gyro_y=q:rad/s,gyro_z=r,\
               gnss_vn=north kt,gnss_ve=east,gnss_vd=down";
    let (read, summary) = replayed(&folder, &theirs, &["--columns", map]);
    let notes = summary["notes"].to_string();
    for part in ["accel_x from ax (m/s2)", "accel_z from az_g (g)", "gyro_x from p (dps) (deg/s)"] {
        assert!(notes.contains(part), "{part}: {notes}");
    }
    let (ours, read) = (Table::read(&ours), Table::read(&read));
    for name in ["te_vertical_speed_mps", "load_factor", "bank_rad"] {
        let pairs = ours.column(name).iter().zip(read.column(name));
        let far = pairs.map(|(ours, theirs)| (ours - theirs).abs()).fold(0.0, f64::max);
        assert!(far < 2e-3, "{name}: {far}");
    }
}

#[test]
fn a_foreign_column_that_is_missing_or_lacks_its_fellows_is_named() {
    let folder = folder();
    let trace = flown(&folder);
    for (map, part) in [
        ("accel_x=ax", "column ax: found the columns"),
        ("accel_x=ax", "expected one of that name; correct accel_x=ax in --columns"),
        ("gyro=p", "unknown channel \"gyro\"; there are time, static"),
        (
            "gnss_vn=gnss_ve_mps:g",
            "unknown unit \"g\" for gnss_vn; there are m/s, kt, km/h and mph",
        ),
    ] {
        let args = ["replay", &trace, "--columns", map];
        let code = if map == "accel_x=ax" { 1 } else { 2 };
        let message = complaint(&args, code);
        assert!(message.contains(part), "{map}: {message}");
    }
    let alone = changed(&trace, |name, value| {
        let is_left_out = name.starts_with("accel") && name != "accel_x_mps2";
        let name = if name == "accel_x_mps2" { "ax" } else { name };
        (!is_left_out).then(|| value.map_or_else(|| name.to_owned(), |_| String::new()))
    });
    let alone = write(&folder, "alone.csv", alone);
    let (_, summary) = replayed(&folder, &alone, &["--columns", "accel_x=ax"]);
    let notes = summary["notes"].to_string();
    for part in [
        "ax not used: it needs accel_y_mps2 and accel_z_mps2",
        "gyro_x_radps and gyro_y_radps and gyro_z_radps not used: they need accel_y_mps2 and \
         accel_z_mps2",
    ] {
        assert!(notes.contains(part), "{part}: {notes}");
    }
}
