//! What each fuzz target does with its bytes; `tests/corpus.rs` does the same with the corpus on a
//! stable compiler.
//!
//! A target must not panic, hang or grow; beyond that, each states what must be true of the result.

// Every target uses one of these.
#![allow(dead_code)]

use chirrup::ears::Ears;
use chirrup::replay::{Replay, Stretch};
use chirrup::settings_file;
use chirrup::trace::columns::ColumnMap;
use chirrup::trace::{self, Item};
use chirrup_core::{
    AverageSettings, EnergyChoice, FilterChoice, FilterSettings, Kelvin, Meaning, MetrePerSecond,
    Micros, Pascal, Pipeline, PipelineState, PolarSettings, Reading, ReadingSettings, Sample,
    Settings, Speed, Values, VerticalScale, Voice,
};
use chirrup_flight::plan::check;
use chirrup_flight::plan::flight::Flight;
use std::io::Cursor;

/// The name of a target and what it does.
pub type Target = (&'static str, fn(&[u8]));

/// Every target by its name.
pub const TARGETS: [Target; 12] = [
    ("pipeline", pipeline),
    ("csv", csv),
    ("igc", igc),
    ("open", open),
    ("times", times),
    ("numbers", numbers),
    ("header", header),
    ("gzip", gzip),
    ("utf16", utf16),
    ("settings", settings),
    ("words", words),
    ("scenario", scenario),
];

/// The most ticks between two samples: a second and a half, and three in the first interval, so
/// that a reading becomes stale.
const MOST_TICKS: i64 = 1_500;
/// The most ticks for one input, so that no input takes long.
const ALL_TICKS: i64 = 20_000;
/// Steps flown of a flight.
const FLOWN_TICKS: u32 = 300;
/// A beep lasts 40 ms at least, a gap 30 ms.
const SHORTEST_BEEP_TICKS: u32 = 20;
const SHORTEST_GAP_TICKS: u32 = 15;

/// Any samples at any times, under valid settings chosen by the bytes.
pub fn pipeline(bytes: &[u8]) {
    let mut bytes = Bytes(bytes);
    let Ok(pipeline) = settings_from(&mut bytes).build() else { return };
    let (mut state, mut gate, mut time, mut ticks_left) =
        (PipelineState::default(), Gate::default(), 0, ALL_TICKS);
    while let Some(sample) = sample_from(&mut bytes, &mut time) {
        let until = pipeline.time_until(&state, &sample);
        assert!(until.0 >= 0, "time goes back by {until:?}");
        let ticks = (until.0 / 2_000).min(MOST_TICKS).min(ticks_left);
        ticks_left -= ticks;
        for _ in 0..ticks {
            gate.check(&pipeline, &mut state);
        }
        check(&pipeline.step(&mut state, &sample));
    }
}

/// A CSV trace, read to its end and replayed through the instrument.
pub fn csv(bytes: &[u8]) {
    replay("fuzz.csv", bytes);
}

/// A flight log, likewise.
pub fn igc(bytes: &[u8]) {
    replay("fuzz.igc", bytes);
}

/// What users type for columns.
const COLUMNS: [&str; 8] = [
    "",
    "time=#1,static=#2",
    "time=t",
    "static=p:hPa",
    "time=#2:ms,static=#1:kPa",
    "time=t:days,static=h:ft,te=#3,oat=#4",
    "ias=v:kt,dynamic=q",
    "time=#1:ns,static=#9",
];

/// Any file: the first byte chooses its name and what the user typed.
pub fn open(bytes: &[u8]) {
    let Some((choice, file)) = bytes.split_first() else { return };
    let name = ["fuzz", "fuzz.csv", "fuzz.igc", "fuzz.csv.gz"][usize::from(choice >> 6)];
    read_all(name, file, COLUMNS[usize::from(choice & 7)]);
}

/// Lines as the fields of a time column, under a name that the first byte chooses.
pub fn times(bytes: &[u8]) {
    let Some((choice, lines)) = bytes.split_first() else { return };
    let name = ["time_s", "time", "t_ms", "timestamp", "UTC", "time_us", "time (ns)", "t"]
        [usize::from(choice & 7)];
    let mut file = format!("{name};pressure_hPa\n").into_bytes();
    for (row, line) in lines.split(|byte| *byte == b'\n').enumerate() {
        file.extend(line.iter().filter(|byte| **byte != b';'));
        file.extend_from_slice(format!(";{}\n", 900 + row % 9).as_bytes());
    }
    read_all("fuzz.csv", &file, "");
}

/// Lines as the fields of a static pressure, under a name that the first byte chooses.
pub fn numbers(bytes: &[u8]) {
    let Some((choice, lines)) = bytes.split_first() else { return };
    let name =
        ["static_pa", "pressure", "p [hPa]", "baro_inHg", "static_kpa", "p (mm)", "p/Pa", "p"]
            [usize::from(choice & 7)];
    let mut file = format!("time_s;{name}\n").into_bytes();
    for (row, line) in lines.split(|byte| *byte == b'\n').enumerate() {
        file.extend_from_slice(format!("{}.5;", row).as_bytes());
        file.extend_from_slice(line);
        file.push(b'\n');
    }
    read_all("fuzz.csv", &file, "");
}

/// A header above good rows, and what the user typed above both.
pub fn header(bytes: &[u8]) {
    let mut parts = bytes.splitn(2, |byte| *byte == b'\n');
    let typed = String::from_utf8_lossy(parts.next().unwrap_or_default()).into_owned();
    let mut file = parts.next().unwrap_or_default().to_vec();
    file.extend_from_slice(b"\n0.00,900.1,30,5\n0.02,900.2,30,5\n0.04,900.3,30,5\n");
    read_all("fuzz.csv", &file, &typed);
}

/// Compressed data behind the head of a gzip file.
pub fn gzip(bytes: &[u8]) {
    let mut file = b"\x1f\x8b\x08\x00\x00\x00\x00\x00\x00\x03".to_vec();
    file.extend_from_slice(bytes);
    read_all("fuzz.csv.gz", &file, "");
}

/// Units of two bytes behind a mark of their order.
pub fn utf16(bytes: &[u8]) {
    let mark: &[u8] = if bytes.len() & 1 == 0 { b"\xFF\xFE" } else { b"\xFE\xFF" };
    read_all("fuzz.csv", &[mark, bytes].concat(), "");
}

/// Reads a trace to its end: every value is a number, every message a line, time goes back only
/// where the file's does.
fn read_all(name: &str, bytes: &[u8], columns: &str) {
    let columns = match columns.parse::<ColumnMap>() {
        Ok(columns) => columns,
        Err(error) => return check_message(&error.to_string().replace(char::is_control, " ")),
    };
    let mut trace = match trace::open(name, Box::new(Cursor::new(bytes.to_vec())), &columns) {
        Ok(trace) => trace,
        Err(error) => return check_message(&error.to_string()),
    };
    while let Some(item) = trace.next() {
        match item {
            Ok(Item::Sample { sample, .. }) => {
                let pressures = [sample.static_pressure, sample.te_pressure];
                assert!(pressures.into_iter().flatten().all(|pressure| pressure.0.is_finite()));
                assert!(sample.outside_air.is_none_or(|air| air.0.is_finite()));
            }
            Ok(Item::Skipped(skipped)) => {
                assert!(!skipped.reason.contains('\n'));
                assert!(!skipped.found.contains(char::is_control));
            }
            Err(error) => return check_message(&error.to_string()),
        }
    }
    trace.notes().iter().for_each(|note| check_message(note));
    assert!(trace.date().is_none_or(|date| date.len() == 10));
    assert!(trace.utc_start_s().is_none_or(|start| (0.0..86_400.0).contains(&start)));
}

/// A settings file; accepted settings are written and read back unchanged.
pub fn settings(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match settings_file::from_text("fuzz.toml", text) {
        Ok(instrument) => check_settings(&instrument.settings),
        Err(error) => check_message(&error.to_string()),
    }
}

/// `key=value[,key=value]`, likewise.
pub fn words(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match settings_file::from_words(text, &Settings::default()) {
        Ok(instrument) => check_settings(&instrument.settings),
        Err(error) => check_message(&error.to_string()),
    }
}

/// A scenario, and the first seconds of its flight.
pub fn scenario(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match check::read("fuzz.toml", text) {
        Ok((scenario, glider)) => {
            let mut flight = Flight::new(&scenario, glider, 1);
            for _ in 0..FLOWN_TICKS {
                assert!(flight.moment().energy_height_m().is_finite());
                if !flight.advance().unwrap_or(false) {
                    break;
                }
            }
        }
        Err(error) => check_message(&error.to_string()),
    }
}

fn replay(name: &str, bytes: &[u8]) {
    let input = Box::new(Cursor::new(bytes.to_vec()));
    let mut trace = match trace::open(name, input, &ColumnMap::default()) {
        Ok(trace) => trace,
        Err(error) => return check_message(&error.to_string()),
    };
    let pipeline = Settings::default().build().expect("the defaults are good");
    // The sound takes most of the time, so only one input in four is played.
    let (mut state, is_heard) = (PipelineState::default(), bytes.len().is_multiple_of(4));
    let mut replay = Replay::new(Ears { left: pipeline.clone(), right: None });
    let (mut ticks, mut line_before, mut goes_back) = (0_u64, 0, None);
    while let Some(item) = trace.next() {
        let line = match item {
            Ok(Item::Sample { line, sample }) => {
                // Enough sound to find any fault of the gate; for the rest only the reading is
                // checked.
                if !is_heard {
                    check(&pipeline.step(&mut state, &sample));
                } else if ticks < ALL_TICKS as u64 {
                    let mut sound = |stretch: Stretch<'_>| {
                        ticks += stretch.ticks();
                        Ok::<(), ()>(())
                    };
                    check(
                        &replay
                            .feed(line, &sample, &mut sound)
                            .expect("nothing stops it")
                            .readings
                            .left,
                    );
                }
                line
            }
            Ok(Item::Skipped(skipped)) => {
                assert!(
                    !skipped.reason.contains('\n') && !skipped.found.contains(char::is_control)
                );
                skipped.line
            }
            Err(error) => return check_message(&error.to_string()),
        };
        if line < line_before {
            goes_back = Some((line, line_before));
        }
        line_before = line;
    }
    // Rows that were put in order by their time are told.
    let is_told =
        trace.format() == "igc" || trace.notes().iter().any(|note| note.contains("order"));
    assert!(goes_back.is_none() || is_told, "lines {goes_back:?}");
    trace.notes().iter().for_each(|note| check_message(note));
}

/// A message is one line that a terminal can show.
fn check_message(message: &str) {
    assert!(!message.is_empty() && !message.contains(['\n', '\r', '\u{1b}']), "{message:?}");
}

fn check_settings(settings: &Settings) {
    let text = toml_of(settings);
    let again =
        settings_file::from_text("again.toml", &text).expect("what was accepted is accepted again");
    assert_eq!(toml_of(&again.settings), text);
}

fn toml_of(settings: &Settings) -> String {
    settings_file::bare(settings, &[])
}

/// Every figure of a reading is a number.
fn check(reading: &Reading) {
    assert!(reading.elapsed.0 >= 0, "{reading:?}");
    let Some(values) = reading.values else { return };
    let Values {
        altitude,
        altimeter,
        true_airspeed,
        vertical_speed,
        te_vertical_speed,
        deviation,
        ..
    } = values;
    let speeds =
        [true_airspeed, te_vertical_speed, values.average].map(|speed| speed.unwrap_or_default().0);
    let of_netto = values
        .netto
        .map_or([0.0; 3], |netto| [netto.air.0, netto.relative.0, netto.speed_to_fly.0]);
    let of_climb = values.climb.map_or([0.0; 2], |climb| [climb.gain.0, climb.average.0]);
    let all = [altitude.0, altimeter.0, vertical_speed.0, deviation.0].into_iter();
    assert!(all.chain(speeds).chain(of_netto).chain(of_climb).all(f32::is_finite), "{reading:?}");
}

/// Checks of the sound, tick by tick.
#[derive(Default)]
struct Gate {
    was_open: bool,
    since_edge: Option<u32>,
    stale_for: u32,
}

impl Gate {
    fn check(&mut self, pipeline: &Pipeline, state: &mut PipelineState) {
        let voice = pipeline.tick(state);
        assert!(voice.pitch.0.is_finite() && (0.0..=4_000.0).contains(&voice.pitch.0), "{voice:?}");
        self.stale_for = if pipeline.is_stale(state) { self.stale_for + 1 } else { 0 };
        assert!(
            self.stale_for <= SHORTEST_BEEP_TICKS || !may_be_climb(&voice),
            "it means something without samples: {voice:?}"
        );
        self.since_edge = self.since_edge.map(|ticks| ticks + 1);
        if voice.gate != self.was_open {
            let shortest = if self.was_open { SHORTEST_BEEP_TICKS } else { SHORTEST_GAP_TICKS };
            assert!(
                self.since_edge.is_none_or(|ticks| ticks >= shortest),
                "{:?} ticks: {voice:?}",
                self.since_edge
            );
            (self.was_open, self.since_edge) = (voice.gate, Some(0));
        }
    }
}

fn may_be_climb(voice: &Voice) -> bool {
    voice.gate && voice.meaning != Meaning::Fault
}

/// Takes bytes from the front; `None` at the end.
struct Bytes<'a>(&'a [u8]);

impl Bytes<'_> {
    fn take<const N: usize>(&mut self) -> Option<[u8; N]> {
        let (taken, rest) = self.0.split_first_chunk::<N>()?;
        self.0 = rest;
        Some(*taken)
    }

    fn byte(&mut self) -> u8 {
        self.take::<1>().map_or(0, |[byte]| byte)
    }

    /// A number from `low` to `high`.
    fn within(&mut self, low: f32, high: f32) -> f32 {
        low + (high - low) * f32::from(self.byte()) / 255.0
    }
}

fn settings_from(bytes: &mut Bytes) -> Settings {
    let choices = bytes.byte();
    let mut settings = Settings::default();
    settings.energy.choice = EnergyChoice::ALL[usize::from(choices & 3)];
    if choices & 0x80 == 0 {
        return settings;
    }
    settings.polar = (choices & 16 != 0).then(PolarSettings::default);
    settings.filter = FilterSettings {
        choice: if choices & 4 == 0 { FilterChoice::Adaptive } else { FilterChoice::Fixed },
        noise_m: if choices & 32 == 0 { 0.0 } else { bytes.within(0.002, 5.0) },
        response_s: bytes.within(0.1, 10.0),
    };
    settings.average = AverageSettings { span_s: bytes.within(5.0, 300.0) };
    settings.reading = ReadingSettings {
        scale: VerticalScale::ALL[usize::from(choices >> 3 & 1)],
        stale_after_s: bytes.within(0.5, 30.0),
    };
    settings.energy.compensation_percent = bytes.within(0.0, 150.0);
    settings.energy.static_delay_ms = bytes.within(0.0, 500.0);
    settings.energy.airspeed_delay_ms = bytes.within(0.0, 500.0);
    settings.energy.probe_delay_ms = bytes.within(0.0, 500.0);
    settings
}

/// A sample made from the bytes; some values are likely, some are any 32 bits.
fn sample_from(bytes: &mut Bytes, time: &mut i64) -> Option<Sample> {
    let [shape, interval] = bytes.take::<2>()?;
    *time = match shape & 3 {
        0 => time.wrapping_add(20_000),
        1 => time.wrapping_add(i64::from(interval) * 1_000),
        2 => time.wrapping_add((i64::from(interval) - 64) * 100_000),
        _ => i64::from_le_bytes(bytes.take::<8>()?),
    };
    let mut pressure = |wild: bool, about: f32| -> Option<Pascal> {
        if wild {
            return Some(Pascal(f32::from_bits(u32::from_le_bytes(bytes.take::<4>()?))));
        }
        Some(Pascal(about + 0.25 * f32::from(i16::from_le_bytes(bytes.take::<2>()?))))
    };
    let mut sample = Sample::of_static(Micros(*time), pressure(shape & 4 != 0, 95_000.0)?);
    if shape & 8 != 0 {
        let value = pressure(shape & 4 != 0, 400.0)?.0;
        sample.speed = Some(match interval & 3 {
            0 => Speed::Calibrated(MetrePerSecond(value * 0.1)),
            1 => Speed::True(MetrePerSecond(value * 0.1)),
            _ => Speed::Dynamic(Pascal(value)),
        });
    }
    if shape & 16 != 0 {
        sample.te_pressure = Some(pressure(shape & 4 != 0, 94_600.0)?);
    }
    if shape & 32 != 0 {
        sample.outside_air = Some(Kelvin(pressure(shape & 4 != 0, 280.0)?.0));
    }
    Some(sample)
}
