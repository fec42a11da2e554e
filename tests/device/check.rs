//! `chirrup device PORT check` with an instrument whose lines are pressed, pulled and warmed while
//! the program asks for it.

use super::{Plugged, air, said, start};
use crate::support::{complaint, folder, pressure_pa};
use chirrup::device::check::sheets;
use chirrup_core::{DifferentialOutput, Micros, SecondBarometer, Settings};
use chirrup_firmware::slot::{Candidate, Sought};
use chirrup_sensors::fakes::{Air, Connected, FakeBus, FakeMs4525, FakeMs5611, FakeSdp3x, Trouble};
use chirrup_sensors::ms4525::Scale;
use chirrup_sensors::sdp3x::Model;
use std::io::{BufRead, BufReader, Read};
use std::process::Output;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};

/// Height of the bench, m.
const HEIGHT_M: f64 = 430.0;

/// A line under a pressure: nothing, the first one, the second, and what is left of it.
#[derive(Clone)]
struct Pressed {
    /// How often the program has asked for a pressure.
    asked: Arc<AtomicUsize>,
    began: Arc<Mutex<[Option<f64>; 4]>>,
    gauges_pa: [f64; 4],
    /// Share of the pressure that leaks in a second, and what warmth adds, Pa a second.
    leak_per_s: f64,
    warmth_pa_per_s: f64,
}

impl Pressed {
    fn new(first_pa: f64, leak_per_min: f64, warmth_pa_per_min: f64) -> Self {
        Self {
            asked: Arc::default(),
            began: Arc::default(),
            gauges_pa: [0.0, first_pa, 0.2 * first_pa, 0.0],
            leak_per_s: leak_per_min / 60.0,
            warmth_pa_per_s: warmth_pa_per_min / 60.0,
        }
    }

    fn gauge_pa(&self, time: Micros) -> f64 {
        let asked = self.asked.load(Ordering::Relaxed).min(3);
        if asked == 0 {
            return 0.0;
        }
        let now_s = time.0 as f64 * 1e-6;
        let began = &mut self.began.lock().expect("nobody panicked")[asked];
        let since_s = now_s - *began.get_or_insert(now_s);
        let [before, after] = [self.gauges_pa[asked - 1], self.gauges_pa[asked]];
        let moved = (since_s / 10.0).min(1.0);
        let held_s = (since_s - 10.0).max(0.0);
        let set = before + moved * (after - before);
        set * (-self.leak_per_s * held_s).exp() + self.warmth_pa_per_s * held_s
    }
}

/// A bench whose pitot or static line is pressed.
struct Bench {
    pitot: Option<Pressed>,
    fixed: Option<Pressed>,
    zero_pa: f64,
}

impl Air for Bench {
    fn static_64ths_pa(&self, time: Micros) -> i32 {
        let noise = air(time) - air(Micros(0));
        let climbed = (pressure_pa(800.0 + 2.0 * time.0 as f64 * 1e-6) - pressure_pa(800.0)) * 64.0;
        let gauge_pa = self.fixed.as_ref().map_or(0.0, |line| line.gauge_pa(time));
        let still = (pressure_pa(HEIGHT_M) + gauge_pa) * 64.0;
        (still + f64::from(noise) - climbed) as i32
    }

    fn second_64ths_pa(&self, time: Micros) -> i32 {
        let noise = air(Micros(time.0 + 7_919)) - air(time);
        (pressure_pa(HEIGHT_M) * 64.0) as i32 + noise
    }

    fn dynamic_64ths_pa(&self, time: Micros) -> i32 {
        let gauge_pa = self.pitot.as_ref().map_or(0.0, |line| line.gauge_pa(time));
        ((self.zero_pa + gauge_pa) * 64.0) as i32
    }
}

/// A bus with an airspeed sensor.
fn bus(bench: Bench) -> FakeBus<Bench> {
    FakeBus { ms4525: Some(FakeMs4525::default()), ..FakeBus::new(bench) }
}

/// Runs the check and moves the pressure each time the program asks for one.
fn led(port: &str, args: &[&str], asked: &AtomicUsize) -> (Output, String) {
    let mut child = start(&[&["device", port, "check"], args].concat());
    let stderr = child.stderr.take().expect("it is piped");
    let mut told = String::new();
    for line in BufReader::new(stderr).lines() {
        let line = line.expect("it is text");
        if [" line, up to ", "let go slowly"].iter().any(|words| line.contains(words)) {
            asked.fetch_add(1, Ordering::Relaxed);
        }
        if line.contains("Let it go slowly") {
            asked.store(3, Ordering::Relaxed);
        }
        told += &(line + "\n");
    }
    let mut out = String::new();
    child.stdout.take().expect("it is piped").read_to_string(&mut out).expect("it is text");
    let output = child.wait_with_output().expect("it ends");
    (Output { stdout: out.into_bytes(), ..output }, told)
}

#[test]
fn at_rest_it_judges_noise_static_pressure_and_zero_and_says_what_to_do() {
    let folder = folder();
    let bench = Bench { pitot: None, fixed: None, zero_pa: 12.0 };
    let instrument = Plugged::with(&folder.path().join("port"), bus(bench), Settings::default());
    let args = ["device", instrument.port(), "check", "--qnh", "1013.25", "--elevation", "430"];
    let output = start(&args).wait_with_output().expect("it ends");
    let text = said(&output);
    assert_eq!(output.status.code(), Some(1), "{text}");
    for part in [
        "passed   self-test: passed\n",
        "passed   noise of the static sensor: ",
        "should be: at most 1.80 Pa rms; typical of the MS5611: 1.20",
        "passed   static pressure against QNH and elevation: ",
        "FAILED   pitot zero: +1",
        "do: at rest and out of the wind, `zero` and then `save` on its console",
        ": failed: pitot zero",
    ] {
        assert!(text.contains(part), "no `{part}` in {text}");
    }
    assert_eq!(text.matches("do: ").count(), 1, "advice only where it is needed: {text}");
    let noise = text.split("static sensor: ").nth(1).and_then(|rest| rest.split(' ').next());
    let noise_pa: f64 = noise.and_then(|noise| noise.parse().ok()).expect("a number");
    assert!((0.8..1.2).contains(&noise_pa), "the air's noise is 1 Pa, {noise_pa}");
    // 10 hPa of QNH are 83 m.
    let args = [&args[..4], &["1023.25", "--elevation", "430", "--json"]].concat();
    let output = start(&args).wait_with_output().expect("it ends");
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).expect("it is JSON");
    let found = json.as_array().expect("it is a list").iter();
    let mut found = found.filter(|one| one["what"].as_str().expect("it is text").contains("QNH"));
    let found = found.next().expect("it is there");
    assert_eq!(found["verdict"], "failed");
    let off_pa = found["value"]["value"].as_f64().expect("it is a number");
    // By the ICAO's formula, in which a QNH is a height: 10 hPa at sea level, less higher up.
    assert!((off_pa + 954.0).abs() < 8.0, "{found}");
}

#[test]
fn a_pitot_line_that_leaks_too_much_fails_and_a_tight_one_passes() {
    for (leak_per_min, passes) in [(0.4, false), (0.02, true)] {
        let folder = folder();
        let line = Pressed::new(3_500.0, leak_per_min, 0.0);
        let asked = Arc::clone(&line.asked);
        let bench = Bench { pitot: Some(line), fixed: None, zero_pa: 0.0 };
        let instrument =
            Plugged::with(&folder.path().join("port"), bus(bench), Settings::default());
        let (output, told) = led(instrument.port(), &["--leak=pitot"], &asked);
        let text = said(&output);
        assert!(told.contains("Never with the mouth") && told.contains("licensed"), "{told}");
        assert!(told.contains("test the syringe and hose\n  alone first"), "{told}");
        assert!(told.contains(" line, up to 3711 Pa\n  (280 km/h on an airspeed"), "{told}");
        assert!(told.contains("then open every port and drain hole"), "{told}");
        assert_eq!(output.status.success(), passes, "{text}{told}");
        let verdict = if passes { "passed " } else { "FAILED " };
        assert!(text.contains(&format!("{verdict}  leak of the pitot line: ")), "{text}");
    }
}

#[test]
fn a_static_line_that_warms_a_little_passes_after_a_second_pressure_and_much_is_unclear() {
    // Suction of 3300 Pa that falls since the air warms, by a third of a degree or by 1.4.
    for (warmth_pa_per_min, passes) in [(110.0, true), (450.0, false)] {
        let (output, told) = warmed(warmth_pa_per_min);
        let text = said(&output);
        assert!(told.contains("tells a leak from warmth"), "{told}{text}");
        assert_eq!(output.status.success(), passes, "{text}{told}");
        let verdict = if passes { "passed " } else { "unclear" };
        assert!(text.contains(&format!("{verdict}  leak of the static line: ")), "{text}");
        assert_eq!(text.contains("; warmth +1"), passes, "{text}");
        assert!(text.contains("passed   probe less static, at rest: "), "{text}");
    }
}

/// The check of a static line whose air warms.
fn warmed(warmth_pa_per_min: f64) -> (Output, String) {
    let folder = folder();
    let line = Pressed::new(-3_300.0, 0.0, warmth_pa_per_min);
    let asked = Arc::clone(&line.asked);
    let bench = Bench { pitot: None, fixed: Some(line), zero_pa: 0.0 };
    let settings = {
        let mut settings = Settings::default();
        settings.device.second_barometer = SecondBarometer::Probe;
        settings
    };
    let mut bus = bus(bench);
    bus.ms5611[1] = Some(FakeMs5611::new(0x76, Connected::Second));
    let instrument = Plugged::with(&folder.path().join("port"), bus, settings);
    led(instrument.port(), &["--leak=static", "--wait", "30"], &asked)
}

#[test]
fn without_a_pressure_or_a_sensor_it_ends_by_itself_and_says_why() {
    let folder = folder();
    let still = FakeBus::new(Bench { pitot: None, fixed: None, zero_pa: 0.0 });
    let instrument = Plugged::with(&folder.path().join("port"), still, Settings::default());
    let args = ["device", instrument.port(), "check", "--leak", "--wait", "10"];
    let output = start(&args).wait_with_output().expect("it ends");
    let text = said(&output);
    assert!(text.contains("unclear  leak of the static line: no steady pressure within 10 s"));
    assert!(text.contains("or the line is open: drain hole, other port, tape\n"), "{text}");
    assert!(!text.contains("pitot line"), "there is no airspeed sensor: {text}");
    assert_eq!(output.status.code(), Some(1), "{text}");
    assert!(text.contains(" passed, 1 unclear: the static line was not tested\n"), "{text}");
    assert!(text.ends_with(": unclear: leak of the static line\n"), "{text}");
    let said = said(&start(&[&args[..3], &["--leak=probe"]].concat()).wait_with_output().unwrap());
    assert!(said.ends_with("there is no sensor on a probe line; nothing to test\n"), "{said}");
    assert!(!said.contains("At rest"), "it is said at once: {said}");
    *instrument.trouble.lock().expect("nobody panicked") = Trouble::Gone;
    std::thread::sleep(std::time::Duration::from_millis(200));
    let said = complaint(&["device", instrument.port(), "check"], 1);
    assert!(said.ends_with("failed: self-test"), "{said}");
}

#[test]
fn a_pressure_the_wrong_way_round_is_warned_of_at_once() {
    let folder = folder();
    let line = Pressed::new(-2_000.0, 0.0, 0.0);
    let asked = Arc::clone(&line.asked);
    let bench = Bench { pitot: Some(line), fixed: None, zero_pa: 0.0 };
    let instrument = Plugged::with(&folder.path().join("port"), bus(bench), Settings::default());
    let (output, told) = led(instrument.port(), &["--leak=pitot", "--wait", "20"], &asked);
    let words = "Pa: drives the airspeed indicator backward; let it go slowly";
    assert!(told.matches(words).count() >= 4, "at once and every five seconds: {told}");
    assert_eq!(told.matches("let some go").count(), 0, "{told}");
    assert!(said(&output).contains("unclear  leak of the pitot line: no steady pressure"));
}

#[test]
fn suction_on_the_pitot_is_warned_of_while_static_is_tested() {
    let folder = folder();
    let line = Pressed::new(-3_300.0, 0.0, 0.0);
    let asked = Arc::clone(&line.asked);
    let bench = Bench { pitot: Some(line), fixed: None, zero_pa: 0.0 };
    let instrument = Plugged::with(&folder.path().join("port"), bus(bench), Settings::default());
    let (_, told) = led(instrument.port(), &["--leak=static", "--wait", "20"], &asked);
    let warnings = told.matches("Pa: drives the airspeed indicator backward").count();
    assert!(warnings >= 4, "at once and every five seconds: {told}");
}

#[test]
fn a_second_pressure_that_stands_beside_the_range_is_told_which_way_to_go() {
    for (share, words) in [(0.5, "Pa: let go a little more\n"), (0.05, "Pa: too low; put a ")] {
        let folder = folder();
        let mut line = Pressed::new(3_500.0, 0.0, 0.0);
        line.gauges_pa[2] = share * 3_500.0;
        let asked = Arc::clone(&line.asked);
        let bench = Bench { pitot: Some(line), fixed: None, zero_pa: 0.0 };
        let port = folder.path().join("port");
        let instrument = Plugged::with(&port, bus(bench), Settings::default());
        let (output, told) = led(instrument.port(), &["--leak=pitot", "--wait", "20"], &asked);
        assert!(told.contains("to about 700 Pa (between 350 and 1050 Pa),\n"), "{told}");
        assert!(told.contains(words), "{told}");
        assert!(said(&output).contains("unclear  leak of the pitot line"), "{told}");
    }
}

#[test]
fn the_next_line_is_tested_only_when_the_last_is_let_go() {
    for (left_pa, is_tested) in [(0.0, true), (-2_000.0, false)] {
        let folder = folder();
        let mut line = Pressed::new(-2_000.0, 0.0, 0.0);
        line.gauges_pa[3] = left_pa;
        let asked = Arc::clone(&line.asked);
        let bench = Bench { pitot: Some(line), fixed: None, zero_pa: 0.0 };
        let port = folder.path().join("port");
        let instrument = Plugged::with(&port, bus(bench), Settings::default());
        let (output, told) = led(instrument.port(), &["--leak", "--wait", "20"], &asked);
        let text = said(&output);
        assert_eq!(output.status.code(), Some(1), "{text}");
        assert!(told.contains("  Let it go slowly, over a minute, and open the line\n"), "{told}");
        assert_eq!(told.contains("put suction on the static line"), is_tested, "{told}{text}");
        let waits = "waiting until every line is within 100 Pa of rest, up to 20 s\n";
        assert!(told.contains(waits), "{told}");
        let gives_up = "  static is not tested: the pressure of the test before is still on a line";
        assert_eq!(told.contains(gives_up), !is_tested, "{told}");
        let why = "static line: not tested: the pressure of the test before is still on a line: \
                   the pitot line is -";
        assert_eq!(text.contains(why), !is_tested, "{text}");
        let names = "  the pitot line is -";
        assert_eq!(told.contains(names), !is_tested, "off a terminal as well: {told}");
        let last = "  NOT at rest: the pitot line is -";
        assert_eq!(told.contains(last), !is_tested, "after the last line as well: {told}");
    }
}

#[test]
fn suction_on_static_with_a_pressure_on_the_pitot_is_warned_of() {
    let folder = folder();
    let fixed = Pressed::new(-1_500.0, 0.0, 0.0);
    let asked = Arc::clone(&fixed.asked);
    let pitot = Pressed { asked: Arc::clone(&asked), ..Pressed::new(5_000.0, 0.0, 0.0) };
    let bench = Bench { pitot: Some(pitot), fixed: Some(fixed), zero_pa: 0.0 };
    let instrument = Plugged::with(&folder.path().join("port"), bus(bench), Settings::default());
    let (_, told) = led(instrument.port(), &["--leak=static", "--wait", "20"], &asked);
    let count = told.matches("too much between pitot and static").count();
    assert!(count >= 10, "every five seconds of 80: {told}");
}

#[test]
fn lines_on_a_sensor_that_lets_air_through_are_not_tested() {
    let folder = folder();
    let sdp3x = Some(FakeSdp3x::new(0x21));
    let bus = FakeBus { sdp3x, ..FakeBus::new(Bench { pitot: None, fixed: None, zero_pa: 0.0 }) };
    let instrument = Plugged::with(&folder.path().join("port"), bus, Settings::default());
    let output = start(&["device", instrument.port(), "check", "--leak"]).wait_with_output();
    let text = said(&output.expect("it ends"));
    assert_eq!(text.matches("not tested: air flows through the SDP31").count(), 2, "{text}");
}

#[test]
fn ctrl_c_ends_a_check_that_waits_for_a_pressure() {
    let folder = folder();
    let instrument = Plugged::at(&folder.path().join("port"));
    let mut child = start(&["device", instrument.port(), "check", "--leak"]);
    let mut lines = BufReader::new(child.stderr.take().expect("it is piped")).lines();
    let asks = |line: &Result<String, std::io::Error>| {
        line.as_ref().expect("it is text").contains(" line, up to ")
    };
    assert!(lines.by_ref().any(|line| asks(&line)), "it asks for a pressure");
    let process = rustix::process::Pid::from_child(&child);
    rustix::process::kill_process(process, rustix::process::Signal::INT).expect("it runs");
    let told: Vec<String> = lines.map_while(Result::ok).collect();
    let opens = |line: &String| {
        line.starts_with("Let every pressure go slowly first; then open every port")
    };
    assert!(told.iter().any(opens), "{told:?}");
    let output = child.wait_with_output().expect("it ends");
    assert_eq!(output.status.code(), Some(130));
    let text = said(&output);
    for part in [
        "passed   self-test: passed\n",
        "unclear  leak of the static line: not tested: stopped\n",
        "1 unclear: the static line was not tested\n",
    ] {
        assert!(text.contains(part), "no `{part}` in {text}");
    }
}

#[test]
fn every_pressure_sensor_that_the_instrument_knows_has_its_data_sheet_here() {
    let scale = Scale::new(6_895.0, DifferentialOutput::A);
    let barometers = [Candidate::Ms5611, Candidate::Bmp390, Candidate::Bmp581, Candidate::Dps310];
    let drivers = barometers.map(|of| of(0x76)).into_iter().chain([Candidate::Ms4525(scale)]);
    let names = drivers.map(|candidate| Candidate::driver(&candidate.device()).name());
    // What these call themselves once they have answered.
    let models = [Model::Sdp31, Model::Sdp32, Model::Sdp33].map(Model::name);
    for name in names.chain(models).chain(["bmp585"]) {
        assert!(sheets::of(name).is_some(), "no sheet of {name}");
    }
}
