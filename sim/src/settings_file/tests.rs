//! Settings files as people write them, right and wrong; and the outputs about settings.

use super::*;
use chirrup_core::rows::{Group, GroupRows, Groups, Kind};
use chirrup_core::{EnergyChoice, PolarPoint, PolarSettings};

fn error_of_file(text: &str) -> String {
    from_text("my.toml", text).unwrap_err().to_string()
}

fn with_polar() -> Settings {
    Settings { polar: Some(PolarSettings::default()), ..Settings::default() }
}

#[test]
fn the_printed_defaults_are_the_defaults() {
    let text = with_comments(&Settings::default());
    assert_eq!(from_text("defaults.toml", &text).unwrap().settings, Settings::default());
    // Without the first # of each of its lines the polar is there.
    let begin = text.find("# [polar]").unwrap();
    let end = begin + text[begin..].find("# The sound.").unwrap();
    let polar: String = text[begin..end]
        .lines()
        .map(|line| format!("{}\n", line.strip_prefix('#').unwrap_or(line).trim_start()))
        .collect();
    let whole = format!("{}{polar}{}", &text[..begin], &text[end..]);
    assert_eq!(from_text("polar.toml", &whole).unwrap().settings, with_polar(), "{whole}");
}

#[test]
fn what_is_soldered_to_an_instrument_is_only_written_where_somebody_set_it() {
    let mut settings = Settings::default();
    for text in [bare(&settings, &[]), with_comments(&settings)] {
        assert_eq!(from_text("a.toml", &text).unwrap().named.iter().find(is_of_device), None);
    }
    settings.device.dynamic_zero_pa = 12.5;
    for text in [bare(&settings, &[]), with_comments(&settings)] {
        let read = from_text("a.toml", &text).unwrap();
        assert!(read.named.contains(&"device.dynamic_zero_pa"), "{text}");
        assert_eq!(read.settings, settings);
    }
}

fn is_of_device(name: &&&str) -> bool {
    name.starts_with("device.")
}

#[test]
fn the_printed_defaults_are_readable() {
    let text = with_comments(&Settings::default());
    let longest = text.lines().map(|line| line.chars().count()).max().unwrap();
    assert!(longest <= 100, "{longest} columns");
    for row in Settings::GROUPS.iter().flat_map(|group| group.rows) {
        let name = row.name.rsplit('.').next().unwrap();
        let lines = text.lines().filter(|line| line.trim_start_matches("# ").starts_with(name));
        assert!(lines.count() >= 1, "{name}");
    }
}

#[test]
fn what_is_written_reads_back_the_same_and_in_few_digits() {
    let mut settings = with_polar();
    settings.filter.response_s = 0.37;
    for text in [bare(&settings, &["tuned".into()]), with_comments(&settings)] {
        assert!(text.contains("response_s = 0.37\n"), "{text}");
        assert_eq!(from_text("again.toml", &text).unwrap().settings, settings);
    }
    assert!(bare(&settings, &["tuned".into()]).starts_with("# tuned\n\n"));
}

#[test]
fn words_change_single_settings() {
    let mut base = Settings::default();
    base.filter.response_s = 2.0;
    let changed = load("energy=none,tone.climb_from_mps=0.4", &base).unwrap().settings;
    assert_eq!(changed.energy.choice, EnergyChoice::None);
    assert_eq!(changed.tone.climb_from_mps, 0.4);
    assert_eq!(changed.filter.response_s, 2.0);
}

#[test]
fn what_is_wrong_in_a_file_is_named_with_its_line() {
    for (text, message) in [
        ("# mine\nresponse_s = 99\n", "my.toml:2: response_s is 99, expected 0.1 to 10"),
        (
            "energy = \"auto\"\nresponce_s = 1\n",
            "my.toml:2: there is no setting responce_s; did you mean response_s?",
        ),
        ("volume = 3\n", "my.toml:1: there is no setting volume; did you mean tone.volume?"),
        (
            "[tone]\ncolour_of_hat = 1\n",
            "my.toml:2: there is no setting tone.colour_of_hat; `chirrup settings` lists them all",
        ),
        (
            "energy = \"magic\"\n",
            "my.toml:1: energy: found \"magic\", expected \"none\", \"electronic\", \"probe\" or \
             \"auto\"",
        ),
        ("response_s = \"one\"\n", "my.toml:1: response_s: found \"one\", expected a number"),
        ("tone = 1\n", "my.toml:1: tone: found 1, expected a table [tone]"),
        (
            "[tone]\nclimb = 1\n",
            "my.toml:2: tone.climb: found 1, expected a list of entries, [{ .. }, { .. }]",
        ),
        (
            "[tone]\nsink = [{ sink_mps = -2 }]\n",
            "my.toml:2: tone.sink, entry 1: pitch_hz is missing",
        ),
        (
            "[tone]\nsink = [{ sink_mps = -2, hz = 3 }]\n",
            "my.toml:2: tone.sink, entry 1: there is no hz, expected { sink_mps = .., pitch_hz = \
             .. }",
        ),
        (
            "[device]\nlog_hz = 2.5\n",
            "my.toml:2: device.log_hz: found 2.5, expected a whole number",
        ),
        ("[device]\nlog_hz = 99\n", "my.toml:2: device.log_hz is 99, expected 0 to 50"),
        ("response_s = inf\n", "my.toml:1: response_s is inf, expected 0.1 to 10"),
    ] {
        assert_eq!(error_of_file(text), message);
    }
    let broken = error_of_file("energy = \n");
    assert!(broken.starts_with("my.toml:1: ") && !broken.contains('\n'), "{broken}");
}

#[test]
fn an_entry_of_a_table_is_named_with_its_own_line() {
    let text = "[tone]\nclimb = [\n  \
                { climb_mps = 0.2, pitch_hz = 560, cadence_hz = 1.6, beep_ms = 300 },\n  \
                { climb_mps = 1.0, pitch_hz = 500, cadence_hz = 2.6, beep_ms = 190 },\n]\n";
    assert_eq!(
        error_of_file(text),
        "my.toml:4: tone.climb, entry 2: pitch_hz is 500, expected more than 560, the entry before"
    );
}

#[test]
fn words_that_name_nothing_are_refused() {
    for (words, part) in [
        ("enrgy=none", "there is no setting enrgy; did you mean energy?"),
        ("tone.colour=3", "there is no setting tone.colour"),
        ("tone.climb.x=3", "there is no setting tone.climb.x"),
        ("tone.climb=3", "tone.climb is a list; write it in a settings file"),
        ("energy=magic", "energy: found \"magic\", expected \"none\", "),
        ("polar.ballast_kg=40", "polar.ballast_kg needs a polar to change, and there is none"),
        ("altimeter.unit=yd", "altimeter.unit: found \"yd\", expected \"m\" or \"ft\""),
        ("response_s=0", "response_s is 0, expected 0.1 to 10"),
        ("response_s=1,energy", "found \"energy\", expected key=value"),
        // Found by fuzzing: what was typed may hold more than one line.
        ("response_s=1,\n[polar]\u{1b}x", "response_s=1, [polar] x: "),
        ("rg\u{1b}_m=1.4", "there is no setting rg _m"),
    ] {
        let message = load(words, &Settings::default()).unwrap_err().to_string();
        assert!(message.contains(part), "{message}");
        assert!(!message.contains(char::is_control), "{message:?}");
    }
}

#[test]
fn a_file_of_an_earlier_version_is_read_and_how_to_write_it_now_is_said() {
    let text = "[polar]\nspeed_1_mps = 18\nsink_1_mps = 0.88\nspeed_2_mps = 24\nsink_2_mps = \
                0.91\nspeed_3_mps = 35\nsink_3_mps = 1.89\nmass_kg = 410\n[tone]\nclimb = [\n  \
                { climb_mps = 0.2, pitch_hz = 560, cadence_hz = 1.6, on_fraction = 0.5 },\n  \
                { climb_mps = 1.0, pitch_hz = 720, cadence_hz = 2.5, on_fraction = 0.4 },\n]\n";
    let Instrument { settings, old, .. } = from_text("my.toml", text).unwrap();
    let polar = settings.polar.as_ref().unwrap();
    assert_eq!(polar.points[2], PolarPoint { speed_mps: 35.0, sink_mps: 1.89 });
    assert_eq!((polar.points.len(), polar.mass_kg()), (3, 410.0));
    let lengths: Vec<f32> = settings.tone.climb.iter().map(|point| point.beep_ms).collect();
    assert_eq!(lengths, [312.5, 160.0]);
    assert_eq!(old.len(), 3);
    assert!(
        old[0].starts_with("my.toml:2: the polar is written as in earlier versions"),
        "{old:?}"
    );
    assert!(old[1].starts_with("my.toml:11: on_fraction is of earlier versions"), "{old:?}");
    assert!(old[1].contains("beep_ms = 312.5"), "{old:?}");
    // Its beeps begin below those of today, and the sink tone stays a fifth below them.
    assert!(old[2].starts_with("my.toml:10: tone.climb begins less than a fifth above"), "{old:?}");
    assert!(old[2].contains("sink = [{ sink_mps = -1.6, pitch_hz = 373 }"), "{old:?}");
    let sink: Vec<f32> = settings.tone.sink.iter().map(|point| point.pitch_hz).collect();
    assert_eq!(sink, [373.0, 331.0, 267.0]);
    // Written again, it has the same settings in the present format.
    let again = from_text("new.toml", &with_comments(&settings)).unwrap();
    assert_eq!((again.settings, again.old), (settings, vec![]));
}

#[test]
fn what_is_wrong_in_a_file_of_an_earlier_version_is_named_with_its_line() {
    for (text, message) in [
        (
            "[polar]\n\nspeed_1_mps = 30\n",
            "my.toml:3: polar.points, entry 2: speed_mps is 27, expected more than 30, the entry \
             before",
        ),
        (
            "\"tone.volume\" = 3\n",
            "my.toml:1: found the name tone.volume in quotes, expected tone.volume without them",
        ),
        ("[polar]\nmass_kg = 30\n", "my.toml:2: polar.empty_mass_kg is 30, expected 100 to 1000"),
        (
            "[polar]\nsink_1_mps = \"x\"\n",
            "my.toml:2: polar.sink_1_mps: found \"x\", expected a number",
        ),
        (
            "[polar]\nempty_mass_kg = 300\nmass_kg = 380\n",
            "my.toml:3: found polar.mass_kg of earlier versions beside polar.empty_mass_kg, \
             expected one of them; delete polar.mass_kg",
        ),
        (
            "[tone]\nclimb = [\n  { climb_mps = 0.2, pitch_hz = 560, cadence_hz = 14, \
             on_fraction = 0.25 },\n]\n",
            "my.toml:3: tone.climb, entry 1: beep_ms is 17.857143, expected 40 to 1970",
        ),
        (
            "[tone]\nclimb = [{ climb_mps = 0.2, pitch_hz = 560, cadence_hz = 2, on_fraction = \
             0.5 },\n  { climb_mps = 1, pitch_hz = 700, cadence_hz = 3, beep_ms = 100 }]\n",
            "my.toml:3: tone.climb, entry 2: found beep_ms beside on_fraction, expected { \
             climb_mps = .., pitch_hz = .., cadence_hz = .., on_fraction = .. }",
        ),
    ] {
        assert_eq!(error_of_file(text), message);
    }
}

#[test]
fn a_polar_of_an_earlier_version_replaces_all_points_and_the_mass_with_ballast() {
    let mut base = with_polar();
    let polar = base.polar.as_mut().unwrap();
    polar.ballast_kg = 80.0;
    let fastest = PolarPoint { speed_mps: 60.0, sink_mps: 5.0 };
    polar.points.push(fastest).unwrap();
    let text = "[polar]\nspeed_1_mps = 18\nmass_kg = 400\n";
    let polar = text_over("my.toml", text, &All::of(&base)).unwrap().settings.polar.unwrap();
    assert_eq!((polar.points.len(), polar.points[0].speed_mps), (3, 18.0));
    assert_eq!(polar.mass_kg(), 400.0);
}

#[test]
fn later_sources_win_and_files_change_only_what_they_name() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str, text: &str| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let first = file("first.toml", "response_s = 2\naverage_s = 30\n[polar]\nballast_kg = 20\n");
    let second = file("second.toml", "[tone]\nvolume = 3\n[polar]\nexpected_climb_mps = 2\n");
    let sources = [first, second, "polar.ballast_kg=80,response_s=0.5".to_owned()];
    let settings = load_layers(&sources, &Settings::default()).unwrap().settings;
    let polar = settings.polar.unwrap();
    assert_eq!((polar.ballast_kg, polar.expected_climb_mps), (80.0, 2.0));
    assert_eq!((settings.filter.response_s, settings.average.span_s), (0.5, 30.0));
    assert_eq!(settings.tone.volume, 3.0);
}

chirrup_core::setting_group! {
    /// The settings of a pretend lamp.
    pub struct LampSettings = "lamp.", "A lamp that no instrument has." {
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

impl old::Old for Lamp {
    fn take_old(
        &mut self,
        _name: &str,
        _table: &toml::de::DeTable<'_>,
        _found: &mut found::Found,
    ) -> std::result::Result<&'static [&'static str], wrong::Wrong> {
        Ok(&[])
    }
}

/// The console has its own part of this test, in firmware/src/keys/tests.rs.
#[test]
fn a_setting_that_is_one_new_row_is_in_the_file_the_table_and_the_schema() {
    let mut lamp = Lamp::default();
    let text = with_comments(&lamp);
    assert!(
        text.contains("# It goes out after this time. (0.5 to 30 s)\nafter_s = 2.0\n"),
        "{text}"
    );
    let line = "| `lamp.after_s` | 2 s | 0.5 to 30 s | It goes out after this time. |\n";
    assert!(table::<Lamp>().contains(line), "{}", table::<Lamp>());
    let of_schema = &schema::<Lamp>()["properties"]["lamp"]["properties"]["after_s"];
    assert_eq!(of_schema["minimum"], 0.5);
    assert_eq!(of_schema["default"], 2.0);
    read::apply("[lamp]\nafter_s = 7.5\n", &mut lamp).unwrap();
    assert_eq!(lamp.lamp.after_s, 7.5);
    words::apply("lamp.after_s=8", &mut lamp).unwrap();
    assert_eq!(lamp.lamp.after_s, 8.0);
    let unknown = read::apply("[lamp]\nafter = 1\n", &mut lamp).unwrap_err().what;
    assert_eq!(unknown, "there is no setting lamp.after; did you mean lamp.after_s?");
    let range = lamp.lamp.check_ranges().is_ok();
    assert!(range && LampSettings { after_s: 31.0 }.check_ranges().is_err());
}

#[test]
fn the_schema_knows_every_setting() {
    let schema = schema::<Settings>();
    for row in Settings::GROUPS.iter().flat_map(|group| group.rows) {
        let found = row.name.split('.').fold(&schema, |schema, name| &schema["properties"][name]);
        assert!(found["description"].is_string(), "{}", row.name);
    }
    assert_eq!(schema["properties"]["tone"]["properties"]["climb"]["maxItems"], 15);
}

#[test]
fn the_pilots_units_stand_beside_the_instruments_settings_and_layer_as_they_do() {
    use crate::units::{ClimbUnit, LengthUnit, SpeedUnit};
    let file = from_text("my.toml", "response_s = 0.6\n[units]\nclimb = \"kt\"\n").unwrap();
    assert_eq!((file.units.climb, file.settings.filter.response_s), (ClimbUnit::Knots, 0.6));
    let words = words_over("units.height=ft,units.speed=mph", &file.all()).unwrap();
    let found = (words.units.climb, words.units.speed, words.units.height);
    assert_eq!(found, (ClimbUnit::Knots, SpeedUnit::MilesPerHour, LengthUnit::Feet));
    assert_eq!(words.settings, file.settings);
    let written = with_comments(&words.all());
    assert_eq!(from_text("again.toml", &written).unwrap().all(), words.all());
    let error = from_text("my.toml", "[units]\nclimb = \"fpm\"\n").unwrap_err().to_string();
    assert_eq!(
        error,
        "my.toml:2: units.climb: found \"fpm\", expected \"m/s\", \"kt\" or \"ft/min\""
    );
}
