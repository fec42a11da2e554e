//! The table of settings in the documentation, in Markdown.

use super::write::{meaning, range, value};
use crate::words::wrapped;
use chirrup_core::rows::{Groups, Kind, Row, Setting, Value};

/// A row a setting: name, default, range with its unit, meaning; after a line for each group.
pub fn table<S: Groups>() -> String {
    let (mut text, mut defaults) = (String::new(), S::default());
    let mut is_open = false;
    for (place, known) in S::GROUPS.iter().enumerate() {
        let what = known.what;
        if known.name.is_empty() {
            text += if is_open { "" } else { HEAD };
        } else {
            let optional = if known.is_optional { " Optional." } else { "" };
            let about = wrapped(&format!("`[{}]`: {what}{optional}", known.name), WIDTH);
            text += &format!("\n{}\n\n{HEAD}", about.join("\n"));
        }
        is_open = known.name.is_empty();
        let Some(group) = defaults.group_mut(place) else { continue };
        for (place, row) in known.rows.iter().enumerate() {
            if let Some(setting) = group.setting(place) {
                text += &line(row, setting);
            }
        }
    }
    text
}

/// Columns of a line of text.
const WIDTH: usize = 100;

const HEAD: &str = "| setting | default | range | what it does |\n|---|---|---|---|\n";

fn line(row: &Row, setting: &dyn Setting) -> String {
    let default = match (row.kind, setting.value()) {
        (Kind::List { .. }, Value::Entries(count)) => format!("{count} entries"),
        (Kind::Number { .. }, Value::Number(number)) => with_unit(&format!("{number}"), row.unit),
        _ => format!("`{}`", value(row, setting)),
    };
    let range = match row.kind {
        Kind::Number { or_zero, .. } => {
            with_unit(&format!("{}{}", if or_zero { "0 or " } else { "" }, range(row)), row.unit)
        }
        _ => range(row),
    };
    let what = match row.kind {
        Kind::Number { .. } => row.what.to_owned(),
        _ => meaning(row),
    };
    format!("| `{}` | {default} | {} | {} |\n", row.name, cell(&range), cell(&what))
}

fn with_unit(text: &str, unit: &str) -> String {
    if unit.is_empty() { text.to_owned() } else { format!("{text} {unit}") }
}

/// Text escaped for a cell of the table.
fn cell(text: &str) -> String {
    text.replace('|', "\\|")
}
