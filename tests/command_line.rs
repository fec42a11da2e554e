//! The program as its users see it: its error messages, and where its outputs go.

use crate::support::{Table, chirrup, complaint, folder, path, run, trace_of, write};
use chirrup::recording::contents::FOLLOWS_THE_STICK;
use std::fs;

fn climb() -> String {
    trace_of(20.0, 10.0, |t| 500.0 + 2.0 * t)
}

#[test]
fn what_is_typed_wrong_is_exit_2_and_says_what_to_type() {
    let folder = folder();
    let trace = write(&folder, "trace.csv", climb());
    for (args, part) in [
        (
            vec!["replay", &trace, "--plot", "a.jpg"],
            "--plot a.jpg: found no known ending, expected .svg or .png",
        ),
        (vec!["replay", &trace, "--wav", "-", "--csv", "-"], "two outputs would be written to -"),
        (
            vec!["replay", &trace, "--json", "--csv", "-"],
            "--json and an output to - both want standard output",
        ),
        (vec!["replay", &trace, "--csv", &trace], "is the trace itself; give it another name"),
        (
            vec!["replay", &trace, "--csv", "same", "--wav", "./same"],
            "two outputs would be written to",
        ),
        (
            vec!["replay", &trace, "--settings", &trace, "--csv", &trace],
            "itself; give it another name",
        ),
        (vec!["replay", &trace, "--from", "10", "--to", "5"], "--from 10 is not before --to 5"),
        (
            vec!["replay", &trace, "--settings", "energy=magic"],
            "energy=magic: energy: found \"magic\", expected \"none\"",
        ),
        (
            vec!["replay", &trace, "--settings", "response_s=99"],
            "response_s is 99, expected 0.1 to 10",
        ),
        (vec!["replay", &trace, "--settings", "none.toml"], "cannot read settings none.toml"),
        (vec!["replay", &trace, "--from", "13:05:00Z"], "needs a trace that knows the time of day"),
    ] {
        let message = complaint(&args, 2);
        assert!(message.starts_with("chirrup: ") && message.contains(part), "{args:?}: {message}");
    }
}

#[test]
fn options_that_do_not_exist_or_cannot_be_are_exit_2() {
    let folder = folder();
    let trace = write(&folder, "trace.csv", climb());
    for args in [
        vec!["replay"],
        vec!["replay", &trace, "--wave", "a.wav"],
        vec!["replay", &trace, "--from", "noon"],
        vec!["replay", &trace, "--sound-rate", "100"],
        vec!["replay", &trace, "--energy", "magic"],
        vec!["replay", &trace, "--columns", "height=h"],
        vec!["sing"],
    ] {
        let message = complaint(&args, 2);
        assert!(
            message.starts_with("chirrup: ") && message.contains("--help"),
            "{args:?}: {message}"
        );
    }
}

#[test]
fn what_is_wrong_in_a_trace_is_exit_1_with_its_line() {
    let folder = folder();
    let complaint_of = |name: &str, text: &[u8]| {
        let trace = write(&folder, name, text);
        complaint(&["replay", &trace], 1).replace(&trace, "TRACE")
    };
    for (name, text, parts) in [
        ("empty.csv", &b""[..], &["TRACE"][..]),
        ("header.csv", b"time_s,static_pa\n", &["TRACE", "no samples"]),
        ("other.csv", b"x,y\n0,101325\n", &["TRACE:1", "time_s", "static_pa", "--columns"]),
        (
            "words.csv",
            b"time_s,static_pa\n0,high\n1,low\n",
            &["TRACE:2", "no usable sample in 2 lines", "static_pa"],
        ),
        (
            "neither.csv",
            b"time_s,static_pa\n0,2013\n1,2013\n",
            &["TRACE:2", "bad_pressure", ":hPa"],
        ),
        ("picture.png", b"\x89PNG\r\n\x1a\n\x00\x00", &["TRACE"]),
        ("none.igc", b"AXXX001\r\nHFDTE010124\r\n", &["TRACE", "no samples"]),
    ] {
        let message = complaint_of(name, text);
        for part in parts {
            assert!(message.contains(part), "{name}: {message} lacks {part}");
        }
    }
    assert!(complaint(&["replay", &path(&folder, "absent.csv")], 1).contains("cannot read"));
    assert!(
        complaint(&["replay", folder.path().to_str().expect("text")], 1).contains("cannot read")
    );
}

#[test]
fn the_summary_reads_well() {
    let folder = folder();
    let trace = write(&folder, "trace.csv", climb());
    let said = run(&["replay", &trace]).replace(&trace, "trace.csv");
    let said = said.replace(FOLLOWS_THE_STICK, "(it follows the stick)");
    insta::assert_snapshot!(said, @r"
    trace.csv: 200 samples over 0:10, one every 50 ms
      height        500 to 520 m
      total energy  none; adaptive filter, response 1 s
      reading       +2.0 to +2.0 m/s
      average       best +2.0 m/s over 20 s
      climbs        one, 15 m of height in 0:07 at +2.0 m/s
      sound         climb 0:08 (84 %), sink 0:00 (0 %), silent 0:02 (16 %)
      note          (it follows the stick)
    ");
}

#[test]
fn the_altimeter_is_shown_where_it_is_set() {
    let folder = folder();
    let trace = write(&folder, "trace.csv", climb());
    let said =
        run(&["replay", &trace, "--settings", "altimeter.subscale_hpa=954.6084,altimeter.unit=ft"]);
    // ICAO Doc 7488/3: 954.6084 hPa at 500 m, where the trace begins; it ends 19.9 m, 65 ft,
    // higher.
    assert!(said.contains("  altimeter     0 to 65 ft, subscale 954.6084 hPa\n"), "{said}");
    let json = run(&["replay", &trace, "--json", "--settings", "altimeter.subscale_hpa=954.6084"]);
    let json: serde_json::Value = serde_json::from_str(&json).expect("it is JSON");
    let highest = json["instruments"][0]["altimeter_m"]["highest"].as_f64().expect("a number");
    assert!((highest - 19.9).abs() < 0.05, "{highest} m");
}

#[test]
fn rows_that_cannot_be_used_are_counted_and_the_others_are_used() {
    let folder = folder();
    let text =
        "time_s,static_pa\n0,101325\n1,abc\n2,101313\n2,101313\n1.5,101319\n3,\n4,101289\n5,90\n";
    let trace = write(&folder, "trace.csv", text);
    let summary: serde_json::Value =
        serde_json::from_str(&run(&["replay", &trace, "--json"])).expect("JSON");
    assert_eq!(summary["samples_used"], 3);
    let counts = |list: &str| -> u64 {
        summary[list]
            .as_array()
            .expect("a list")
            .iter()
            .map(|entry| entry["count"].as_u64().expect("a count"))
            .sum()
    };
    assert_eq!(counts("lines_skipped"), 2);
    assert_eq!(counts("faults"), 3);
    let text = run(&["replay", &trace]);
    for part in ["repeated_time", "time_went_back", "bad_pressure", "first at line 3"] {
        assert!(text.contains(part), "{text} lacks {part}");
    }
}

#[test]
fn values_that_cannot_be_are_counted_and_named() {
    let folder = folder();
    let text = "time_s,static_pa,tas_mps,oat_c\n\
                0,95000,30,15\n1,95000,900,15\n2,94990,30,561\n3,94990,30,561\n";
    let said = run(&["replay", &write(&folder, "trace.csv", text)]);
    for part in [
        "airspeed is out of range in 1 sample, first at line 3",
        "temperature is out of range in 2 samples, first at line 4",
    ] {
        assert!(said.contains(part), "{said} lacks {part}");
    }
}

#[test]
fn an_output_is_there_whole_or_not_at_all() {
    let folder = folder();
    let good = write(&folder, "good.csv", climb());
    let bad = write(&folder, "bad.csv", "time_s,static_pa\nx,y\n");
    let outputs = ["a.wav", "a.csv", "a.svg"].map(|name| path(&folder, name));
    for output in &outputs {
        fs::write(output, "before").expect("it can be written");
    }
    let args = |trace: &str| {
        let [wav, csv, svg] = &outputs;
        ["replay", trace, "--wav", wav, "--csv", csv, "--plot", svg].map(str::to_owned)
    };
    chirrup().args(args(&bad)).assert().code(1);
    for output in &outputs {
        assert_eq!(fs::read_to_string(output).expect("it is there"), "before");
    }
    chirrup().args(args(&good)).assert().success();
    for output in &outputs {
        assert!(fs::metadata(output).expect("it is there").len() > 100);
    }
    let left = fs::read_dir(folder.path()).expect("it can be listed").count();
    assert_eq!(left, 2 + outputs.len(), "no temporary file is left behind");
}

#[test]
fn a_folder_that_is_not_there_is_named() {
    let folder = folder();
    let trace = write(&folder, "trace.csv", climb());
    let message = complaint(&["replay", &trace, "--wav", &path(&folder, "no/where.wav")], 1);
    assert!(
        message.contains("cannot write") && message.contains("is not there; make it first"),
        "{message}"
    );
}

#[test]
fn a_wav_that_cannot_hold_its_trace_is_refused_before_it_is_begun() {
    let folder = folder();
    // 48 h at one sample in 10 s.
    let trace = write(&folder, "trace.csv", trace_of(0.1, 172_800.0, |_| 500.0));
    let wav = path(&folder, "a.wav");
    let message = complaint(&["replay", &trace, "--wav", &wav], 1);
    for part in ["48.0 h of sound", "--from and --to", "--sound-rate"] {
        assert!(message.contains(part), "{message}");
    }
    assert!(!std::path::Path::new(&wav).exists());
    chirrup()
        .args(["replay", &trace, "--wav", &wav, "--from", "0", "--to", "60"])
        .assert()
        .success();
}

#[test]
fn a_part_of_a_trace_keeps_the_traces_own_time() {
    let folder = folder();
    let trace = write(&folder, "trace.csv", climb());
    let table = Table::read(&run(&["replay", &trace, "--csv", "-", "--from", "0:04", "--to", "6"]));
    let times = table.column("time_s");
    assert_eq!((times[0], times[times.len() - 1]), (4.0, 6.0));
}

#[test]
fn standard_input_and_output_take_the_place_of_files() {
    let folder = folder();
    let trace = write(&folder, "trace.csv", climb());
    let from_file = run(&["replay", &trace, "--csv", "-"]);
    let piped = chirrup()
        .args(["replay", "-", "--csv", "-"])
        .write_stdin(climb())
        .output()
        .expect("it runs");
    assert_eq!(String::from_utf8(piped.stdout).expect("text"), from_file);
    let wav = chirrup().args(["replay", &trace, "--wav", "-"]).output().expect("it runs").stdout;
    let file = path(&folder, "a.wav");
    run(&["replay", &trace, "--wav", &file]);
    assert!(
        wav == fs::read(&file).expect("it is there"),
        "the WAV on standard output is the WAV in the file"
    );
}

#[test]
fn an_account_of_a_trace_that_is_mostly_left_out_begins_with_that() {
    let folder = folder();
    let mut text = String::from("time_s,static_pa\n");
    for row in 0..40 {
        text += &format!("{:.2},90000\n", 0.02 * f64::from(row));
    }
    text += &"x,90000\n".repeat(60);
    let trace = write(&folder, "trace.csv", text);
    let said = "MOST OF THE TRACE IS LEFT OUT: 60 of 100 rows (60 %)";
    let replayed = run(&["replay", &trace]);
    let second = replayed.lines().nth(1).expect("there are lines");
    let expected =
        format!("  CAUTION       {said}, mostly: no number in time_s; what follows is of");
    assert!(second.starts_with(&expected), "{second}");
    let inspected = run(&["inspect", &trace]);
    let second = inspected.lines().nth(1).expect("there are lines");
    assert!(second.starts_with(&format!("  CAUTION       {said}; what")), "{second}");
    let json: serde_json::Value =
        serde_json::from_str(&run(&["replay", &trace, "--json"])).expect("JSON");
    assert!(json["caution"].as_str().is_some_and(|caution| caution.starts_with(said)));
}

#[test]
fn what_was_taken_for_what_is_told_wherever_a_trace_is_judged() {
    let folder = folder();
    let mut text = String::from("t,Baro\n");
    for row in 0..400 {
        text += &format!("{:.2},{:.3}\n", 0.1 * f64::from(row), 900.0 + 0.02 * f64::from(row));
    }
    text += &"x,900\n".repeat(401);
    let trace = write(&folder, "trace.csv", text);
    let taken = "Baro looks like hPa (900.000 at line 2): read as hPa; --columns static=Baro:Pa";
    let left_out = "MOST OF THE TRACE IS LEFT OUT: 401 of 801 rows (50 %)";
    let json: serde_json::Value =
        serde_json::from_str(&run(&["inspect", &trace, "--json"])).expect("JSON");
    let findings = json[0]["findings"].as_array().or(json["findings"].as_array());
    let findings: Vec<_> =
        findings.expect("a list").iter().filter_map(|finding| finding.as_str()).collect();
    assert!(findings[0].starts_with(left_out), "{findings:?}");
    assert!(findings.iter().any(|finding| finding.starts_with(taken)), "{findings:?}");
    let [a, b] = [1.0, 2.0].map(|response_s| {
        write(&folder, &format!("{response_s}.toml"), format!("response_s = {response_s:.1}\n"))
    });
    let compared = ["compare", &a, &b, &trace];
    for args in [&["inspect", trace.as_str()][..], &["tune", &trace], &compared] {
        let text = run(args);
        assert!(text.contains(taken), "{text}");
        assert_eq!(text.matches(left_out).count(), 1, "{text}");
        assert!(text.contains("CAUTION"), "{text}");
    }
}

#[test]
fn the_table_has_its_columns_in_their_order_and_absent_values_empty() {
    let folder = folder();
    let trace = write(&folder, "trace.csv", climb());
    let text = run(&["replay", &trace, "--csv", "-"]);
    let mut lines = text.lines();
    assert_eq!(
        lines.next(),
        Some(
            "time_s,altitude_m,altimeter_m,tas_mps,vertical_speed_mps,\
             te_vertical_speed_mps,average_mps,\
             climb_average_mps,climb_gain_m,netto_mps,relative_netto_mps,speed_to_fly_mps,\
             tone_hz,cadence_hz,sounding,\
             status"
        )
    );
    let table = Table::read(&text);
    for absent in
        ["tas_mps", "te_vertical_speed_mps", "netto_mps", "relative_netto_mps", "speed_to_fly_mps"]
    {
        assert!(table.column(absent).iter().all(|value| value.is_nan()), "{absent}");
    }
    assert_eq!(table.status[0], "settling");
    assert_eq!(table.status.last().map(String::as_str), Some("ok"));
}

#[test]
fn each_source_of_energy_is_used_when_asked_for() {
    let folder = folder();
    // Level flight that slows from 40 to 20 m/s in 10 s: the energy falls by 61 m, the altitude
    // stays.
    let mut text = String::from("time_s,static_pa,tas_mps,te_pa\n");
    for sample in 0..500 {
        let time = f64::from(sample) / 50.0;
        let speed = 40.0 - 2.0 * time;
        let (p, rho) = (95_460.84, 1.167269); // 500 m in the standard atmosphere
        text += &format!("{time},{p},{speed},{}\n", p - 0.5 * rho * speed * speed);
    }
    let trace = write(&folder, "trace.csv", text);
    let last = |energy: &str| {
        let table = Table::read(&run(&[
            "replay",
            &trace,
            "--csv",
            "-",
            "--energy",
            energy,
            "--settings",
            "filter=fixed",
        ]));
        *table.column("te_vertical_speed_mps").last().expect("there are rows")
    };
    // dE/dt = V dV/dt / g, and the reading is that of 1 s ago: V = 22 m/s, -2 m/s2.
    let expected = -22.0 * 2.0 / 9.80665;
    assert!((last("electronic") - expected).abs() < 0.05, "{}", last("electronic"));
    assert!((last("probe") - expected).abs() < 0.1, "{}", last("probe"));
    assert!((last("auto") - last("probe")).abs() < 1e-9);
    assert!(last("none").is_nan());
}

#[test]
fn live_sound_says_what_to_type_where_it_is_not_built_in() {
    let folder = folder();
    let trace = write(&folder, "trace.csv", climb());
    if cfg!(feature = "play") {
        return; // .ci/run plays for real.
    }
    let message = complaint(&["replay", &trace, "--play"], 2);
    assert!(message.contains("--features play") && message.contains("--wav FILE"), "{message}");
}

#[test]
fn the_demonstration_makes_every_output_and_says_what_to_listen_for() {
    let folder = folder();
    let out = path(&folder, "demo");
    let text = run(&["demo", "--output", &out]);
    for name in ["demo.wav", "demo.svg", "demo.png", "demo.csv", "flight.csv", "summary.txt"] {
        let length = fs::metadata(format!("{out}/{name}")).expect("it is there").len();
        assert!(length > 500, "{name} has {length} bytes");
        assert!(text.contains(name), "{text} lacks {name}");
    }
    for part in ["weak thermal", "strong thermal", "pull-up", "steep sink", "-- replay"] {
        assert!(text.contains(part), "{text} lacks {part}");
    }
    // The text for the listener agrees with the readings.
    let table = Table::read(&fs::read_to_string(format!("{out}/demo.csv")).expect("it is there"));
    let between = |from: f64, to: f64, column: &str| -> Vec<f64> {
        let rows = table.column("time_s").iter().zip(table.column(column));
        rows.filter(|(time, _)| (from..to).contains(*time)).map(|(_, value)| *value).collect()
    };
    let share = |values: &[f64], good: fn(&f64) -> bool| {
        values.iter().filter(|value| good(value)).count() as f64 / values.len() as f64
    };
    assert!(
        share(&between(55.0, 107.0, "tone_hz"), |pitch| pitch.is_nan()) > 0.999,
        "silent in still air"
    );
    assert!(
        share(&between(115.0, 168.0, "cadence_hz"), |rate| (1.4..2.0).contains(rate)) > 0.9,
        "slow beeps"
    );
    assert!(share(&between(240.0, 273.0, "cadence_hz"), |rate| *rate > 2.0) > 0.9, "fast beeps");
    assert!(
        share(&between(314.0, 320.0, "cadence_hz"), |rate| *rate > 0.0) == 0.0,
        "no beep in the pull-up"
    );
    assert!(
        between(314.0, 320.0, "vertical_speed_mps").iter().any(|climb| *climb > 12.0),
        "though it shoots up"
    );
    assert!(
        share(&between(340.0, 376.0, "cadence_hz"), |rate| *rate == 0.0) > 0.99,
        "a steady tone in sink"
    );
}

#[test]
fn settings_are_printed_ready_to_be_used() {
    let folder = folder();
    let trace = write(&folder, "trace.csv", climb());
    let settings = write(&folder, "my.toml", run(&["settings"]));
    let with = run(&["replay", &trace, "--csv", "-", "--settings", &settings]);
    assert_eq!(with, run(&["replay", &trace, "--csv", "-"]));
}
