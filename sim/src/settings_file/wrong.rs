//! Errors of a settings file, and reading its numbers.

use toml::de::DeValue;

/// An error, and its place in the text.
#[derive(Clone, Debug, PartialEq)]
pub struct Wrong {
    /// Offset of the byte.
    pub at: usize,
    /// In one line.
    pub what: String,
}

/// A number, whole or not; the nearest `f32`.
pub fn number(value: &DeValue<'_>) -> Option<f32> {
    match value {
        DeValue::Float(float) => float.as_str().parse::<f64>().ok().map(|number| number as f32),
        DeValue::Integer(whole) => {
            i64::from_str_radix(whole.as_str(), whole.radix()).ok().map(|number| number as f32)
        }
        _ => None,
    }
}

/// The error, in one line that is safe for a terminal: a file may hold anything.
pub fn wrong(at: usize, what: &str) -> Wrong {
    let what = what.replace(char::is_control, " ");
    Wrong { at, what: what.split_whitespace().collect::<Vec<_>>().join(" ") }
}

/// A value as it might be shown in a message.
pub fn shown(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("\"{}\"", cut(text)),
        DeValue::Integer(number) => number.as_str().to_owned(),
        DeValue::Float(number) => number.as_str().to_owned(),
        DeValue::Boolean(flag) => flag.to_string(),
        DeValue::Datetime(time) => time.to_string(),
        DeValue::Array(_) => "a list".to_owned(),
        DeValue::Table(_) => "a table".to_owned(),
    }
}

/// The beginning of `text`: what a file holds may be long.
pub fn cut(text: &str) -> String {
    const LONGEST: usize = 40;
    let mut beginning: String = text.chars().take(LONGEST).collect();
    if beginning.len() < text.len() {
        beginning.push_str("..");
    }
    beginning
}
