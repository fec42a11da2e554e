//! Recordings whose clock jumps, or that were switched off for hours: every command works by
//! segment, and what it needs goes with the samples, not with the years between them.

use crate::support::{complaint, folder, path, run, shared, write};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

const DAY_S: f64 = 86_400.0;

/// Five minutes at 10 Hz in thermals, with a gap of `gap_s` after half of them.
fn log(gap_s: f64) -> String {
    let mut height_m = 1_000.0;
    let row = |place: i32| {
        let flown_s = 0.1 * f64::from(place);
        height_m += 0.3 * (flown_s / 10.0).sin() + 0.05;
        let time_s = if place < 1_500 { flown_s } else { flown_s + gap_s };
        format!("{time_s:.1},{:.2},27.0\n", crate::support::pressure_pa(height_m))
    };
    "time_s,static_pa,tas_mps\n".to_owned() + &(0..3_000).map(row).collect::<String>()
}

/// The most memory that the program has had in use, in KiB, as the kernel counts it, looked at
/// every millisecond.
fn peak_kib(args: &[&str]) -> u64 {
    let mut child = Command::new(assert_cmd::cargo::cargo_bin!("chirrup"))
        .args(args)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .spawn()
        .expect("the program can be started");
    let mut peak = 0;
    loop {
        let status = fs::read_to_string(format!("/proc/{}/status", child.id()));
        let status = status.unwrap_or_default();
        let line = status.lines().find(|line| line.starts_with("VmHWM"));
        let now = line.and_then(|line| line.split_whitespace().nth(1)?.parse().ok());
        peak = peak.max(now.unwrap_or(0));
        if let Some(ended) = child.try_wait().expect("it can be waited for") {
            assert!(ended.success(), "{args:?}");
            return peak;
        }
        std::thread::sleep(Duration::from_millis(1));
    }
}

fn size(path: &str) -> u64 {
    fs::metadata(path).unwrap_or_else(|error| panic!("{path}: {error}")).len()
}

/// Every command that reads a whole trace, and the files that it writes into `folder`.
fn commands(trace: &str, folder: &tempfile::TempDir) -> Vec<(Vec<String>, Vec<String>)> {
    let at = |name: &str| path(folder, name);
    let (csv, wav, png, html) = (at("a.csv"), at("a.wav"), at("a.png"), at("a.html"));
    let toml = at("a.toml");
    let words = |line: &str| line.split(' ').map(str::to_owned).collect::<Vec<_>>();
    [
        (format!("replay {trace} --wav {wav} --csv {csv} --plot {png}"), vec![&wav, &csv, &png]),
        (format!("inspect {trace} --csv {csv} --plot {png}"), vec![&csv, &png]),
        (format!("report {trace} -o {html} --wav {wav}"), vec![&html, &wav]),
        (format!("tune {trace} -o {toml} --plot {png}"), vec![&toml, &png]),
        (format!("compare response_s=1 response_s=2 {trace} --plot {png}"), vec![&png]),
    ]
    .into_iter()
    .map(|(line, files)| (words(&line), files.into_iter().cloned().collect()))
    .collect()
}

/// Runs every command on `trace`, and checks what it needs: 50 MB of memory, and files that are no
/// larger than five minutes.
#[cfg(target_os = "linux")]
fn every_command_needs_little(trace: &str) {
    for (args, files) in commands(trace, &folder()) {
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        let peak_kib = peak_kib(&args);
        assert!((1_000..50_000_000 / 1_024).contains(&peak_kib), "{args:?}: {peak_kib} KiB");
        let written: u64 = files.iter().map(|file| size(file)).sum();
        assert!((100..17_000_000).contains(&written), "{args:?}: {written} bytes");
    }
}

#[test]
#[cfg(target_os = "linux")]
fn a_gap_of_hours_days_or_years_costs_nothing() {
    let folder = folder();
    for (name, gap_s) in [("h", DAY_S / 24.0 * 20.0), ("d", 30.0 * DAY_S), ("y", 10_957.0 * DAY_S)]
    {
        every_command_needs_little(&write(&folder, name, log(gap_s)));
    }
}

#[test]
#[cfg(target_os = "linux")]
fn a_clock_that_jumps_to_its_real_time_costs_nothing() {
    let Some(trace) = shared("loggers/rtc.csv") else { return };
    every_command_needs_little(trace.to_str().expect("its name is text"));
}

#[test]
fn a_replay_goes_through_all_segments_and_counts_flown_time_only() {
    let folder = folder();
    let (whole, cut) = (write(&folder, "0", log(0.0)), write(&folder, "20", log(72_000.0)));
    let text = run(&["replay", &cut]);
    assert!(text.contains("2 segments, cut at 2:30 (20 h left out)"), "{text}");
    assert!(text.contains(": 3000 samples over 5:00"), "{text}");
    let of = |trace: &str| -> Value {
        serde_json::from_str(&run(&["replay", trace, "--json"])).expect("it is JSON")
    };
    let (whole, cut) = (of(&whole), of(&cut));
    assert!(whole.get("segments").is_none(), "one segment keeps the shape");
    assert_eq!(cut["segments"].as_array().expect("there are two").len(), 2);
    let sounded = |summary: &Value| {
        let sound = &summary["instruments"][0]["sound_s"];
        ["climb", "sink", "silent"].map(|kind| sound[kind].as_f64().expect("a time"))
    };
    let (whole, cut) = (sounded(&whole), sounded(&cut));
    // The second segment settles for some two seconds, and the first ends 0.1 s earlier.
    for (whole, cut) in whole.iter().zip(cut) {
        assert!((whole - cut).abs() < 4.0, "{whole} s in one segment, {cut} s in two");
    }
    assert!((cut.iter().sum::<f64>() - 299.8).abs() < 0.05, "{cut:?}");
}

#[test]
fn the_sound_and_the_picture_leave_the_gap_out_and_rows_keep_their_times() {
    let folder = folder();
    let trace = write(&folder, "20h.csv", log(72_000.0));
    let [wav, csv, svg] = ["a.wav", "a.csv", "a.svg"].map(|name| path(&folder, name));
    run(&["replay", &trace, "--wav", &wav, "--csv", &csv, "--plot", &svg]);
    let samples = hound::WavReader::open(&wav).expect("it is a WAV").duration();
    // Both halves, a second at the cut, and the fade-out.
    let seconds = f64::from(samples) / 24_000.0;
    assert!((seconds - (149.9 + 1.0 + 149.9 + 0.02)).abs() < 0.01, "{seconds} s");
    let rows = fs::read_to_string(&csv).expect("it is there");
    assert!(rows.contains("\n149.9,") && rows.contains("\n72150,"), "rows keep their times");
    let picture = fs::read_to_string(&svg).expect("it is there");
    assert!(picture.contains("20 h left out"));
    assert!(picture.contains(">20:02:30<") && picture.contains(">0:01:00<"), "both clocks show");
}

#[test]
fn inspect_tells_of_every_segment_and_the_others_say_which_they_use() {
    let folder = folder();
    let trace = write(&folder, "d.csv", log(30.0 * DAY_S));
    let text = run(&["inspect", &trace]);
    for words in ["segment 1 of 2: 1500 samples", "segment 2 of 2: 1500 samples"] {
        assert!(text.contains(words), "{text}");
    }
    let json = |args: &[&str]| -> Value { serde_json::from_str(&run(args)).expect("it is JSON") };
    let all = json(&["inspect", &trace, "--json"]);
    let segments = all[0]["segments"].as_array().expect("there are two");
    assert_eq!(segments.len(), 2);
    assert_eq!(all[0]["timing"], segments[0]["timing"], "the longest, or the first of them");
    assert!(segments[1]["timing"]["samples"] == 1500 && segments[1]["segment"]["number"] == 2);
    let one = json(&["inspect", &write(&folder, "0.csv", log(0.0)), "--json"]);
    assert!(one[0].get("segments").is_none() && one[0].get("segment").is_none());
    let second = json(&["inspect", &trace, "--json", "--segment", "2"]);
    assert_eq!(second[0]["timing"], segments[1]["timing"]);
    for args in [&["tune", &trace][..], &["compare", "response_s=1", "response_s=2", &trace]] {
        let text = run(args);
        assert!(text.contains("segment 1 of 2 (--segment N chooses another)"), "{text}");
        let text = run(&[args, &["--segment", "2"]].concat());
        assert!(text.contains("segment 2 of 2"), "{text}");
        let line = complaint(&[args, &["--segment", "3"]].concat(), 2);
        assert!(line.contains("has 2 segments, from 1"), "{line}");
    }
}

#[test]
fn a_report_is_of_one_segment_and_says_so() {
    let folder = folder();
    let trace = write(&folder, "d.csv", log(30.0 * DAY_S));
    let page = path(&folder, "d.html");
    for (more, which) in [(&[][..], "segment 1 of 2"), (&["--segment", "2"], "segment 2 of 2")] {
        run(&[&["report", &trace, "-o", &page][..], more].concat());
        let text = fs::read_to_string(&page).expect("it is there");
        assert!(text.contains(which), "{which}");
        assert!(!text.contains("left out</text>"), "its pictures are of one segment");
    }
}

/// So many hours at one sample in 10 s.
fn long_log(hours: u32) -> String {
    let row = |place: u32| format!("{},{}\n", 10 * place, 90_000 - place % 100);
    "time_s,static_pa\n".to_owned() + &(0..360 * hours).map(row).collect::<String>()
}

#[test]
fn outputs_above_a_gigabyte_are_asked_for_first() {
    let folder = folder();
    let trace = write(&folder, "long.csv", long_log(8));
    let wav = path(&folder, "long.wav");
    let line = complaint(&["replay", &trace, "--wav", &wav], 2);
    assert!(line.contains("1.4 GB of sound, more than 1 GB; --yes writes it all"), "{line}");
    let stays_empty = |folder: &Path| {
        let names: Vec<_> = fs::read_dir(folder).expect("it is there").flatten().collect();
        assert_eq!(names.len(), 1, "{names:?}");
    };
    stays_empty(folder.path());
    run(&["replay", &trace, "--wav", &wav, "--to", "1:00"]);
    assert!(size(&wav) > 2_800_000);
}

#[test]
fn a_stream_is_stopped_at_a_gigabyte_and_leaves_nothing() {
    let folder = folder();
    let wav = path(&folder, "long.wav");
    // Most of it is silence between samples that are far apart, which is quickly written.
    let row = |place: u32| format!("{},90000\n", 100 * place);
    let log = "time_s,static_pa\n".to_owned() + &(0..30).map(row).collect::<String>();
    let line = crate::support::chirrup()
        .args(["replay", "-", "--wav", &wav, "--sound-rate", "192000"])
        .write_stdin(log)
        .assert()
        .code(2);
    let line = String::from_utf8_lossy(&line.get_output().stderr).into_owned();
    assert!(line.starts_with("chirrup: standard input: 1.0 GB of sound"), "{line}");
    assert_eq!(fs::read_dir(folder.path()).expect("it is there").count(), 0);
}
