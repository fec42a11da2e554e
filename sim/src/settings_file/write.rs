//! Settings as a TOML file: bare, or with every row's meaning, unit and range as comments.

use super::read::one_of;
use crate::words::wrapped;
use chirrup_core::rows::{Group, GroupRows, Groups, Kind, Row, Setting, Value};

/// Columns of a comment.
const WIDTH: usize = 96;

/// The settings without comments except `comments` at the top, a line each; [`super::from_text`]
/// reads the text back.
pub fn bare<S: Groups>(settings: &S, comments: &[String]) -> String {
    let mut text: String = comments
        .iter()
        .map(|comment| format!("# {}\n", comment.replace(char::is_control, " ")))
        .collect();
    if !text.is_empty() {
        text.push('\n');
    }
    for (place, known) in S::GROUPS.iter().enumerate() {
        let Some(group) = written(settings, place, known) else { continue };
        if !known.name.is_empty() {
            text += &format!("\n[{}]\n", known.name);
        }
        for (place, row) in known.rows.iter().enumerate() {
            if let Some(setting) = group.setting(place) {
                text += &format!("{} = {}\n", key(known, row), value(row, setting));
            }
        }
    }
    text
}

/// The settings with what each row means. An optional group that is not there, and what describes
/// an instrument's hardware while it is at its defaults, is written as a comment.
pub fn with_comments<S: Groups>(settings: &S) -> String {
    let mut text = String::from(
        "# The settings of a Chirrup instrument. Delete what you do not change; what is not here \
         stays\n# at its default.\n",
    );
    let mut all = settings.clone();
    for (place, known) in S::GROUPS.iter().enumerate() {
        let is_there = written(settings, place, known).is_some();
        if !known.name.is_empty() {
            text += &format!("\n{}", commented(known.what));
        }
        let Some(group) = all.group_mut(place) else { continue };
        if is_there {
            text += &table_with_comments(known, group);
        } else {
            text +=
                "# To use it, take away the first # of each line from here to the next table.\n";
            text.extend(table_with_comments(known, group).lines().map(|line| match line {
                "" => "#\n".to_owned(),
                line => format!("# {line}\n"),
            }));
        }
    }
    text
}

/// The group at `place` where it is to be written: not if it is absent, nor if it describes an
/// instrument's hardware and nobody has set it. Loaded into an instrument, such lines would
/// overwrite what is set there.
fn written<'a, S: Groups>(
    settings: &'a S,
    place: usize,
    known: &GroupRows,
) -> Option<&'a dyn Group> {
    let group = settings.group(place)?;
    let defaults = S::default();
    let usual = defaults.group(place);
    let is_usual = known.rows.iter().enumerate().all(|(row, known)| {
        let shown = |group: &dyn Group| group.setting(row).map(|setting| value(known, setting));
        usual.map(shown) == Some(shown(group))
    });
    (!known.is_device || !is_usual).then_some(group)
}

fn table_with_comments(known: &GroupRows, group: &dyn Group) -> String {
    let mut text = String::new();
    if !known.name.is_empty() {
        text += &format!("[{}]\n", known.name);
    }
    for (place, row) in known.rows.iter().enumerate() {
        let Some(setting) = group.setting(place) else { continue };
        let (meaning, key, value) = (meaning(row), key(known, row), value(row, setting));
        text += &format!("\n{}{key} = {value}\n", commented(&meaning));
    }
    text
}

/// A row for people: its meaning, unit and range.
pub fn meaning(row: &Row) -> String {
    let what = row.what;
    match row.kind {
        Kind::Number { or_zero, .. } => {
            let zero = if or_zero { "0 or " } else { "" };
            let range = format!("{zero}{} {}", range(row), row.unit);
            format!("{what} ({})", range.trim_end())
        }
        Kind::Flag => what.to_owned(),
        Kind::Word(words) => {
            let words: Vec<String> =
                words.iter().map(|word| format!("\"{}\": {}", word.word, word.what)).collect();
            format!("{what} {}.", words.join("; "))
        }
        Kind::List { fields, least, most } => {
            let fields: Vec<String> = fields
                .iter()
                .map(|field| {
                    let (name, what, unit) = (field.name, field.what, field.unit);
                    format!("{name} is the {what} ({} to {} {unit})", field.least, field.most)
                })
                .collect();
            format!("{what} {least} to {most} entries: {}.", fields.join("; "))
        }
    }
}

/// The range of a setting, in a few words.
pub fn range(row: &Row) -> String {
    match row.kind {
        Kind::Number { least, most, .. } => format!("{least} to {most}"),
        Kind::Flag => "true or false".to_owned(),
        Kind::Word(words) => one_of(words),
        Kind::List { least, most, .. } => format!("{least} to {most} entries"),
    }
}

fn commented(text: &str) -> String {
    wrapped(text, WIDTH).iter().map(|line| format!("# {line}\n")).collect()
}

/// A row's name within its table.
fn key<'a>(known: &GroupRows, row: &'a Row) -> &'a str {
    if known.name.is_empty() { row.name } else { &row.name[known.name.len() + 1..] }
}

/// A setting in TOML; the entries of a list one a line.
pub fn value(row: &Row, setting: &dyn Setting) -> String {
    match (setting.value(), row.kind) {
        (Value::Number(number), Kind::Number { whole: true, .. }) => format!("{number}"),
        // The fewest digits that give the same f32, and always a decimal point.
        (Value::Number(number), _) => format!("{number:?}"),
        (Value::Flag(flag), _) => flag.to_string(),
        (Value::Word(place), Kind::Word(words)) => format!("\"{}\"", words[place].word),
        (Value::Entries(count), Kind::List { fields, .. }) => {
            let entry = |index: usize| {
                let values = setting.entry(index).unwrap_or_default();
                let fields: Vec<String> = fields
                    .iter()
                    .zip(values)
                    .map(|(field, value)| format!("{} = {value:?}", field.name))
                    .collect();
                format!("    {{ {} }},\n", fields.join(", "))
            };
            format!("[\n{}]", (0..count).map(entry).collect::<String>())
        }
        (Value::Word(_) | Value::Entries(_), _) => String::new(),
    }
}
