//! Settings as `key=value[,key=value]` on the command line, by the rows of the core.

use super::read::{one_of, unknown};
use chirrup_core::rows::{GroupRows, Groups, Kind, Row, Value, find};

/// Changes `settings` by what `words` say; `polar=none` takes an optional group away.
///
/// # Errors
/// The error, in words; `settings` may then be half changed.
pub fn apply<S: Groups>(words: &str, settings: &mut S) -> Result<(), String> {
    for word in words.split(',') {
        let (name, value) =
            word.split_once('=').ok_or_else(|| format!("found \"{word}\", expected key=value"))?;
        set(settings, name.trim(), value.trim())?;
    }
    Ok(())
}

fn set<S: Groups>(settings: &mut S, name: &str, value: &str) -> Result<(), String> {
    let is_group = |group: &GroupRows| group.is_optional && group.name == name;
    if let (Some(group), "none") = (S::GROUPS.iter().position(is_group), value) {
        settings.remove(group);
        return Ok(());
    }
    let (group, place) = find::<S>(name).ok_or_else(|| unknown::<S>(name))?;
    let known = &S::GROUPS[group];
    if settings.group(group).is_none() {
        let table = known.name;
        return Err(format!(
            "{name} needs a {table} to change, and there is none; begin with a settings file that \
             has [{table}]"
        ));
    }
    let value = parse(&known.rows[place], value)?;
    if let Some(setting) = settings.group_mut(group).and_then(|group| group.setting_mut(place)) {
        setting.set(value);
    }
    Ok(())
}

fn parse(row: &Row, text: &str) -> Result<Value, String> {
    let refuse = |expected: &str| format!("{}: found \"{text}\", expected {expected}", row.name);
    match row.kind {
        Kind::Number { whole: true, .. } => {
            let whole: Result<u8, _> = text.parse();
            whole.map(|whole| Value::Number(f32::from(whole))).map_err(|_| refuse("a whole number"))
        }
        Kind::Number { .. } => {
            let number: Result<f64, _> = text.parse();
            number.map(|number| Value::Number(number as f32)).map_err(|_| refuse("a number"))
        }
        Kind::Flag => text.parse().map(Value::Flag).map_err(|_| refuse("true or false")),
        Kind::Word(words) => {
            let place = words.iter().position(|word| word.word == unquoted(text));
            place.map(Value::Word).ok_or_else(|| refuse(&one_of(words)))
        }
        Kind::List { .. } => Err(format!("{} is a list; write it in a settings file", row.name)),
    }
}

/// A word may have quotes, as in a file.
fn unquoted(text: &str) -> &str {
    text.strip_prefix('"').and_then(|text| text.strip_suffix('"')).unwrap_or(text)
}
