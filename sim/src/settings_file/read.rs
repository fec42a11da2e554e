//! Reads settings from a TOML file, by the rows of the core.
//!
//! Settings not in the file stay unchanged, so that files can be combined. Errors give the line and
//! what was expected.

use super::found::Found;
use super::old::Old;
use super::wrong::{Wrong, cut, number, shown, wrong};
use chirrup_core::rows::{Entry, Field, Groups, Kind, Row, Setting, Value};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A setting or a table as the parser gives it.
type Item<'a, 'text> = (&'a Spanned<DeValue<'text>>, Range<usize>);

/// Applies `text` to `settings`.
///
/// # Errors
/// The first error; `settings` may then be half changed.
pub fn apply<S: Groups + Old>(text: &str, settings: &mut S) -> Result<Found, Wrong> {
    let table = DeTable::parse(text).map_err(|error| no_toml(text, &error))?;
    let mut found = Found::default();
    for (name, (value, key)) in in_order(table.get_ref()) {
        match (S::GROUPS.iter().position(|group| group.name == name), value.get_ref()) {
            (Some(group), DeValue::Table(inner)) if !name.is_empty() => {
                apply_table(group, inner, settings, &mut found)?;
            }
            (Some(_), other) if !name.is_empty() => {
                let what = format!("{name}: found {}, expected a table [{name}]", shown(other));
                return Err(wrong(key.start, &what));
            }
            _ if name.contains('.') => {
                let name = cut(name);
                let what = format!("found the name {name} in quotes, expected {name} without them");
                return Err(wrong(key.start, &what));
            }
            _ => apply_row(name, value, key, settings, &mut found)?,
        }
    }
    Ok(found)
}

fn apply_table<S: Groups + Old>(
    group: usize,
    table: &DeTable<'_>,
    settings: &mut S,
    found: &mut Found,
) -> Result<(), Wrong> {
    let Some(known) = S::GROUPS.get(group) else { return Ok(()) };
    // An empty table of an optional group is there.
    let _ = settings.group_mut(group);
    let passed = settings.take_old(known.name, table, found)?;
    for (name, (value, key)) in in_order(table) {
        if !passed.contains(&name) {
            apply_row(&format!("{}.{name}", known.name), value, key, settings, found)?;
        }
    }
    Ok(())
}

fn apply_row<S: Groups>(
    name: &str,
    value: &Spanned<DeValue<'_>>,
    key: Range<usize>,
    settings: &mut S,
    found: &mut Found,
) -> Result<(), Wrong> {
    let unknown = || wrong(key.start, &unknown::<S>(name));
    let (group, place) = chirrup_core::rows::find::<S>(name).ok_or_else(unknown)?;
    let row = &S::GROUPS[group].rows[place];
    found.setting(row.name, key.start);
    let setting = settings.group_mut(group).and_then(|group| group.setting_mut(place));
    take(row, value, setting.ok_or_else(unknown)?, found)
}

/// What is wrong in a text that is not TOML.
fn no_toml(text: &str, error: &toml::de::Error) -> Wrong {
    let span = error.span().unwrap_or_default();
    match (error.message(), text.get(span.clone())) {
        ("duplicate key", Some(key)) => {
            wrong(span.start, &format!("found {} twice, expected it once", cut(key)))
        }
        (message, _) => wrong(span.start, message),
    }
}

/// The message for an unknown name.
pub fn unknown<S: Groups>(name: &str) -> String {
    let tables = S::GROUPS.iter().map(|group| group.name).filter(|name| !name.is_empty());
    let names = S::GROUPS.iter().flat_map(|group| group.rows).map(|row| row.name).chain(tables);
    // The last part alone counts too: `volume` is `tone.volume`.
    let likeness = |known: &str| {
        let last = known.rsplit('.').next().unwrap_or(known);
        strsim::jaro_winkler(name, known).max(strsim::jaro_winkler(name, last) - 0.01)
    };
    let best = names
        .filter(|known| *known != name)
        .map(|known| (likeness(known), known))
        .max_by(|(first, _), (second, _)| first.total_cmp(second))
        .filter(|(likeness, _)| *likeness > 0.85);
    match best {
        Some((_, known)) => format!("there is no setting {}; did you mean {known}?", cut(name)),
        None => format!("there is no setting {}; `chirrup settings` lists them all", cut(name)),
    }
}

fn take(
    row: &'static Row,
    value: &Spanned<DeValue<'_>>,
    setting: &mut dyn Setting,
    found: &mut Found,
) -> Result<(), Wrong> {
    let at = value.span().start;
    let refuse = |expected: &str| {
        let what = format!("{}: found {}, expected {expected}", row.name, shown(value.get_ref()));
        wrong(at, &what)
    };
    let taken = match (row.kind, value.get_ref()) {
        (Kind::Number { whole, .. }, value) => {
            let expected = if whole { "a whole number" } else { "a number" };
            let number = number(value).ok_or_else(|| refuse(expected))?;
            let is_whole = (0.0..=255.0).contains(&number) && number.fract() == 0.0;
            if whole && !is_whole {
                return Err(refuse(expected));
            }
            Value::Number(number)
        }
        (Kind::Flag, DeValue::Boolean(flag)) => Value::Flag(*flag),
        (Kind::Flag, _) => return Err(refuse("true or false")),
        (Kind::Word(words), value) => {
            let place = words.iter().position(|word| Some(word.word) == value.as_str());
            Value::Word(place.ok_or_else(|| refuse(&one_of(words)))?)
        }
        (Kind::List { fields, most, .. }, DeValue::Array(entries)) => {
            setting.set(Value::Entries(0));
            for (index, entry) in entries.iter().enumerate() {
                let entry = read_entry(row, fields, index + 1, entry, found)?;
                if !setting.push(&entry) {
                    let count = entries.len();
                    return Err(refuse(&format!("at most {most} entries instead of {count}")));
                }
            }
            return Ok(());
        }
        (Kind::List { .. }, _) => return Err(refuse("a list of entries, [{ .. }, { .. }]")),
    };
    setting.set(taken);
    Ok(())
}

/// The possible words, as a list for people.
pub fn one_of(words: &[chirrup_core::rows::Word]) -> String {
    let words: Vec<String> = words.iter().map(|word| format!("\"{}\"", word.word)).collect();
    match words.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => words.concat(),
    }
}

fn read_entry(
    row: &'static Row,
    fields: &'static [Field],
    place: usize,
    value: &Spanned<DeValue<'_>>,
    found: &mut Found,
) -> Result<Entry, Wrong> {
    let list = row.name;
    let example = || {
        let fields: Vec<String> =
            fields.iter().map(|field| format!("{} = ..", field.name)).collect();
        format!("{{ {} }}", fields.join(", "))
    };
    let Some(table) = value.get_ref().as_table() else {
        let shown = shown(value.get_ref());
        let what = format!("{list}, entry {place}: found {shown}, expected {}", example());
        return Err(wrong(value.span().start, &what));
    };
    let mut entry = [None; chirrup_core::rows::MOST_FIELDS];
    for (name, (value, key)) in in_order(table) {
        let known = fields.iter().zip(&mut entry).find(|(field, _)| field.name == name);
        let Some((field, slot)) = known else {
            let what = format!("{list}, entry {place}: there is no {name}, expected {}", example());
            return Err(wrong(key.start, &what));
        };
        found.field(list, place, field.name, key.start);
        *slot = Some(number(value.get_ref()).ok_or_else(|| {
            let shown = shown(value.get_ref());
            let what = format!("{list}, entry {place}: {name}: found {shown}, expected a number");
            wrong(value.span().start, &what)
        })?);
    }
    let (mut numbers, at) = (Entry::default(), value.span().start);
    for ((field, value), slot) in fields.iter().zip(entry).zip(&mut numbers) {
        *slot = value.ok_or_else(|| {
            let what = format!("{list}, entry {place}: {} is missing", field.name);
            wrong(at, &what)
        })?;
    }
    Ok(numbers)
}

fn in_order<'a, 'text>(
    table: &'a DeTable<'text>,
) -> impl Iterator<Item = (&'a str, Item<'a, 'text>)> {
    let mut items: Vec<_> =
        table.iter().map(|(key, value)| (key.get_ref().as_ref(), (value, key.span()))).collect();
    items.sort_by_key(|(_, (_, key))| key.start);
    items.into_iter()
}
