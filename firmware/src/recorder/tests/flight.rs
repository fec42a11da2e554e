//! The whole instrument on fake sensors, with its recorder: what is recorded is the live log byte
//! for byte, and after any power cut it is there up to the cut.

use super::flash::rand_core::Next;
use super::flash::{Flash, SECTOR};
use crate::gnss::pvt::Velocity;
use crate::instrument::{Boot, Instrument, Port, ResetCause};
use crate::log::HEADER;
use crate::recorder::keeper::Keeper;
use crate::store::{Loaded, Origin};
use chirrup_core::{
    Metre, Micros, Pascal, PipelineState, RecordFrom, Sample, Settings, pressure_at,
};
use chirrup_sensors::bus::BusStep;
use chirrup_sensors::fakes::{FakeBus, FakeImu, FakeImuKind};
use embassy_futures::block_on;
use std::string::String;
use std::vec::Vec;

const SECTORS: usize = 24;
/// Time of a transaction.
const TRANSACTION_US: i64 = 150;
/// The recorder's turn comes more rarely than the console's: several lines may be read before it.
const ANSWERS_US: i64 = 20_000;

/// The glider takes off so long after power comes.
const TAKE_OFF_S: f64 = 40.0;

/// On the ground, then up at 3 m/s, with noise.
fn air(time: Micros) -> i32 {
    let seconds = time.0 as f64 / 1.0e6;
    let height = 500.0 + 3.0 * (seconds - TAKE_OFF_S).max(0.0);
    let noise = 1.2 * 64.0 * Next(time.0 as u64 | 1).normal();
    (pressure_at(Metre(height as f32)).0 * 64.0) as i32 + noise as i32
}

pub struct Bench {
    pub instrument: Instrument,
    pub bus: FakeBus<fn(Micros) -> i32>,
    pub keeper: Keeper<Flash>,
    pub now: i64,
    bus_due: i64,
    pub text: String,
    /// What the UART sent.
    pub uart: String,
    /// Waits that a page could have been written in, and the shortest before a page was.
    written: usize,
    /// Whether somebody takes what USB has.
    pub is_usb_read: bool,
    /// Whether the bus leaves no time for flash.
    pub is_busy: bool,
}

impl Bench {
    pub fn start(flash: Flash, record: RecordFrom) -> Self {
        let mut settings = Settings::default();
        settings.device.record = record;
        settings.device.log_hz = 50;
        let loaded = Loaded { settings, origin: Origin::Flash };
        let boot =
            Boot { board: "bench", now: Micros(0), loaded, reset: ResetCause::Power, panic: None };
        let range = 0..(SECTOR * SECTORS) as u32;
        let mut bench = Self {
            instrument: Instrument::new(boot).unwrap(),
            bus: FakeBus::new(air as fn(Micros) -> i32),
            keeper: block_on(Keeper::open(flash, range, ResetCause::Power, || Micros(0))),
            now: 0,
            bus_due: 0,
            text: String::new(),
            uart: String::new(),
            written: 0,
            is_usb_read: true,
            is_busy: false,
        };
        bench.instrument.connected(Port::Usb);
        bench
    }

    pub fn run(&mut self, seconds: f64) {
        let end = self.now + (seconds * 1.0e6) as i64;
        while self.now < end && self.keeper.flash().power > 0 {
            while self.bus_due < self.now + 2_000 {
                let now = Micros(self.bus_due);
                match self.instrument.bus_step(now) {
                    BusStep::Wait(until) => {
                        let before = self.keeper.flash().power;
                        let free = if self.is_busy { now } else { until };
                        block_on(self.keeper.serve(&mut self.instrument, now, free));
                        let used = before - self.keeper.flash().power;
                        self.written += usize::from(used > 0);
                        assert!(used <= 256 && (used == 0 || until.0 - now.0 >= 3_500));
                        self.bus_due = until.0.min(self.now + 2_000).max(self.bus_due + 1);
                    }
                    BusStep::Transact(transaction) => {
                        let answer = self.bus.run(now, &transaction);
                        self.bus_due += TRANSACTION_US;
                        self.instrument.bus_done(Micros(self.bus_due), answer);
                    }
                    BusStep::Recover => self.instrument.bus_recovered(now, true),
                }
            }
            self.instrument.tick(Micros(self.now));
            self.now += 2_000;
            if self.now % ANSWERS_US == 0 {
                (0..10).for_each(|_| {
                    block_on(self.keeper.answer(&mut self.instrument));
                });
            }
            let mut buffer = [0; 512];
            if self.is_usb_read {
                let length = self.instrument.transmit(Port::Usb, &mut buffer);
                self.text.push_str(core::str::from_utf8(&buffer[..length]).unwrap());
            }
            let length = self.instrument.transmit(Port::Uart, &mut buffer);
            self.uart.push_str(core::str::from_utf8(&buffer[..length]).unwrap());
        }
    }

    /// What is answered.
    pub fn ask(&mut self, line: &str) -> String {
        self.instrument.receive(Port::Usb, b"log off\n");
        self.run(0.1);
        self.text.clear();
        self.instrument.receive(Port::Usb, line.as_bytes());
        self.instrument.receive(Port::Usb, b"\r\n");
        while !self.text.lines().any(|line| line == "# ok" || line.starts_with("# error")) {
            self.run(0.1);
        }
        self.text.clone()
    }
}

pub fn rows(text: &str) -> Vec<String> {
    let is_row = |line: &&str| line.starts_with(|first: char| first.is_ascii_digit());
    text.lines().filter(is_row).map(String::from).collect()
}

/// Two minutes of recording from the power on: the bench, the rows of its live log, and what is
/// fetched, which ends with the row with which the setting changed.
fn two_minutes(from: RecordFrom) -> (Bench, Vec<String>, String) {
    let mut bench = Bench::start(Flash::new(SECTORS, 3), from);
    bench.run(120.0);
    let live = rows(&bench.text);
    bench.ask("device.record = off");
    let fetched = bench.ask("fetch 1");
    (bench, live, fetched)
}

#[test]
fn a_recorded_flight_is_the_live_log_byte_for_byte() {
    let (mut bench, live, fetched) = two_minutes(RecordFrom::Power);
    assert!(fetched.starts_with(&std::format!("{HEADER}\n{}\n", live[0])), "{fetched}");
    let fetched = rows(&fetched);
    assert_eq!(&fetched[..live.len()], live);
    assert!(live.len() > 5_900 && fetched.len() - live.len() < 20, "{}", fetched.len());
    assert!(bench.written > 40);
    let flights = bench.ask("flights");
    assert!(flights.contains("\n# 1,,0.0,120.") && flights.contains(",ended\n"), "{flights}");
}

#[test]
fn a_flight_begins_before_its_launch_and_has_utc_that_was_set() {
    let mut bench = Bench::start(Flash::new(SECTORS, 3), RecordFrom::Launch);
    bench.run(1.0);
    assert!(bench.ask("clock").contains("error: UTC is not known"));
    bench.ask("clock 2026-05-01T10:20:30Z");
    assert!(bench.ask("clock").contains("2026-05-01T10:20:3"));
    bench.run(TAKE_OFF_S - 4.0);
    assert!(!bench.ask("flights").contains("running"));
    bench.run(20.0);
    let flights = bench.ask("flights");
    assert!(
        flights.contains("\n# 1,2026-05-01T10:20:") && flights.contains(",running\n"),
        "{flights}"
    );
    let fetched = bench.ask("fetch 1");
    assert!(fetched.starts_with("# time_us 0 is 2026-05-01T10:20:2"), "{fetched}");
    let first: i64 = rows(&fetched)[0].split(',').next().unwrap().parse().unwrap();
    assert!(first < 2_000_000, "{first}: the take-off is at 40 s");
    assert!(bench.ask("fetch 2").contains("error: no such flight"));
}

#[test]
fn the_next_command_ends_a_flight_that_is_being_sent() {
    let mut bench = Bench::start(Flash::new(SECTORS, 3), RecordFrom::Power);
    bench.run(60.0);
    bench.ask("device.record = off");
    bench.text.clear();
    bench.instrument.receive(Port::Usb, b"fetch 1\n");
    bench.run(0.02);
    bench.instrument.receive(Port::Usb, b"version\n");
    bench.run(0.5);
    let (sent, rest) = bench.text.split_once("# error: ended").expect("it says so");
    assert!((1..2_000).contains(&rows(sent).len()));
    assert!(rows(rest).is_empty() && rest.contains("# chirrup ") && rest.ends_with("# ok\n"));
}

/// A line is typed at a port.
fn type_at(bench: &mut Bench, port: Port, line: &str) {
    bench.instrument.receive(port, line.as_bytes());
    bench.instrument.receive(port, b"\n");
}

#[test]
fn a_request_that_ends_another_gets_its_own_answer() {
    let mut bench = Bench::start(Flash::new(SECTORS, 3), RecordFrom::Power);
    bench.run(60.0);
    bench.ask("device.record = off");
    let whole = bench.ask("fetch 1");
    for line in ["flights", "fetch 999", "fetch 1"] {
        let alone = bench.ask(line);
        type_at(&mut bench, Port::Usb, "fetch 1");
        bench.run(0.05);
        type_at(&mut bench, Port::Usb, line);
        bench.run(20.0);
        let (before, answer) =
            bench.text.split_once("# error: ended by the next command\n").unwrap();
        let sent = rows(before.rsplit_once("# ok\n").unwrap_or(("", before)).1).len();
        assert!((1..rows(&whole).len()).contains(&sent), "{line}: {sent} rows before");
        assert_eq!(answer, alone, "{line}");
    }
}

#[test]
fn of_two_ports_the_one_that_asked_first_is_answered_to_its_end() {
    for ports in [[Port::Uart, Port::Usb], [Port::Usb, Port::Uart]] {
        let mut bench = Bench::start(Flash::new(SECTORS, 3), RecordFrom::Power);
        bench.instrument.connected(Port::Uart);
        bench.run(60.0);
        type_at(&mut bench, Port::Uart, "log off");
        bench.ask("device.record = off");
        let whole = rows(&bench.ask("fetch 1"));
        bench.text.clear();
        bench.uart.clear();
        type_at(&mut bench, ports[0], "fetch 1");
        bench.run(0.05);
        type_at(&mut bench, ports[1], "fetch 1");
        bench.run(40.0);
        for text in [&bench.text, &bench.uart] {
            assert!(rows(text) == whole && text.ends_with("# ok\n"), "{}", rows(text).len());
        }
    }
}

fn time_of(row: &str) -> &str {
    row.split(',').next().unwrap()
}

/// The vertical speeds that the core works out of the static pressures of a log's rows, in mm/s.
fn speeds(rows: &[String]) -> Vec<String> {
    let pipeline = Settings::default().build().unwrap();
    let mut state = PipelineState::default();
    let of_row = |row: &String| {
        let fields: Vec<&str> = row.split(',').collect();
        let time = Micros(fields[0].parse().unwrap());
        let pressure = Pascal(fields[1].parse::<f64>().unwrap() as f32);
        let reading = pipeline.step(&mut state, &Sample::of_static(time, pressure));
        let mmps = reading.values.map(|values| (values.sounded().0 * 1_000.0).round());
        mmps.map_or(String::new(), |mmps| std::format!("{}", mmps as i32))
    };
    rows.iter().map(of_row).collect()
}

#[test]
fn the_vertical_speed_that_is_not_recorded_is_worked_out_again_to_the_bit() {
    let (_, live, fetched) = two_minutes(RecordFrom::PowerInputs);
    let fetched = &rows(&fetched)[..live.len()];
    assert!(fetched.iter().all(|row| row.split(',').nth(4) == Some("")));
    assert_eq!(time_of(&live[0]), time_of(&fetched[0]));
    let sounded: Vec<&str> = live.iter().filter_map(|row| row.split(',').nth(4)).collect();
    assert_eq!(speeds(fetched), sounded);
    // A recording from launch on would begin in the middle, where the filter knows the air.
    assert_ne!(speeds(&fetched[500..]), sounded[500..], "or launch could do without it too");
}

#[test]
fn a_port_that_nobody_reads_any_more_gives_way_to_the_other() {
    let mut bench = Bench::start(Flash::new(SECTORS, 3), RecordFrom::Power);
    bench.instrument.connected(Port::Uart);
    bench.run(60.0);
    type_at(&mut bench, Port::Uart, "log off");
    bench.ask("device.record = off");
    let whole = rows(&bench.ask("fetch 1"));
    bench.run(1.0);
    bench.uart.clear();
    type_at(&mut bench, Port::Usb, "fetch 1");
    bench.run(0.1);
    bench.is_usb_read = false;
    type_at(&mut bench, Port::Uart, "fetch 1");
    bench.run(2.0);
    assert!(rows(&bench.uart).is_empty(), "it may only be slow");
    bench.run(20.0);
    assert!(rows(&bench.uart) == whole && bench.uart.ends_with("# ok\n"), "{}", bench.uart);
    bench.is_usb_read = true;
    bench.run(1.0);
    assert!(bench.text.ends_with("# error: nobody read it, and the other port asked\n"));
}

/// The log's lines from a flight's first row on, behind the header that it has there.
fn log_of<'a>(live: &'a [&'a str], first: &str) -> Vec<&'a str> {
    let from = live.iter().position(|line| *line == first).expect("it is in the log");
    let header = live[..from].iter().rev().find(|line| line.starts_with("time_us"));
    header.into_iter().chain(&live[from..]).copied().collect()
}

#[test]
fn sensors_that_come_late_have_their_columns_where_the_live_log_has_them() {
    for (record, seconds, headers) in [(RecordFrom::Power, 20, 3), (RecordFrom::Launch, 50, 1)] {
        let mut bench = Bench::start(Flash::new(SECTORS, 3), record);
        bench.bus.imu = Some(FakeImu::new(FakeImuKind::Lsm6dso, 0x6A));
        for at in 0..seconds * 5 {
            let velocity = Velocity { north_mmps: 100 * at, east_mmps: -1_500, down_mmps: 250 };
            if at > 25 {
                let message = crate::gnss::tests::message(velocity);
                bench.instrument.satellites_say(Micros(bench.now), &message);
            }
            bench.run(0.2);
        }
        let text = core::mem::take(&mut bench.text);
        bench.ask("device.record = off");
        let fetched = bench.ask("fetch 1");
        let is_log = |line: &&str| !line.starts_with('#');
        let fetched: Vec<&str> = fetched.lines().filter(is_log).collect();
        let live: Vec<&str> = text.lines().filter(is_log).collect();
        let wanted = log_of(&live, fetched[1]);
        assert!(wanted.len() > 500 && fetched.len() >= wanted.len());
        assert_eq!(fetched[..wanted.len()], wanted);
        let found = fetched.iter().filter(|line| line.starts_with("time_us")).count();
        assert_eq!(found, headers, "{record:?}");
    }
}

#[test]
fn after_two_hundred_power_cuts_all_that_was_kept_is_there() {
    let (mut flash, mut chance) = (Flash::new(SECTORS, 9), Next(77));
    let mut lost = 0;
    for cut in 0..200 {
        flash.power = 256 + (chance.next() % 4_000) as usize;
        let mut bench = Bench::start(flash, RecordFrom::Power);
        bench.run(60.0);
        let live = rows(&bench.text);
        flash = bench.keeper.flash().clone();
        assert_eq!(flash.power, 0, "the power went");
        if live.is_empty() {
            continue;
        }
        flash.power = usize::MAX;
        let mut bench = Bench::start(flash, RecordFrom::Off);
        let flights = bench.ask("flights");
        let last = flights.lines().rev().nth(1).unwrap_or_default();
        let number = last.trim_start_matches("# ").split(',').next().unwrap_or_default();
        let fetched = rows(&bench.ask(&std::format!("fetch {number}")));
        // Behind the last page that was written: the page that the cut came in, the one that was
        // being filled, and rows that the port had not sent.
        assert!(live.starts_with(&fetched) || fetched.starts_with(&live), "cut {cut}, {flights}");
        let missing = live.len().saturating_sub(fetched.len());
        lost = lost.max(missing);
        flash = bench.keeper.flash().clone();
    }
    assert!((1..400).contains(&lost), "{lost} rows, of pages that have 100 to 130");
}
