//! What differs between two settings, for people: `response_s: 1.5 -> 0.6`.

use super::write::value;
use chirrup_core::rows::{Field, Groups, Kind, Row, Setting, Value};

/// Every setting that differs, in the order of the settings file: `name: old -> new`. Of a list
/// with as many entries as before, every number that differs.
pub fn differences<S: Groups>(old: &S, new: &S) -> Vec<String> {
    let mut found = Vec::new();
    for (place, known) in S::GROUPS.iter().enumerate() {
        let (old, new) = (old.group(place), new.group(place));
        for (place, row) in known.rows.iter().enumerate() {
            let old = old.and_then(|group| group.setting(place));
            let new = new.and_then(|group| group.setting(place));
            match (old, new, row.kind) {
                (Some(old), Some(new), Kind::List { fields, .. }) if old.value() == new.value() => {
                    found.extend(entries(row, fields, old, new));
                }
                _ => found.extend(change(row.name, shown(row, old), shown(row, new))),
            }
        }
    }
    found
}

/// The numbers that differ in two lists of equal length.
fn entries(row: &Row, fields: &[Field], old: &dyn Setting, new: &dyn Setting) -> Vec<String> {
    let pairs = (0..).map_while(|index| old.entry(index).zip(new.entry(index)));
    let of_entry = |(index, (old, new)): (usize, ([f32; _], [f32; _]))| {
        let numbers = fields.iter().zip(old.into_iter().zip(new));
        numbers.filter_map(move |(field, (old, new))| {
            let name = format!("{}, entry {}, {}", row.name, index + 1, field.name);
            change(&name, format!("{old:?}"), format!("{new:?}"))
        })
    };
    pairs.enumerate().flat_map(of_entry).collect()
}

fn change(name: &str, old: String, new: String) -> Option<String> {
    (old != new).then(|| format!("{name}: {old} -> {new}"))
}

/// A setting in a few words.
fn shown(row: &Row, setting: Option<&dyn Setting>) -> String {
    match setting.map(|setting| (setting, setting.value())) {
        None => "not set".into(),
        Some((_, Value::Entries(count))) => format!("{count} entries"),
        Some((setting, _)) => value(row, setting),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings_file::from_text;

    fn between(old: &str, new: &str) -> Vec<String> {
        let settings = |text| from_text("it", text).unwrap().settings;
        differences(&settings(old), &settings(new))
    }

    #[test]
    fn every_setting_that_differs_is_listed_in_the_order_of_the_file() {
        let found = between("response_s = 1.5\n[tone]\nvolume = 3.5\n", "[tone]\nvolume = 4.0\n");
        assert_eq!(found.len(), 2, "{found:?}");
        assert!(found[0].starts_with("response_s: 1.5 -> "), "{found:?}");
        assert_eq!(found[1], "tone.volume: 3.5 -> 4.0");
        assert!(between("response_s = 1.5", "# a remark\nresponse_s = 1.50").is_empty());
    }

    #[test]
    fn a_table_that_comes_is_a_change_of_each_of_its_settings() {
        let found = between("", "[polar]\n");
        assert!(found.len() > 2 && found.iter().all(|line| line.contains(": not set -> ")));
    }

    #[test]
    fn of_a_list_the_numbers_that_differ_are_named() {
        let sink = |pitch: &str, more: &str| {
            format!(
                "[tone]\nsink = [{{ sink_mps = -2.0, pitch_hz = 370.0 }}, \
                 {{ sink_mps = -4.0, pitch_hz = {pitch} }}{more}]\n"
            )
        };
        let found = between(&sink("300.0", ""), &sink("310.0", ""));
        assert_eq!(found, ["tone.sink, entry 2, pitch_hz: 300.0 -> 310.0"]);
        let longer = sink("300.0", ", { sink_mps = -9.0, pitch_hz = 250.0 }");
        assert_eq!(between(&sink("300.0", ""), &longer), ["tone.sink: 2 entries -> 3 entries"]);
    }
}
