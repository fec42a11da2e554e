//! The instrument on a serial port, from outside: the program talks with the firmware's own
//! library, which runs on fake sensors in a thread, through a pseudo-terminal.

mod check;
mod interrupted;
mod sound_check;

use crate::memory_flash::MemoryFlash;
use crate::support::{chirrup, complaint, folder, path, run, write};
use chirrup_core::{Metre, Micros, Settings, pressure_at};
use chirrup_firmware::instrument::{Boot, Instrument, Port, ResetCause};
use chirrup_firmware::recorder::keeper::Keeper;
use chirrup_firmware::store::{Loaded, Origin};
use chirrup_sensors::bus::BusStep;
use chirrup_sensors::fakes::{Air, FakeBus, Trouble};
use embassy_futures::block_on;
use rustix::fs::{OFlags, fcntl_setfl};
use rustix::io::{FdFlags, fcntl_setfd};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use std::fs::File;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::Duration;

/// The instrument's clock runs so much faster than the wall's.
const SPEED: i64 = 20;
const CLIMB_MPS: f64 = 2.0;
/// Flash of the recorder.
const FLASH_BYTES: u32 = 256 * 1_024;

/// A pseudo-terminal with its own name.
struct Terminal {
    ours: File,
    /// Kept open so that ours stays usable while no program has the port open.
    _theirs: File,
}

impl Terminal {
    fn at(name: &Path) -> Self {
        let ours =
            openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).expect("there are pseudo-terminals");
        // Otherwise a started program inherits it, and it never closes.
        fcntl_setfd(&ours, FdFlags::CLOEXEC).expect("it is ours");
        grantpt(&ours).expect("it is ours");
        unlockpt(&ours).expect("it is ours");
        fcntl_setfl(&ours, OFlags::NONBLOCK).expect("it is ours");
        let theirs = ptsname(&ours, Vec::new())
            .expect("it has a name")
            .into_string()
            .expect("its name is text");
        let _ = std::fs::remove_file(name);
        std::os::unix::fs::symlink(&theirs, name).expect("the folder is ours");
        let theirs =
            File::options().read(true).write(true).open(&theirs).expect("it can be opened");
        Self { ours: File::from(ours), _theirs: theirs }
    }
}

/// An instrument that is plugged in until it is dropped.
struct Plugged {
    name: PathBuf,
    stop: Arc<AtomicBool>,
    saved: Arc<Mutex<Option<Settings>>>,
    trouble: Arc<Mutex<Trouble>>,
    thread: Option<JoinHandle<()>>,
}

impl Plugged {
    fn at(name: &Path) -> Self {
        Self::with(name, FakeBus::new(air), Settings::default())
    }

    fn with(name: &Path, bus: FakeBus<impl Air + Send + 'static>, settings: Settings) -> Self {
        let terminal = Terminal::at(name);
        let stop = Arc::new(AtomicBool::new(false));
        let saved = Arc::new(Mutex::new(None));
        let trouble = Arc::new(Mutex::new(Trouble::None));
        let thread = std::thread::spawn({
            let (stop, saved, trouble) =
                (Arc::clone(&stop), Arc::clone(&saved), Arc::clone(&trouble));
            move || live(terminal, bus, settings, &stop, &saved, &trouble)
        });
        Self { name: name.to_owned(), stop, saved, trouble, thread: Some(thread) }
    }

    fn port(&self) -> &str {
        self.name.to_str().expect("the path is text")
    }
}

impl Drop for Plugged {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            thread.join().expect("the instrument did not panic");
        }
    }
}

/// Static pressure of a steady climb, with 1 Pa of noise.
fn air(time: Micros) -> i32 {
    let height = 800.0 + CLIMB_MPS * time.0 as f64 / 1.0e6;
    let mixed = (time.0 as u64 / 1_000).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    let mixed = (mixed ^ mixed >> 29).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    let noise =
        [8, 16, 24, 32].map(|bits| ((mixed >> bits) & 0xFF) as i32 - 128).iter().sum::<i32>() * 64
            / 148;
    (pressure_at(Metre(height as f32)).0 * 64.0) as i32 + noise
}

/// The tasks of a board in one loop.
fn live(
    mut terminal: Terminal,
    mut bus: FakeBus<impl Air>,
    settings: Settings,
    stop: &AtomicBool,
    saved: &Mutex<Option<Settings>>,
    trouble: &Mutex<Trouble>,
) {
    let loaded = Loaded { settings, origin: Origin::FirstStart };
    let boot =
        Boot { board: "bench", now: Micros(0), loaded, reset: ResetCause::Power, panic: None };
    let mut instrument = Instrument::new(boot).expect("the defaults are good");
    let flash = MemoryFlash(vec![0xFF; FLASH_BYTES as usize]);
    let mut keeper = block_on(Keeper::open(flash, 0..FLASH_BYTES, ResetCause::Power, || Micros(0)));
    let (mut now, mut bus_due, mut unsent) = (0, 0, Vec::new());
    while !stop.load(Ordering::Relaxed) {
        *bus.trouble().expect("there is one") = *trouble.lock().expect("nobody panicked");
        for _ in 0..10 {
            while bus_due < now + 2_000 {
                match instrument.bus_step(Micros(bus_due)) {
                    BusStep::Wait(until) => {
                        block_on(keeper.serve(&mut instrument, Micros(bus_due), until));
                        bus_due = until.0.max(bus_due + 1);
                    }
                    BusStep::Transact(transaction) => {
                        let answer = bus.run(Micros(bus_due), &transaction);
                        bus_due += 150;
                        instrument.bus_done(Micros(bus_due), answer);
                    }
                    BusStep::Recover => instrument.bus_recovered(Micros(bus_due), true),
                }
            }
            instrument.tick(Micros(now));
            block_on(keeper.answer(&mut instrument));
            now += 2_000;
        }
        if let Some(settings) = instrument.take_save() {
            *saved.lock().expect("nobody panicked") = Some(settings);
            instrument.saved(Ok(()));
        }
        let mut buffer = [0; 256];
        if let Ok(length) = terminal.ours.read(&mut buffer) {
            instrument.receive(Port::Usb, &buffer[..length]);
        }
        loop {
            if unsent.is_empty() {
                let length = instrument.transmit(Port::Usb, &mut buffer);
                unsent.extend_from_slice(&buffer[..length]);
            }
            match terminal.ours.write(&unsent) {
                Ok(length) if length > 0 => drop(unsent.drain(..length)),
                _ => break,
            }
        }
        std::thread::sleep(Duration::from_micros((20_000 / SPEED) as u64));
    }
}

fn start(args: &[&str]) -> Child {
    let mut command = Command::new(chirrup().get_program());
    command
        .args(args)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program can be started")
}

fn said(output: &Output) -> String {
    format!(
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    )
}

/// Vertical speeds in m/s that the instrument itself wrote into its log.
fn logged_mps(trace: &str) -> Vec<f64> {
    let rows = trace.lines().filter(|line| line.starts_with(|first: char| first.is_ascii_digit()));
    rows.filter_map(|row| Some(row.split(',').nth(4)?.parse::<f64>().ok()? / 1_000.0)).collect()
}

#[test]
fn a_recording_is_a_trace_whose_replay_reads_what_the_instrument_read() {
    let folder = folder();
    let instrument = Plugged::at(&folder.path().join("port"));
    let (trace, readings) = (path(&folder, "trace.csv"), path(&folder, "readings.csv"));
    let text = run(&["record", instrument.port(), "-o", &trace, "--seconds", "3"]);
    assert!(
        text.contains(" rows") && text.contains("trace.csv") && !text.contains("dropped"),
        "{text}"
    );
    let recorded = std::fs::read_to_string(&trace).expect("it is there");
    let summary: serde_json::Value =
        serde_json::from_str(&run(&["replay", &trace, "--csv", &readings, "--json"]))
            .expect("it is JSON");
    let rows = logged_mps(&recorded).len();
    assert!(rows > 1_000, "{rows} rows in a minute of the instrument's time");
    assert_eq!(summary["lines_skipped"].as_array().map(Vec::len), Some(0), "{summary}");
    let replayed = std::fs::read_to_string(&readings).expect("it is there");
    let replayed_mps: Vec<f64> =
        replayed.lines().skip(1).filter_map(|row| row.split(',').nth(3)?.parse().ok()).collect();
    // Both have long settled at the end; the instrument only began earlier.
    for (logged, replayed) in
        logged_mps(&recorded).iter().rev().zip(replayed_mps.iter().rev()).take(200)
    {
        assert!((logged - replayed).abs() < 0.02, "{logged} and {replayed} m/s");
        assert!((logged - CLIMB_MPS).abs() < 0.2, "{logged} m/s");
    }
}

#[test]
fn ctrl_c_ends_a_recording_well() {
    let folder = folder();
    let instrument = Plugged::at(&folder.path().join("port"));
    let trace = path(&folder, "trace.csv");
    let child = start(&["record", instrument.port(), "-o", &trace]);
    std::thread::sleep(Duration::from_millis(1_500));
    assert!(!Path::new(&trace).exists(), "it has its name only at the end");
    let process = rustix::process::Pid::from_child(&child);
    rustix::process::kill_process(process, rustix::process::Signal::INT).expect("it runs");
    let output = child.wait_with_output().expect("it ends");
    assert!(output.status.success(), "{}", said(&output));
    let recorded = std::fs::read_to_string(&trace).expect("it is there");
    assert!(logged_mps(&recorded).len() > 100 && recorded.ends_with('\n'));
    assert_eq!(
        std::fs::read_dir(folder.path()).expect("it is there").count(),
        2,
        "nothing else is left"
    );
}

#[test]
fn a_port_that_goes_and_comes_back_is_recorded_in_one_file() {
    let folder = folder();
    let name = folder.path().join("port");
    let instrument = Plugged::at(&name);
    let trace = path(&folder, "trace.csv");
    let child = start(&["record", instrument.port(), "-o", &trace, "--seconds", "6"]);
    std::thread::sleep(Duration::from_millis(2_000));
    drop(instrument);
    std::thread::sleep(Duration::from_millis(500));
    let instrument = Plugged::at(&name);
    let output = child.wait_with_output().expect("it ends");
    drop(instrument);
    let text = said(&output);
    assert!(output.status.success() && text.contains("1 interruption"), "{text}");
    let recorded = std::fs::read_to_string(&trace).expect("it is there");
    assert_eq!(recorded.matches("# the port was gone for about").count(), 1);
    assert_eq!(recorded.matches("time_us,").count(), 1, "one header");
    let (before, after) = recorded.split_once("# the port was gone").expect("it is there");
    assert!(logged_mps(before).len() > 100 && logged_mps(after).len() > 100);
    let fields: Vec<usize> = recorded
        .lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| line.split(',').count())
        .collect();
    assert!(fields.iter().all(|count| *count == 6), "every row is whole");
}

#[test]
fn settings_go_out_and_in_and_are_saved() {
    let folder = folder();
    let instrument = Plugged::at(&folder.path().join("port"));
    let port = instrument.port();
    let shown = run(&["device", port, "settings", "show"]);
    let table: toml::Table = shown.parse().expect("it is a settings file");
    assert_eq!(table["device"]["log_hz"].as_integer(), Some(0));
    let file = write(&folder, "my.toml", shown.replace("response_s = 1", "response_s = 0.6"));
    assert!(
        run(&["device", port, "settings", "load", &file]).contains("settings save` keeps them")
    );
    assert_eq!(
        run(&["device", port, "settings", "show"]),
        std::fs::read_to_string(&file).expect("it is there")
    );
    let mine = "response_s = 0.8\n[polar]\nballast_kg = 50\n[device]\nlog_hz = 2\n\
                [tone]\nsink = [{ sink_mps = -2, pitch_hz = 300 }]\n";
    run(&["device", port, "settings", "load", &write(&folder, "mine.toml", mine)]);
    assert!(instrument.saved.lock().expect("nobody panicked").is_none());
    assert_eq!(run(&["device", port, "settings", "save"]), "saved\n");
    let saved = instrument.saved.lock().expect("nobody panicked").clone().expect("it is saved");
    assert_eq!((saved.filter.response_s, saved.device.log_hz), (0.8, 2));
    assert_eq!(saved.polar.map(|polar| polar.mass_kg()), Some(410.0));
    assert_eq!(saved.tone.sink.len(), 1);
}

#[test]
fn what_was_shown_serves_the_bench_as_well() {
    let folder = folder();
    let instrument = Plugged::at(&folder.path().join("port"));
    let file =
        write(&folder, "shown.toml", run(&["device", instrument.port(), "settings", "show"]));
    let trace =
        write(&folder, "trace.csv", crate::support::trace_of(50.0, 20.0, |time| 500.0 + time));
    run(&["replay", &trace, "--settings", &file]);
}

#[test]
fn settings_that_cannot_be_used_change_nothing() {
    let folder = folder();
    let instrument = Plugged::at(&folder.path().join("port"));
    let port = instrument.port();
    let before = run(&["device", port, "settings", "show"]);
    let wrong = write(&folder, "wrong.toml", "response_s = 99\n");
    assert!(
        complaint(&["device", port, "settings", "load", &wrong], 2)
            .contains("wrong.toml:1: response_s is 99")
    );
    let wrong = write(&folder, "wrong.toml", "response_s = 0.5\n[device]\nlog_hz = 99\n");
    let said = complaint(&["device", port, "settings", "load", &wrong], 2);
    assert!(said.ends_with("wrong.toml:3: device.log_hz is 99, expected 0 to 50"), "{said}");
    let wrong = write(&folder, "wrong.toml", "[device]\ncolour = 9\n");
    let said = complaint(&["device", port, "settings", "load", &wrong], 2);
    assert!(said.contains("wrong.toml:2: there is no setting device.colour"), "{said}");
    assert_eq!(run(&["device", port, "settings", "show"]), before);
}

#[test]
fn the_self_test_waits_for_its_figures_and_fails_where_the_instrument_does() {
    let folder = folder();
    let instrument = Plugged::at(&folder.path().join("port"));
    let report = run(&["device", instrument.port(), "selftest"]);
    assert!(report.contains("static: ms5611 at 0x77, 50.00 samples/s"), "{report}");
    assert!(report.ends_with("result: passed\n"), "{report}");
    *instrument.trouble.lock().expect("nobody panicked") = Trouble::Gone;
    std::thread::sleep(Duration::from_millis(200));
    let said = complaint(&["device", instrument.port(), "selftest"], 1);
    assert!(said.ends_with("the self-test failed: no static pressure"), "{said}");
}

#[test]
fn the_instrument_says_of_its_inertial_sensor_that_it_has_none() {
    let folder = folder();
    let instrument = Plugged::at(&folder.path().join("port"));
    let said = run(&["device", instrument.port(), "inertial"]);
    assert!(said.starts_with("no sensor found\nmounting: "), "{said}");
    assert!(said.ends_with("satellites: no receiver found\n"), "{said}");
}

#[test]
fn a_port_that_is_not_there_or_says_nothing_is_told_in_one_line() {
    let folder = folder();
    let missing = path(&folder, "nowhere");
    let said = complaint(&["record", &missing, "-o", &path(&folder, "trace.csv")], 1);
    assert!(said.contains("there is no such port; "), "{said}");
    let said = complaint(&["device", "/dev/null", "selftest"], 1);
    assert!(said.contains("cannot open /dev/null: it is not a serial port; "), "{said}");
    let silent = folder.path().join("silent");
    let _terminal = Terminal::at(&silent);
    let said = complaint(&["device", silent.to_str().expect("it is text"), "selftest"], 1);
    assert!(
        said.contains("nothing answered") && said.contains("is a Chirrup instrument there?"),
        "{said}"
    );
    assert!(!Path::new(&path(&folder, "trace.csv")).exists());
}

#[test]
fn a_fetched_flight_is_the_live_log_byte_for_byte_and_replays() {
    let folder = folder();
    let instrument = Plugged::at(&folder.path().join("port"));
    let device = ["device", instrument.port()];
    let (live, fetched) = (path(&folder, "live.csv"), path(&folder, "fetched.csv"));
    assert!(run(&[&device[..], &["clock"]].concat()).starts_with("set to 20"));
    let utc = run(&[&device[..], &["clock", "--show"]].concat());
    assert!(utc.starts_with("20") && utc.trim_end().ends_with('Z'), "{utc}");
    // The climb that it is in already is a flight of its own.
    for (from, is_logged) in [("off", false), ("power", true), ("off", false)] {
        let settings = write(&folder, "record.toml", format!("device.record = \"{from}\"\n"));
        run(&[&device[..], &["settings", "load", &settings]].concat());
        if is_logged {
            run(&["record", instrument.port(), "-o", &live, "--seconds", "2"]);
        }
    }
    let list: serde_json::Value =
        serde_json::from_str(&run(&[&device[..], &["flights", "--json"]].concat()))
            .expect("it is JSON");
    let flights = list.as_array().expect("it is a list");
    let last = flights.last().expect("there is one");
    // It climbs from the first sample on.
    assert_eq!(last["state"], "ended, begun in the air", "{list}");
    assert!(last["utc"].as_str().is_some_and(|utc| utc.starts_with("20")), "{list}");
    let number = last["flight"].to_string();
    let said = run(&[&device[..], &["fetch", &number, "-o", &fetched]].concat());
    assert!(said.contains(" rows, in ") && said.contains("fetched.csv"), "{said}");
    let [live, fetched_text] =
        [&live, &fetched].map(|file| std::fs::read_to_string(file).expect("it is there"));
    let rows = |text: &str| -> Vec<String> {
        let is_row = |line: &&str| line.starts_with(|first: char| first.is_ascii_digit());
        text.lines().filter(is_row).map(str::to_owned).collect()
    };
    // Rows that the port was too slow for are counted in the log, and only there.
    let alike = |row: &String| row.rsplit_once(',').map(|(row, _)| row.to_owned());
    let live: Vec<_> = rows(&live).iter().filter_map(alike).collect();
    let kept: Vec<_> = rows(&fetched_text).iter().filter_map(alike).collect();
    assert!(live.len() > 500, "{}", live.len());
    let mut rest = kept.iter();
    for row in &live {
        assert!(rest.any(|kept| kept == row), "not recorded, or out of order: {row}");
    }
    assert_eq!(last["rows"], kept.len());
    let summary: serde_json::Value =
        serde_json::from_str(&run(&["replay", &fetched, "--json"])).expect("it is JSON");
    assert_eq!(summary["lines_skipped"].as_array().map(Vec::len), Some(0), "{summary}");
    // What does not exist leaves no file.
    let none = path(&folder, "none.csv");
    let why = complaint(&[&device[..], &["fetch", "77", "-o", &none]].concat(), 2);
    assert!(why.contains("there is no flight 77"), "{why}");
    assert!(!Path::new(&none).exists());
}
