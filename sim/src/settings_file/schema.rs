//! The JSON schema of a settings file, with which an editor completes names and marks errors while
//! typing.

use super::write::meaning;
use chirrup_core::rows::{Groups, Kind, Row, Setting, Value};
use serde_json::{Map, Value as Json, json};

/// The schema, by JSON Schema draft 7, which editors of TOML understand.
pub fn schema<S: Groups>() -> Json {
    let (mut properties, mut defaults) = (Map::new(), S::default());
    for (place, known) in S::GROUPS.iter().enumerate() {
        let Some(group) = defaults.group_mut(place) else { continue };
        let mut rows = Map::new();
        for (place, row) in known.rows.iter().enumerate() {
            if let Some(setting) = group.setting(place) {
                let name = row.name.rsplit('.').next().unwrap_or(row.name);
                rows.insert(name.to_owned(), of_row(row, setting));
            }
        }
        if known.name.is_empty() {
            properties.extend(rows);
        } else {
            properties.insert(known.name.to_owned(), object(rows, known.what));
        }
    }
    let mut schema = object(properties, "The settings of a Chirrup instrument.");
    schema["$schema"] = json!("http://json-schema.org/draft-07/schema#");
    schema["title"] = json!("Chirrup settings");
    schema
}

fn object(properties: Map<String, Json>, what: &str) -> Json {
    json!({
        "type": "object",
        "description": what,
        "properties": properties,
        "additionalProperties": false,
    })
}

fn of_row(row: &Row, setting: &dyn Setting) -> Json {
    let mut schema = match row.kind {
        Kind::Number { least, most, or_zero, whole } => {
            let kind = if whole { "integer" } else { "number" };
            let range = json!({ "type": kind, "minimum": number(least), "maximum": number(most) });
            if or_zero { json!({ "anyOf": [{ "const": 0 }, range] }) } else { range }
        }
        Kind::Flag => json!({ "type": "boolean" }),
        Kind::Word(words) => {
            json!({ "enum": words.iter().map(|word| word.word).collect::<Vec<_>>() })
        }
        Kind::List { fields, least, most } => {
            let of_field = |field: &chirrup_core::rows::Field| {
                let what = format!("{} ({})", field.what, field.unit);
                let (least, most) = (number(field.least), number(field.most));
                let schema = json!({
                    "type": "number", "minimum": least, "maximum": most, "description": what,
                });
                (field.name.to_owned(), schema)
            };
            let names: Vec<&str> = fields.iter().map(|field| field.name).collect();
            json!({
                "type": "array",
                "minItems": least,
                "maxItems": most,
                "items": {
                    "type": "object",
                    "properties": fields.iter().map(of_field).collect::<Map<_, _>>(),
                    "required": names,
                    "additionalProperties": false,
                },
            })
        }
    };
    schema["description"] = json!(meaning(row));
    if let Some(default) = default(row, setting) {
        schema["default"] = default;
    }
    schema
}

fn default(row: &Row, setting: &dyn Setting) -> Option<Json> {
    match (setting.value(), row.kind) {
        (Value::Number(value), Kind::Number { whole: true, .. }) => Some(json!(value as u8)),
        (Value::Number(value), _) => Some(number(value)),
        (Value::Flag(flag), _) => Some(json!(flag)),
        (Value::Word(place), Kind::Word(words)) => words.get(place).map(|word| json!(word.word)),
        _ => None,
    }
}

/// A number in the fewest digits that give the same `f32`.
fn number(value: f32) -> Json {
    json!(value.to_string().parse::<f64>().unwrap_or_default())
}
