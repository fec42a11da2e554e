//! Long and endless traces: memory that does not grow, readers that close the pipe.

use crate::support::{folder, write};
use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

fn spawn(args: &[&str]) -> Child {
    Command::new(assert_cmd::cargo::cargo_bin!("chirrup"))
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program can be started")
}

/// Highest memory in use so far, in KiB, as the kernel counts it.
#[cfg(target_os = "linux")]
fn peak_kib(child: &Child) -> u64 {
    let status =
        std::fs::read_to_string(format!("/proc/{}/status", child.id())).expect("it is running");
    let line = status.lines().find(|line| line.starts_with("VmHWM")).expect("the kernel tells");
    line.split_whitespace().nth(1).and_then(|number| number.parse().ok()).expect("a number")
}

#[test]
#[cfg(target_os = "linux")]
fn memory_does_not_grow_with_the_length_of_a_trace() {
    let folder = folder();
    let (csv, svg) = (folder.path().join("a.csv"), folder.path().join("a.svg"));
    let mut child = spawn(&[
        "replay",
        "-",
        "--csv",
        csv.to_str().expect("text"),
        "--plot",
        svg.to_str().expect("text"),
    ]);
    let mut input = child.stdin.take().expect("it has an input");
    writeln!(input, "time_s,static_pa,dynamic_pa").expect("it reads");
    let mut feed = |samples: std::ops::Range<u32>| {
        for sample in samples {
            let time = f64::from(sample) * 0.02;
            writeln!(input, "{time},{:.2},400", 90_000.0 + 500.0 * (time / 60.0).sin())
                .expect("it reads");
        }
        input.flush().expect("it reads");
    };
    feed(0..60_000);
    let early = peak_kib(&child);
    feed(60_000..400_000);
    let late = peak_kib(&child);
    drop(input);
    assert!(child.wait().expect("it ends").success());
    assert!(late < early + 2_048, "{early} KiB after 60 000 samples, {late} KiB after 400 000");
    assert!(late < 64 * 1_024, "{late} KiB");
}

#[test]
fn a_reader_that_goes_away_is_no_error() {
    let folder = folder();
    let trace = write(&folder, "trace.csv", crate::support::trace_of(50.0, 600.0, |t| t));
    let mut child = spawn(&["replay", &trace, "--csv", "-"]);
    let mut first = String::new();
    BufReader::new(child.stdout.take().expect("it has an output"))
        .read_line(&mut first)
        .expect("it writes");
    // The output is closed here, long before its end.
    assert!(first.starts_with("time_s"));
    let status = child.wait().expect("it ends");
    let mut said = String::new();
    child.stderr.take().expect("it has an error output").read_to_string(&mut said).expect("text");
    assert!(status.success(), "{status}: {said}");
    assert_eq!(said, "");
}

#[test]
fn a_jump_of_a_year_in_the_time_is_passed_in_a_moment() {
    let folder = folder();
    let mut text = crate::support::trace_of(50.0, 10.0, |t| t);
    for sample in 0..500 {
        text += &format!(
            "{},{}\n",
            31_536_000.0 + f64::from(sample) * 0.02,
            101_200.0 - 0.1 * f64::from(sample)
        );
    }
    let trace = write(&folder, "trace.csv", text);
    let summary: serde_json::Value =
        serde_json::from_str(&crate::support::run(&["replay", &trace, "--json"])).expect("JSON");
    assert_eq!(summary["samples_used"], 1000);
    assert_eq!(summary["faults"][0]["what"], "gap");
}

#[test]
fn samples_a_year_apart_are_passed_in_a_moment_too() {
    // Found by reading: a stream that slow would have been stale only after three years of ticks.
    let folder = folder();
    let trace = write(
        &folder,
        "trace.csv",
        "time_s,static_pa\n0,101325\n1e11,101300\n2e11,101290\n3e11,101000\n",
    );
    let csv = folder.path().join("readings.csv");
    crate::support::run(&["replay", &trace, "--csv", csv.to_str().expect("text")]);
    let rows = std::fs::read_to_string(csv).expect("it is there").lines().count();
    assert_eq!(rows, 5);
}

/// Longer than any machine needs for a few rows; a test that passes does not wait for it.
const PATIENCE: Duration = Duration::from_secs(60);

/// The lines of a stream as they come. A named pipe opens when its writer does.
fn lines_of<S: Read>(open: impl FnOnce() -> S + Send + 'static) -> Receiver<String> {
    let (sender, receiver) = channel();
    std::thread::spawn(move || {
        let lines = BufReader::new(open()).lines().map_while(Result::ok);
        lines.take_while(|line| sender.send(line.clone()).is_ok()).for_each(drop);
    });
    receiver
}

/// Feeds a trace row by row to `chirrup replay - --csv OUT` whose input stays open, and wants the
/// readings of a row before the next is sent, once it is clear what the trace is.
fn every_row_is_answered(mut child: Child, readings: &Receiver<String>) {
    let mut input = child.stdin.take().expect("it has an input");
    let rows: Vec<String> =
        crate::support::trace_of(50.0, 4.0, |t| t).lines().map(str::to_owned).collect();
    let (first, later) = rows.split_at(1 + 64);
    writeln!(input, "{}", first.join("\n")).expect("it reads");
    for (number, _) in (1..).zip(first) {
        readings.recv_timeout(PATIENCE).unwrap_or_else(|_| panic!("no line {number}"));
    }
    for row in later {
        // As a serial port may give it: in two pieces.
        let (begin, end) = row.split_at(row.len() / 2);
        write!(input, "{begin}").and_then(|()| input.flush()).expect("it reads");
        writeln!(input, "{end}").and_then(|()| input.flush()).expect("it reads");
        let reading = readings.recv_timeout(PATIENCE).expect("the readings of this row");
        let time_s = |row: &str| row.split(',').next().and_then(|time| time.parse::<f64>().ok());
        assert_eq!(time_s(&reading), time_s(row));
    }
    drop(input);
    assert!(child.wait().expect("it ends").success());
    assert!(readings.recv().is_err(), "nothing is left for the end");
}

#[test]
fn readings_of_a_live_pipe_come_out_row_by_row() {
    let mut child = spawn(&["replay", "-", "--csv", "-"]);
    let output = child.stdout.take().expect("it has an output");
    let readings = lines_of(|| output);
    every_row_is_answered(child, &readings);
}

#[test]
#[cfg(unix)]
fn readings_come_out_row_by_row_into_a_named_pipe_too() {
    let folder = folder();
    let pipe = crate::support::path(&folder, "readings");
    let made = Command::new("mkfifo").arg(&pipe).status().expect("mkfifo is there");
    assert!(made.success());
    let child = spawn(&["replay", "-", "--csv", &pipe]);
    let readings = lines_of(|| std::fs::File::open(pipe).expect("it is opened by both"));
    every_row_is_answered(child, &readings);
}
