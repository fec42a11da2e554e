//! `chirrup watch` from outside: settings rewritten in place and by rename, broken, mended and
//! gone for a moment; the trace; Ctrl-C.

use crate::support::{complaint, folder, path, run, trace_of, write};
use std::fs;
use std::io::{BufRead, BufReader, Read};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

/// Longest wait for a line; a busy machine may need it.
const PATIENCE: Duration = Duration::from_secs(60);

/// The program while it watches, and the lines that it prints on both of its streams.
struct Watching {
    child: Child,
    said: Receiver<String>,
}

impl Watching {
    fn start(args: &[&str]) -> Self {
        let mut child = Command::new(assert_cmd::cargo::cargo_bin!("chirrup"))
            .args(args)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program can be started");
        let (send, said) = channel();
        let streams: [Box<dyn Read + Send>; 2] = [
            Box::new(child.stdout.take().expect("it is piped")),
            Box::new(child.stderr.take().expect("it is piped")),
        ];
        for stream in streams {
            let send = send.clone();
            std::thread::spawn(move || {
                for line in BufReader::new(stream).lines().map_while(Result::ok) {
                    if send.send(line).is_err() {
                        break;
                    }
                }
            });
        }
        Self { child, said }
    }

    /// The next line that it prints.
    fn line(&self) -> String {
        self.said.recv_timeout(PATIENCE).expect("it says something")
    }

    /// Ends it with Ctrl-C; what it had still to say.
    fn end(mut self) -> Vec<String> {
        let process = rustix::process::Pid::from_child(&self.child);
        rustix::process::kill_process(process, rustix::process::Signal::INT).expect("it runs");
        let status = self.child.wait().expect("it ends");
        assert_eq!(status.code(), Some(0));
        self.said.iter().collect()
    }
}

impl Drop for Watching {
    fn drop(&mut self) {
        // It has ended, unless a test has failed.
        let _ = self.child.kill();
    }
}

fn two_minutes() -> String {
    trace_of(10.0, 120.0, |t| 500.0 + 30.0 * (t / 10.0).sin())
}

#[test]
fn outputs_are_made_at_first_and_at_every_change_of_the_settings_however_they_are_written() {
    let folder = folder();
    let settings = write(&folder, "my.toml", "response_s = 2.0\n");
    let trace = write(&folder, "flight.csv", two_minutes());
    let [wav, plot, csv] = ["w.wav", "p.svg", "r.csv"].map(|name| path(&folder, name));
    let args = [
        "watch",
        &settings,
        &trace,
        "--wav",
        &wav,
        "--plot",
        &plot,
        "--csv",
        &csv,
        "--sound-rate",
        "8000",
    ];
    let watching = Watching::start(&args);
    let outputs = || [&wav, &plot, &csv].map(|file| fs::read(file).expect("it is there"));
    let line = watching.line();
    assert!(line.starts_with("first run | ") && line.contains("| written "), "{line}");
    let first = outputs();

    // In place.
    fs::write(&settings, "response_s = 0.5\n").expect("it can be written");
    let line = watching.line();
    assert!(line.starts_with("response_s: 2.0 -> 0.5 | "), "{line}");
    assert!(line.contains(" s | reading -"), "{line}");
    let second = outputs();
    assert!(first.iter().zip(&second).all(|(first, second)| first != second));

    // Broken: one line, and the outputs stay.
    fs::write(&settings, "response_s = 0.5\nrespnse_s = 1.0\n").expect("it can be written");
    let line = watching.line();
    let expected = format!("chirrup: {settings}:2: there is no setting respnse_s");
    assert!(line.starts_with(&expected) && line.contains("did you mean response_s?"), "{line}");
    assert!(line.ends_with("; the outputs are kept"), "{line}");
    assert!(outputs() == second);

    // Mended by an editor that renames a new file over the old one.
    let anew = write(&folder, "my.toml.tmp", "response_s = 1.0\n");
    fs::rename(&anew, &settings).expect("it can be renamed");
    let line = watching.line();
    assert!(line.starts_with("response_s: 0.5 -> 1.0 | "), "{line}");
    let third = outputs();
    assert!(third != second);
    let alone = path(&folder, "alone.csv");
    run(&["replay", &trace, "--settings", &settings, "--csv", &alone]);
    assert!(fs::read(&alone).expect("it is there") == third[2], "it is what replay makes");

    // Once more by rename: the watch is on the folder, not on a file that has lost its name.
    fs::write(&anew, "response_s = 1.0 # the same\n").expect("it can be written");
    fs::rename(&anew, &settings).expect("it can be renamed");
    assert_eq!(watching.line(), "no setting has changed; the outputs are kept");

    assert_eq!(watching.end(), Vec::<String>::new());
    let mut left: Vec<_> = fs::read_dir(folder.path())
        .expect("it is there")
        .map(|entry| entry.expect("it is there").file_name().into_string().expect("text"))
        .collect();
    left.sort();
    assert_eq!(left, ["alone.csv", "flight.csv", "my.toml", "p.svg", "r.csv", "w.wav"]);
}

#[test]
fn a_settings_file_that_is_gone_is_waited_for_and_the_trace_is_watched_too() {
    let folder = folder();
    let settings = write(&folder, "my.toml", "response_s = 2.0\n");
    let trace = write(&folder, "flight.csv", two_minutes());
    let csv = path(&folder, "r.csv");
    let watching = Watching::start(&["watch", &settings, &trace, "--csv", &csv]);
    watching.line();
    let first = fs::read(&csv).expect("it is there");

    fs::remove_file(&settings).expect("it is there");
    assert_eq!(watching.line(), format!("{settings} is not there; it is waited for"));
    assert!(fs::read(&csv).expect("it is there") == first);
    fs::write(&settings, "response_s = 1.0\n").expect("it can be written");
    let line = watching.line();
    assert!(line.starts_with("response_s: 2.0 -> 1.0 | "), "{line}");

    let longer = trace_of(10.0, 150.0, |t| 500.0 + 30.0 * (t / 10.0).sin());
    fs::write(&trace, longer).expect("it can be written");
    let line = watching.line();
    assert!(line.starts_with("the trace has changed | "), "{line}");
    let rows = fs::read_to_string(&csv).expect("it is there").lines().count();
    assert_eq!(rows, 1501);
    assert_eq!(watching.end(), Vec::<String>::new());
}

#[test]
fn settings_that_are_wrong_from_the_start_are_waited_for_and_a_trace_with_truth_is_compared() {
    let folder = folder();
    let settings = write(&folder, "my.toml", "response_s = 99.0\n");
    let trace = path(&folder, "flight.csv");
    run(&["fly", "pull-ups", "-o", &trace]);
    let watching = Watching::start(&["watch", &settings, &trace]);
    let line = watching.line();
    assert!(line.starts_with(&format!("chirrup: {settings}:1: response_s")), "{line}");
    fs::write(&settings, "response_s = 1.0\n").expect("it can be written");
    let line = watching.line();
    assert!(line.starts_with("first run | ") && line.contains("off the truth by "), "{line}");
    assert_eq!(watching.end(), Vec::<String>::new());
}

#[test]
fn what_cannot_be_watched_is_refused_at_once() {
    let folder = folder();
    let settings = write(&folder, "my.toml", "");
    let trace = write(&folder, "flight.csv", two_minutes());
    let lost = path(&folder, "lost.toml");
    assert!(complaint(&["watch", &lost, &trace], 2).contains("there is no such file"));
    let lost = path(&folder, "no-folder/lost.toml");
    assert!(complaint(&["watch", &lost, &trace], 2).contains("there is no such file"));
    let lost = path(&folder, "lost.csv");
    assert!(complaint(&["watch", &settings, &lost], 1).contains("there is no such file"));
    let line = complaint(&["watch", &settings, &trace, "--csv", "-"], 2);
    assert!(line.contains("give each a file instead of -"), "{line}");
    let line = complaint(&["watch", &settings, "-"], 2);
    assert!(line.contains("must be a file, not a stream"), "{line}");
    let line = complaint(&["watch", &settings, &trace, "--csv", &settings], 2);
    assert!(line.contains("is the settings file itself"), "{line}");
}
