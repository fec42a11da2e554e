//! Killed at any moment, or with a full disk: a name holds the old file or the complete new one.

#![cfg(unix)]

use crate::support::{folder, path, pressure_pa, write};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::fmt::Write;
use std::fs;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// How often it is killed.
const KILLS: u32 = 50;
const OLD: &[u8] = b"what was there before";
const OUTPUTS: [(&str, &str); 3] = [("--wav", "a.wav"), ("--csv", "a.csv"), ("--plot", "a.svg")];

/// A minute's climb with an airspeed.
fn trace() -> String {
    let mut text = String::from("time_s,static_pa,dynamic_pa\n");
    for sample in 0..3_000 {
        let t = f64::from(sample) * 0.02;
        let height = 800.0 + t + 20.0 * (t / 7.0).sin();
        writeln!(text, "{t:.2},{:.2},{:.1}", pressure_pa(height), 400.0 + 50.0 * (t / 3.0).sin())
            .expect("text");
    }
    text
}

fn start(trace: &str, place: &tempfile::TempDir) -> Child {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("chirrup"));
    command.args(["replay", trace]);
    for (option, name) in OUTPUTS {
        command.args([option, &path(place, name)]);
    }
    command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().expect("the program can be started")
}

fn read(place: &tempfile::TempDir, name: &str) -> Vec<u8> {
    fs::read(place.path().join(name)).expect("it is there, old or new")
}

#[test]
fn killed_at_any_moment_it_leaves_the_old_file_or_the_whole_new_one() {
    let place = folder();
    let trace = write(&place, "trace.csv", trace());
    let begun = Instant::now();
    assert!(start(&trace, &place).wait().expect("it ends").success());
    // The duration of a run is measured as the test proceeds, since other tests run in parallel.
    let mut run_ms = begun.elapsed().as_secs_f64() * 1e3;
    let whole = OUTPUTS.map(|(_, name)| read(&place, name));
    let (mut rng, mut killed) = (ChaCha8Rng::seed_from_u64(9), 0);
    for trial in 0..8 * KILLS {
        if killed == KILLS {
            break;
        }
        for (_, name) in OUTPUTS {
            fs::write(place.path().join(name), OLD).expect("there is room");
        }
        let mut child = start(&trace, &place);
        // Two in three kills fall anywhere in the run, the others near its end, where the files get
        // their names.
        let earliest = if trial % 3 == 0 { 0.8 } else { 0.0 };
        std::thread::sleep(Duration::from_secs_f64(
            run_ms * rng.random_range(earliest..1.05) / 1e3,
        ));
        child.kill().expect("a child may be killed");
        let ended = child.wait().expect("it ends").success();
        run_ms *= if ended { 0.93 } else { 1.02 };
        killed += u32::from(!ended);
        for ((_, name), whole) in OUTPUTS.iter().zip(&whole) {
            let found = read(&place, name);
            assert!(
                found == OLD || found == *whole,
                "trial {trial}: {name} is torn, {} bytes",
                found.len()
            );
        }
    }
    assert_eq!(killed, KILLS, "too few kills came before the end");
}

/// Runs `chirrup` where no file may grow beyond `blocks` of 512 bytes; the shell's limit simulates
/// a full disk.
fn with_little_room(blocks: u32, args: &[&str]) -> (Option<i32>, String) {
    let program = assert_cmd::cargo::cargo_bin!("chirrup");
    let output = Command::new("sh")
        .args(["-c", &format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" \"$@\"")])
        .arg(program)
        .args(args)
        .output()
        .expect("there is a shell");
    (output.status.code(), String::from_utf8(output.stderr).expect("the program writes text"))
}

fn files_in(folder: &Path) -> Vec<String> {
    let name = |entry: std::io::Result<fs::DirEntry>| {
        entry.expect("a folder can be listed").file_name().to_string_lossy().into_owned()
    };
    let mut names: Vec<String> = fs::read_dir(folder).expect("it is there").map(name).collect();
    names.sort();
    names
}

#[test]
fn where_there_is_no_room_the_error_is_one_clear_line_and_every_old_file_stays() {
    let place = folder();
    let trace = write(&place, "trace.csv", trace());
    for (_, name) in OUTPUTS {
        fs::write(place.path().join(name), OLD).expect("there is room");
    }
    let paths = OUTPUTS.map(|(_, name)| path(&place, name));
    // The sound alone is too large; the table and the picture would fit, and must not be put there
    // either.
    let args = ["replay", &trace, "--wav", &paths[0], "--csv", &paths[1], "--plot", &paths[2]];
    let (code, said) = with_little_room(2_000, &args);
    assert_eq!((code, said.lines().count()), (Some(1), 1), "{said}");
    assert!(said.contains("cannot write") && said.contains("a.wav"), "{said}");
    for (_, name) in OUTPUTS {
        assert_eq!(read(&place, name), OLD, "{name}");
    }
    assert_eq!(files_in(place.path()), ["a.csv", "a.svg", "a.wav", "trace.csv"]);
}

#[test]
fn an_output_that_cannot_be_named_leaves_no_unfinished_file() {
    let place = folder();
    let trace = write(&place, "trace.csv", trace());
    let lost = path(&place, "not/there/a.wav");
    let (code, said) = with_little_room(
        100_000,
        &["replay", &trace, "--csv", &path(&place, "a.csv"), "--wav", &lost],
    );
    assert_eq!(code, Some(1), "{said}");
    assert_eq!(files_in(place.path()), ["trace.csv"]);
}

#[test]
#[cfg(target_os = "linux")]
fn a_full_device_says_that_the_disk_is_full() {
    let place = folder();
    let trace = write(&place, "trace.csv", trace());
    for option in ["--csv", "--wav"] {
        let said = crate::support::complaint(&["replay", &trace, option, "/dev/full"], 1);
        assert_eq!(said, "chirrup: cannot write /dev/full: the disk is full");
    }
}
