//! What the console shows and accepts, checked against another project's TOML reader.

use super::*;
use chirrup_core::{ClimbPoint, DeviceSettings, EnergyChoice, FilterChoice, PolarSettings};
use chirrup_core::{SecondBarometer, Settings, SinkPoint};
use proptest::prelude::*;
use std::string::{String as Text, ToString};

fn shown<S: Groups>(settings: &S) -> Text {
    let (mut cursor, mut text) = (Cursor::default(), Text::new());
    while cursor.show(settings, "", &mut text).unwrap() {
        text.push('\n');
    }
    text
}

/// The setting called `name` in a settings file, as TOML reads it.
fn named<'a>(table: &'a toml::Table, name: &str) -> Option<&'a toml::Value> {
    match name.split_once('.') {
        Some((group, rest)) => named(table.get(group)?.as_table()?, rest),
        None => table.get(name),
    }
}

/// Sets every setting from `text`, read as TOML and without any code of the console.
fn read_back(text: &str) -> Settings {
    let table: toml::Table = text.parse().expect("it is TOML");
    let mut settings = Settings::default();
    let mut count = 0;
    for (place, known) in Settings::GROUPS.iter().enumerate() {
        for (row, found) in known.rows.iter().map(|row| (row, named(&table, row.name))) {
            let Some(found) = found else { continue };
            let index = known.rows.iter().position(|other| other == row).unwrap();
            let setting = settings.group_mut(place).unwrap().setting_mut(index).unwrap();
            take(setting, row, found);
            count += 1;
        }
    }
    let written = |table: &toml::Table| -> usize {
        table.values().map(|value| value.as_table().map_or(1, toml::Table::len)).sum()
    };
    assert_eq!(count, written(&table), "everything that is shown has a row");
    settings
}

fn take(setting: &mut dyn Setting, row: &Row, found: &toml::Value) {
    let number = |value: &toml::Value| {
        value.as_float().or(value.as_integer().map(|whole| whole as f64)).unwrap() as f32
    };
    match row.kind {
        Kind::Number { .. } => assert!(setting.set(Value::Number(number(found)))),
        Kind::Flag => assert!(setting.set(Value::Flag(found.as_bool().unwrap()))),
        Kind::Word(words) => {
            let place = words.iter().position(|word| Some(word.word) == found.as_str()).unwrap();
            assert!(setting.set(Value::Word(place)));
        }
        Kind::List { fields, .. } => {
            setting.set(Value::Entries(0));
            for line in found.as_array().unwrap() {
                let line = line.as_table().unwrap();
                assert_eq!(line.len(), fields.len());
                let mut entry = Entry::default();
                for (slot, field) in entry.iter_mut().zip(fields) {
                    *slot = number(&line[field.name]);
                }
                assert!(setting.push(&entry));
            }
        }
    }
}

fn with_polar() -> Settings {
    Settings { polar: Some(PolarSettings::default()), ..Settings::default() }
}

#[test]
fn no_setting_is_forgotten() {
    let text = shown(&with_polar());
    for row in Settings::GROUPS.iter().flat_map(|group| group.rows) {
        let begins = std::format!("{} = ", row.name);
        assert_eq!(text.lines().filter(|line| line.starts_with(&begins)).count(), 1, "{begins}");
    }
}

#[test]
fn shown_settings_are_a_settings_file() {
    for settings in [Settings::default(), with_polar()] {
        assert_eq!(read_back(&shown(&settings)), settings);
    }
}

#[test]
fn every_word_is_the_same_as_in_a_settings_file() {
    for row in Settings::GROUPS.iter().flat_map(|group| group.rows) {
        let Kind::Word(words) = row.kind else { continue };
        for word in words {
            let mut settings = Settings::default();
            set(&mut settings, row.name, word.word).unwrap();
            assert_eq!(read_back(&shown(&settings)), settings, "{} {}", row.name, word.word);
            assert!(shown(&settings).contains(&std::format!("{} = \"{}\"", row.name, word.word)));
        }
    }
}

#[test]
fn every_shown_line_fits_a_console_line() {
    let mut settings = with_polar();
    let point = ClimbPoint {
        climb_mps: -0.123_456_79,
        pitch_hz: 1_234.567_9,
        cadence_hz: 12.345_679,
        beep_ms: 1_234.567_9,
    };
    settings.tone.climb = (0..settings.tone.climb.capacity()).map(|_| point).collect();
    let longest = shown(&settings).lines().map(str::len).max().unwrap();
    assert!(longest <= crate::console::LONGEST_LINE - 3, "{longest}");
    // And a whole table can be typed in one line.
    let mut one = Text::from("tone.climb = ");
    let text = shown(&settings);
    let table = text.split_once("tone.climb = ").unwrap().1.split_once("]").unwrap().0;
    one.extend(table.lines().map(str::trim).chain(["]"]));
    assert!(one.len() < crate::console::LONGEST_INPUT, "{}", one.len());
    let mut again = Settings::default();
    set(&mut again, "tone.climb", one.strip_prefix("tone.climb = ").unwrap()).unwrap();
    assert_eq!(again.tone.climb, settings.tone.climb);
}

#[test]
fn every_list_that_fits_can_be_typed() {
    for row in Settings::GROUPS.iter().flat_map(|group| group.rows) {
        if let Kind::List { most, .. } = row.kind {
            assert!(most <= MOST_ENTRIES, "{} has room for {most} entries", row.name);
        }
    }
}

#[test]
fn settings_are_set_one_by_one_with_quotes_or_without() {
    let mut settings = Settings::default();
    for (name, value) in [
        ("response_s", "0.6"),
        ("energy", "\"none\""),
        ("filter", "fixed"),
        ("tone.climb_from_mps", " 0.4 "),
        ("polar.ballast_kg", "50"),
        ("tone.even_loudness", "false"),
        ("device.log_hz", "2"),
        ("device.second_barometer", "pitot"),
        ("tone.sink", "[{sink_mps=-2,pitch_hz=300}, { pitch_hz = 250, sink_mps = -5.5 },]"),
    ] {
        set(&mut settings, name, value).unwrap();
    }
    assert_eq!(settings.filter.response_s, 0.6);
    assert_eq!(
        (settings.energy.choice, settings.filter.choice),
        (EnergyChoice::None, FilterChoice::Fixed)
    );
    assert_eq!(settings.tone.climb_from_mps, 0.4);
    assert_eq!(
        settings.polar.clone().unwrap(),
        PolarSettings { ballast_kg: 50.0, ..PolarSettings::default() }
    );
    assert_eq!((settings.device.log_hz, settings.tone.even_loudness), (2, false));
    assert_eq!(settings.device.second_barometer, SecondBarometer::Pitot);
    assert_eq!(settings.tone.sink[1], SinkPoint { sink_mps: -5.5, pitch_hz: 250.0 });
    set(&mut settings, "polar", "none").unwrap();
    assert_eq!(settings.polar, None);
}

#[test]
fn a_rejected_value_is_explained_in_one_line_and_changes_nothing() {
    for (name, value, message) in [
        ("responce_s", "1", "there is no setting responce_s; settings lists them all"),
        ("response_s", "one", "response_s: found \"one\", expected a number"),
        ("response_s", "nan", "response_s: found \"nan\", expected a number"),
        ("response_s", "", "response_s: found \"\", expected a number"),
        ("device.log_hz", "2.5", "device.log_hz: found \"2.5\", expected a whole number"),
        ("tone.even_loudness", "yes", "tone.even_loudness: found \"yes\", expected true or false"),
        ("energy", "magic", "energy: found \"magic\", expected one of none electronic probe auto"),
        ("tone.sink", "300", "tone.sink: found \"300\", expected a list [{ .. }, { .. }]"),
        ("tone.sink", "[1]", "tone.sink: found \"1\", expected an entry { .. }"),
        ("tone.sink", "[{sink_mps=-2}]", "tone.sink, entry 1: pitch_hz is missing"),
        (
            "tone.sink",
            "[{sink_mps=-2,pitch_hz=3}{}]",
            "tone.sink: found \"{}\", expected a comma between entries",
        ),
        (
            "tone.sink",
            "[{sink_mps=-2,colour=3}]",
            "tone.sink: found \"colour=3\", expected a field of this table",
        ),
        (
            "tone.sink",
            "[{sink_mps=-2,sink_mps=3}]",
            "tone.sink: found \"sink_mps=3\", expected each field once",
        ),
        ("tone.sink", "[{sink_mps}]", "tone.sink: found \"sink_mps\", expected a field = number"),
        ("tone", "none", "there is no setting tone; settings lists them all"),
    ] {
        let mut settings = Settings::default();
        assert_eq!(set(&mut settings, name, value).unwrap_err().to_string(), message);
        assert_eq!(settings, Settings::default());
    }
    let too_many = std::format!("[{}]", "{sink_mps=-2,pitch_hz=3},".repeat(16));
    let message = set(&mut Settings::default(), "tone.sink", &too_many).unwrap_err().to_string();
    assert_eq!(message, "tone.sink: expected at most 15 entries");
}

chirrup_core::setting_group! {
    /// Settings of an invented lamp.
    pub struct LampSettings = "lamp.", "A lamp." {
        after_s: f32 = 2.0, "s", Kind::number(0.5, 30.0), "It goes out after this time.";
    }
}

#[derive(Clone, Default)]
struct Lamp {
    lamp: LampSettings,
}

impl Groups for Lamp {
    const GROUPS: &'static [GroupRows] =
        &[GroupRows::table("lamp", LampSettings::ABOUT, LampSettings::ROWS)];

    fn group(&self, place: usize) -> Option<&dyn Group> {
        (place == 0).then_some(&self.lamp)
    }

    fn group_mut(&mut self, place: usize) -> Option<&mut dyn Group> {
        (place == 0).then_some(&mut self.lamp)
    }

    fn remove(&mut self, _place: usize) -> bool {
        false
    }
}

#[test]
fn a_setting_that_is_one_new_row_is_shown_and_set() {
    let mut lamp = Lamp::default();
    assert_eq!(shown(&lamp), "lamp.after_s = 2\n");
    set(&mut lamp, "lamp.after_s", "7.5").unwrap();
    assert_eq!(lamp.lamp.after_s, 7.5);
    assert_ne!(fingerprint::<Lamp>(), fingerprint::<Settings>());
}

fn any_settings() -> impl Strategy<Value = Settings> {
    let rows = Settings::GROUPS.iter().map(|group| group.rows.len()).sum::<usize>();
    let numbers = prop::collection::vec(-1.0e4..1.0e4_f32, rows);
    let sink = prop::collection::vec((-60.0..0.0_f32, 80.0..2000.0_f32), 0..=15);
    (numbers, sink, any::<bool>()).prop_map(|(numbers, sink, polar)| {
        let mut settings = Settings::default();
        let mut numbers = numbers.into_iter();
        for (place, known) in Settings::GROUPS.iter().enumerate() {
            if known.is_optional && !polar {
                continue;
            }
            for (index, row) in known.rows.iter().enumerate() {
                let number = numbers.next().unwrap();
                let setting = settings.group_mut(place).unwrap().setting_mut(index).unwrap();
                setting.set(match row.kind {
                    Kind::Number { whole: true, .. } => Value::Number(f32::from(number as u8)),
                    Kind::Number { .. } => Value::Number(number),
                    Kind::Flag => Value::Flag(number > 0.0),
                    Kind::Word(words) => Value::Word(number.abs() as usize % words.len()),
                    Kind::List { .. } => continue,
                });
            }
        }
        settings.tone.sink =
            sink.into_iter().map(|(sink_mps, pitch_hz)| SinkPoint { sink_mps, pitch_hz }).collect();
        settings
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whatever_is_shown_is_read_back_to_the_last_bit(settings in any_settings()) {
        prop_assert_eq!(read_back(&shown(&settings)), settings);
    }

    #[test]
    fn no_text_panics(
        name in ".{0,30}",
        value in "[\\[\\]{}=,a-z_ 0-9.\\-\"]{0,120}",
        place in 0..DeviceSettings::ROWS.len(),
    ) {
        let mut settings = Settings::default();
        let _ = set(&mut settings, &name, &value);
        let _ = set(&mut settings, DeviceSettings::ROWS[place].name, &value);
        let _ = set(&mut settings, "tone.climb", &value);
    }
}
