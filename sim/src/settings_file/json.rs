//! Settings as JSON, for the reports of programs: names as in a settings file.

use chirrup_core::rows::{Field, Group, Groups, Kind, Row, Setting, Value};
use serde::ser::{Serialize, SerializeMap, SerializeSeq, Serializer};

/// For `#[serde(serialize_with)]`.
///
/// # Errors
/// Those of `serializer`.
pub fn as_json<G: Groups, S: Serializer>(settings: &G, serializer: S) -> Result<S::Ok, S::Error> {
    All(settings).serialize(serializer)
}

struct All<'a, G>(&'a G);

impl<G: Groups> Serialize for All<'_, G> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        for (place, known) in G::GROUPS.iter().enumerate() {
            let group = self.0.group(place);
            if known.name.is_empty() {
                for (place, row) in known.rows.iter().enumerate() {
                    let setting = group.and_then(|group| group.setting(place));
                    map.serialize_entry(row.name, &setting.map(|setting| One(row, setting)))?;
                }
            } else {
                map.serialize_entry(known.name, &group.map(|group| Table(known.name, group)))?;
            }
        }
        map.end()
    }
}

struct Table<'a>(&'static str, &'a dyn Group);

impl Serialize for Table<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self(name, group) = self;
        let mut map = serializer.serialize_map(None)?;
        for (place, row) in group.rows().iter().enumerate() {
            if let Some(setting) = group.setting(place) {
                map.serialize_entry(&row.name[name.len() + 1..], &One(row, setting))?;
            }
        }
        map.end()
    }
}

struct One<'a>(&'static Row, &'a dyn Setting);

impl Serialize for One<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self(row, setting) = self;
        match (setting.value(), row.kind) {
            (Value::Number(number), Kind::Number { whole: true, .. }) => {
                serializer.serialize_u8(number as u8)
            }
            (Value::Number(number), _) => serializer.serialize_f32(number),
            (Value::Flag(flag), _) => serializer.serialize_bool(flag),
            (Value::Word(place), Kind::Word(words)) => serializer.serialize_str(words[place].word),
            (Value::Entries(count), Kind::List { fields, .. }) => {
                let mut list = serializer.serialize_seq(Some(count))?;
                for values in (0..count).filter_map(|index| setting.entry(index)) {
                    list.serialize_element(&Entry(fields, &values))?;
                }
                list.end()
            }
            (Value::Word(_) | Value::Entries(_), _) => serializer.serialize_none(),
        }
    }
}

struct Entry<'a>(&'static [Field], &'a [f32]);

impl Serialize for Entry<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.0.iter().map(|field| field.name).zip(self.1))
    }
}
