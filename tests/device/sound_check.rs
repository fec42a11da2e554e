//! `chirrup device PORT soundcheck` says what sounds, and nothing sounds after it.

use super::{Plugged, Terminal, start};
use crate::support::{complaint, folder, run};
use chirrup::device::port::Port;
use chirrup::device::talk;
use chirrup_core::{Micros, Settings};
use chirrup_sensors::fakes::FakeBus;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// An instrument that answers each question what sounds with the next of `sounds`, so that no part
/// depends on how quick this computer is.
fn scripted(mut terminal: Terminal, sounds: &[&str], stop: &AtomicBool) {
    let (mut sounds, mut typed) = (sounds.iter(), String::new());
    while !stop.load(Ordering::Relaxed) {
        let mut buffer = [0; 64];
        if let Ok(length) = terminal.ours.read(&mut buffer) {
            typed.push_str(&String::from_utf8_lossy(&buffer[..length]));
        }
        while let Some((line, rest)) = typed.split_once('\n') {
            let said = match line {
                "" => String::new(),
                "version" => "# chirrup 0.1.0 on bench\n# ok\n".into(),
                "settings" => "# [tone]\n# volume = 6\n# ok\n".into(),
                "sound" => format!("# {}\n# ok\n", sounds.next().expect("it has ended")),
                _ => "# ok\n".into(),
            };
            terminal.ours.write_all(said.as_bytes()).expect("it has room");
            typed = rest.to_owned();
        }
        std::thread::sleep(Duration::from_millis(1));
    }
}

/// What the program says while the instrument sounds so.
fn told(sounds: &[&str]) -> String {
    let folder = folder();
    let name = folder.path().join("port");
    let terminal = Terminal::at(&name);
    let stop = AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| scripted(terminal, sounds, &stop));
        let said = std::panic::catch_unwind(|| {
            run(&["device", name.to_str().expect("it is text"), "soundcheck"])
        });
        stop.store(true, Ordering::Relaxed);
        said.expect("it succeeds")
    })
}

const NONE: &str = "no sound check";

#[test]
fn each_part_is_named_once_with_what_the_settings_make_of_it() {
    let text = told(&[
        NONE,
        "lowest sink, 60 s left",
        "lowest sink, 57 s left",
        "pause, 56 s left",
        "fault call, 55 s left",
        "highest beeps, 51 s left",
        "pause, 46 s left",
        "lowest sink, 1 s left",
        NONE,
    ]);
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len(), 7, "{text}");
    assert!(lines[0].starts_with("Volume 6 of 10. "), "{text}");
    // The last entries of the default tables in docs/src/settings.md.
    let low = "60 s left  lowest sink tone, -10 m/s at 310 Hz: a steady hum";
    assert!(lines[2].trim_start().starts_with(low), "{text}");
    assert!(lines[3].contains("55 s left  fault call: three notes"), "{text}");
    assert!(lines[4].contains("51 s left  highest beeps, "), "{text}");
    assert!(lines[5].contains("1 s left  lowest sink tone"), "{text}");
    assert!(lines[6].starts_with("If one of them was not clear"), "{text}");
}

#[test]
fn a_check_that_a_button_ended_is_reported() {
    let text = told(&[NONE, "lowest sink, 60 s left", "lowest sink, 57 s left", NONE]);
    assert!(text.contains("It was ended at the instrument with 57 s left."), "{text}");
}

/// An instrument on the ground, in air without noise.
fn parked(name: &Path) -> Plugged {
    Plugged::with(name, FakeBus::new(|_: Micros| 95_461 * 64), Settings::default())
}

#[test]
fn with_the_instrument_itself_it_begins_and_ends_by_itself() {
    let folder = folder();
    let instrument = parked(&folder.path().join("port"));
    let text = run(&["device", instrument.port(), "soundcheck"]);
    assert!(text.contains(" s left  lowest sink tone"), "{text}");
    assert!(text.contains("If one of them was not clear"), "{text}");
}

#[test]
fn ctrl_c_ends_the_sound() {
    let folder = folder();
    let instrument = parked(&folder.path().join("port"));
    let mut child = start(&["device", instrument.port(), "soundcheck"]);
    let mut lines = BufReader::new(child.stdout.take().expect("it is piped")).lines();
    let has_begun = |line: String| line.contains("lowest sink");
    assert!(lines.by_ref().any(|line| has_begun(line.expect("it is text"))), "it has begun");
    let process = rustix::process::Pid::from_child(&child);
    rustix::process::kill_process(process, rustix::process::Signal::INT).expect("it runs");
    assert_eq!(child.wait().expect("it ends").code(), Some(130));
    let mut port = Port::open(instrument.name.as_path()).expect("it opens");
    let never = AtomicBool::new(false);
    // Takes what was answered to the program; some fifty of the sixty seconds would be left.
    talk::greet(&mut port, &never).expect("it answers");
    assert_eq!(talk::demand(&mut port, "sound", &never).expect("it answers"), [NONE]);
}

#[test]
fn in_flight_the_instrument_refuses_and_that_is_the_complaint() {
    let folder = folder();
    let instrument = Plugged::at(&folder.path().join("port"));
    {
        let mut port = Port::open(instrument.name.as_path()).expect("it opens");
        let never = AtomicBool::new(false);
        // It climbs from its start on; this is refused as soon as it has seen that.
        while talk::ask(&mut port, "sound check", &never).expect("it answers").is_ok() {}
    }
    let said = complaint(&["device", instrument.port(), "soundcheck"], 1);
    assert!(said.contains("port: no sound check: the glider moves"), "{said}");
}
