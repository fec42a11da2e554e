//! The table of keys against what the settings themselves write as TOML.

use super::*;
use crate::device::DeviceSettings;
use chirrup_core::settings::{PolarSettings, Settings};
use proptest::prelude::*;
use std::string::{String as Text, ToString};
use std::vec::Vec as List;

fn shown(stored: &Stored) -> Text {
    let (mut cursor, mut text) = (Cursor::default(), Text::new());
    while cursor.show(stored, "", &mut text).unwrap() {
        text.push('\n');
    }
    text
}

/// What is shown, read by another project's TOML reader: the settings, and the device's.
fn read_back(stored: &Stored) -> (Settings, DeviceSettings) {
    let mut table: toml::Table = shown(stored).parse().expect("it is TOML");
    let device = table.remove("device").expect("the device's are shown");
    (
        table.try_into().expect("they are settings"),
        device.try_into().expect("they are the device's settings"),
    )
}

fn with_polar() -> Stored {
    Stored {
        settings: Settings { polar: Some(PolarSettings::default()), ..Settings::default() },
        device: DeviceSettings::default(),
    }
}

/// Dotted names of everything in a table.
fn names(table: &toml::Table, before: &str) -> List<Text> {
    let mut all = List::new();
    for (name, value) in table {
        match value {
            toml::Value::Table(inner) => all.extend(names(inner, &std::format!("{before}{name}."))),
            _ => all.push(std::format!("{before}{name}")),
        }
    }
    all.sort();
    all
}

#[test]
fn no_setting_is_forgotten_and_none_is_invented() {
    let stored = with_polar();
    let mut expected = names(&toml::Table::try_from(&stored.settings).unwrap(), "");
    expected.extend(names(&toml::Table::try_from(stored.device).unwrap(), "device."));
    let mut listed: List<Text> = KEYS.iter().map(|key| key.name.to_string()).collect();
    listed.sort();
    expected.sort();
    assert_eq!(listed, expected);
}

#[test]
fn the_fields_of_the_tables_are_all_there() {
    let tone = toml::Table::try_from(Settings::default().tone).unwrap();
    let fields = |name: &str| {
        let mut fields: List<Text> = tone[name][0].as_table().unwrap().keys().cloned().collect();
        fields.sort();
        fields
    };
    let sorted = |mut fields: List<Text>| {
        fields.sort();
        fields
    };
    assert_eq!(fields("climb"), sorted(CLIMB_FIELDS.map(Text::from).to_vec()));
    assert_eq!(fields("sink"), sorted(SINK_FIELDS.map(Text::from).to_vec()));
}

#[test]
fn what_is_shown_is_a_settings_file() {
    for stored in [Stored::default(), with_polar()] {
        let (settings, device) = read_back(&stored);
        assert_eq!((settings, device), (stored.settings, stored.device));
    }
}

#[test]
fn every_word_is_the_one_that_a_settings_file_has() {
    for key in KEYS {
        let Kind::Word(words, get, set) = &key.kind else { continue };
        for (place, word) in words.iter().enumerate() {
            let mut stored = Stored::default();
            set(&mut stored, place);
            assert_eq!(get(&stored), place, "{} {word}", key.name);
            assert_eq!(read_back(&stored), (stored.settings, stored.device), "{} {word}", key.name);
        }
    }
}

#[test]
fn every_line_that_is_shown_fits_a_line_of_the_console() {
    let mut stored = with_polar();
    let point = ClimbPoint {
        climb_mps: -0.123_456_79,
        pitch_hz: 1_234.567_9,
        cadence_hz: 12.345_679,
        on_fraction: 0.123_456_79,
    };
    stored.settings.tone.climb = (0..MAX_TONE_POINTS).map(|_| point).collect();
    let longest = shown(&stored).lines().map(str::len).max().unwrap();
    assert!(longest <= crate::console::LONGEST_LINE - 3, "{longest}");
    // And a whole table can be typed in one line.
    let mut one = Text::from("tone.climb = ");
    let text = shown(&stored);
    let table = text.split_once("tone.climb = ").unwrap().1.split_once("]").unwrap().0;
    one.extend(table.lines().map(str::trim).chain(["]"]));
    assert!(one.len() < crate::console::LONGEST_INPUT, "{}", one.len());
    let mut again = Stored::default();
    set(&mut again, "tone.climb", one.strip_prefix("tone.climb = ").unwrap()).unwrap();
    assert_eq!(again.settings.tone.climb, stored.settings.tone.climb);
}

#[test]
fn settings_are_set_one_by_one_with_quotes_or_without() {
    let mut stored = Stored::default();
    for (name, value) in [
        ("response_s", "0.6"),
        ("energy", "\"none\""),
        ("filter", "fixed"),
        ("tone.climb_from_mps", " 0.4 "),
        ("polar.mass_kg", "410"),
        ("tone.even_loudness", "false"),
        ("device.log_hz", "2"),
        ("device.second_barometer", "pitot"),
        ("tone.sink", "[{sink_mps=-2,pitch_hz=300}, { pitch_hz = 250, sink_mps = -5.5 },]"),
    ] {
        set(&mut stored, name, value).unwrap();
    }
    assert_eq!(stored.settings.response_s, 0.6);
    assert_eq!(
        (stored.settings.energy, stored.settings.filter),
        (EnergyChoice::None, FilterChoice::Fixed)
    );
    assert_eq!(stored.settings.tone.climb_from_mps, 0.4);
    assert_eq!(
        stored.settings.polar.unwrap(),
        PolarSettings { mass_kg: 410.0, ..PolarSettings::default() }
    );
    assert_eq!((stored.device.log_hz, stored.settings.tone.even_loudness), (2, false));
    assert_eq!(stored.device.second_barometer, SecondBarometer::Pitot);
    assert_eq!(stored.settings.tone.sink[1], SinkPoint { sink_mps: -5.5, pitch_hz: 250.0 });
    set(&mut stored, "polar", "none").unwrap();
    assert_eq!(stored.settings.polar, None);
}

#[test]
fn what_cannot_be_set_is_named_in_one_line_and_changes_nothing() {
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
    ] {
        let mut stored = Stored::default();
        assert_eq!(set(&mut stored, name, value).unwrap_err().to_string(), message);
        assert_eq!(stored, Stored::default());
    }
    let thirteen = std::format!("[{}]", "{sink_mps=-2,pitch_hz=3},".repeat(13));
    let message = set(&mut Stored::default(), "tone.sink", &thirteen).unwrap_err().to_string();
    assert_eq!(message, "tone.sink: expected at most 12 entries");
}

fn any_stored() -> impl Strategy<Value = Stored> {
    let numbers = prop::collection::vec(-1.0e4..1.0e4_f32, KEYS.len());
    let sink = prop::collection::vec((-60.0..0.0_f32, 80.0..2000.0_f32), 0..=MAX_TONE_POINTS);
    (numbers, sink, any::<bool>()).prop_map(|(numbers, sink, polar)| {
        let mut stored = Stored::default();
        for (key, value) in KEYS.iter().zip(numbers) {
            match &key.kind {
                Kind::Number(_, set) if polar || !key.name.starts_with("polar.") => {
                    set(&mut stored, value)
                }
                Kind::Whole(_, set) => set(&mut stored, value as u8),
                Kind::Flag(_, set) => set(&mut stored, value > 0.0),
                Kind::Word(words, _, set) => set(&mut stored, value.abs() as usize % words.len()),
                _ => {}
            }
        }
        stored.settings.tone.sink =
            sink.into_iter().map(|(sink_mps, pitch_hz)| SinkPoint { sink_mps, pitch_hz }).collect();
        stored
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whatever_is_shown_is_read_back_to_the_last_bit(stored in any_stored()) {
        let (settings, device) = read_back(&stored);
        prop_assert_eq!(&settings, &stored.settings);
        prop_assert_eq!(device, stored.device);
    }

    #[test]
    fn no_text_panics(name in ".{0,30}", value in "[\\[\\]{}=,a-z_ 0-9.\\-\"]{0,120}", place in 0..KEYS.len()) {
        let mut stored = Stored::default();
        let _ = set(&mut stored, &name, &value);
        let _ = set(&mut stored, KEYS[place].name, &value);
    }
}
