//! What a user is told whose file lacks a column, or has one whose unit nobody says: the cell, what
//! it looks like, and what to type.

use super::columns::{Channel, ColumnMap, Named, list};
use super::header::{Header, MOST_COMPARED};
use super::names;
use super::unit::{Quantity, Unit};
use crate::error::Complaint;

fn complaint(
    header: &Header<'_>,
    column: Option<String>,
    expected: String,
    hint: String,
) -> Box<Complaint> {
    Box::new(Complaint {
        file: header.file.into(),
        line: Some(header.line),
        column,
        found: header.list_of_names(),
        expected,
        hint: Some(hint),
    })
}

/// A column that the user named is not there.
pub(super) fn named(header: &Header<'_>, named: &Named) -> Box<Complaint> {
    let (channel, column) = (named.channel.name(), named.column.clone());
    let hint = format!("correct {channel}={column} in --columns");
    complaint(header, Some(column), "one of that name".into(), hint)
}

/// No column is surely the time, or the static pressure.
pub(super) fn required(header: &Header<'_>, map: &ColumnMap, lacks: [bool; 2]) -> Box<Complaint> {
    let [time, static_pressure] = lacks;
    let wanted = |wanted: bool, text: &'static str| wanted.then_some(text);
    let expected = list(
        [wanted(time, "time_s"), wanted(static_pressure, "static_pa")].into_iter().flatten(),
        "and",
    );
    let found = header.place(Channel::Time, map).map(|place| place.index);
    let time_index = found.or_else(|| likely_time(header));
    let pressure = likely_pressure(header, time_index);
    let mut option = Vec::new();
    if time {
        let word = time_index.map_or("NAME".into(), |index| header.word(index));
        option.push((Channel::Time, word, time_index.and_then(|index| time_unit(header, index))));
    }
    if static_pressure {
        let word = pressure.map_or("NAME".into(), |index| header.word(index));
        option.push((Channel::Static, word, pressure.and_then(|index| unit(header, index))));
    }
    let hint = format!("say which they are, as in {}", map.option(&option));
    complaint(header, None, expected, hint)
}

/// Several columns could be it.
pub(super) fn several(
    header: &Header<'_>,
    map: &ColumnMap,
    channel: Channel,
    all: &[usize],
) -> Box<Complaint> {
    let words: Vec<String> = all.iter().map(|index| header.word(*index)).collect();
    let unit = all.first().and_then(|index| match channel {
        Channel::Time => time_unit(header, *index),
        _ => unit(header, *index),
    });
    Box::new(Complaint {
        file: header.file.into(),
        line: Some(header.line),
        column: None,
        found: format!("{} columns that may be the {}", list(&words, "and"), channel.name()),
        expected: "one".into(),
        hint: Some(format!(
            "say which, as in {}",
            map.option(&[(channel, words.first().cloned().unwrap_or_default(), unit)])
        )),
    })
}

/// An airspeed that the user named says no unit.
pub(super) fn speed_unit(
    header: &Header<'_>,
    map: &ColumnMap,
    channel: Channel,
    index: usize,
) -> Box<Complaint> {
    let option = map.option(&[(channel, header.word(index), Some("kt"))]);
    let known = list(Unit::all_of(channel.quantities()).map(Unit::name), "or");
    Box::new(Complaint {
        file: header.file.into(),
        line: Some(header.line),
        column: Some(super::lines::excerpt(header.names[index].as_bytes())),
        found: "an airspeed without a unit".into(),
        expected: known,
        hint: Some(format!("say which, as in {option}")),
    })
}

/// What may be hectopascals would climb or sink as no glider does.
pub(super) fn too_fast(
    header: &Header<'_>,
    map: &ColumnMap,
    index: usize,
    rate_mps: f64,
) -> Box<Complaint> {
    let (line, cell) = header
        .with_values(index, |values| values.first())
        .unwrap_or((header.line, "nothing".into()));
    let known = Unit::all_of(Channel::Static.quantities()).map(Unit::name);
    let as_unit = |unit: &str| map.option(&[(Channel::Static, header.word(index), Some(unit))]);
    Box::new(Complaint {
        file: header.file.into(),
        line: Some(line),
        column: header.has_names.then(|| super::lines::excerpt(header.names[index].as_bytes())),
        found: format!("{cell} and no unit, which in hPa would change by {rate_mps:.0} m/s"),
        expected: list(known, "or"),
        hint: Some(format!(
            "a height in metres is {}; if it is in hPa, {}, and look at the unit of the time",
            as_unit("m"),
            as_unit("hPa")
        )),
    })
}

/// The unit of a column is nowhere said and its values leave it open.
pub(super) fn unit_of(
    header: &Header<'_>,
    map: &ColumnMap,
    channel: Channel,
    index: usize,
) -> Box<Complaint> {
    let name = &header.names[index];
    let (first, fitting, step) = header.with_values(index, |values| match channel {
        Channel::Time => (values.first(), values.time_units(), values.step()),
        _ => (values.first(), values.pressure_units(), None),
    });
    let (line, cell) = first.unwrap_or((header.line, "nothing".into()));
    let cell = step.map_or(cell, |step| format!("steps of {}", (step * 1e6).round() / 1e6));
    let said = match Unit::in_brackets(name).filter(|_| channel.has_unknown_unit(name)) {
        Some(unit) => format!("{cell} in \"{unit}\""),
        None => format!("{cell} and no unit"),
    };
    let known = Unit::all_of(&channel.quantities()[..1]).map(Unit::name);
    // Numbers of an unknown unit look like many known ones; only pascals are too large for that.
    let is_unknown = channel.has_unknown_unit(name);
    let mut fitting = fitting;
    fitting.retain(|unit| !is_unknown || unit.name() == "Pa");
    let looks = match &fitting[..] {
        [] => String::new(),
        units => format!("it looks like {}: ", list(units.iter().map(|unit| unit.name()), "or")),
    };
    let example = fitting.first().map_or(channel.unit_of("").name(), |unit| unit.name());
    let example = if is_unknown && fitting.is_empty() { "UNIT" } else { example };
    let option = map.option(&[(channel, header.word(index), Some(example))]);
    let verb = match fitting.len() {
        0 if is_unknown => "say which of them for UNIT, or convert it, and type",
        1 => "type",
        _ => "say which, as in",
    };
    Box::new(Complaint {
        file: header.file.into(),
        line: Some(line),
        column: header.has_names.then(|| super::lines::excerpt(name.as_bytes())),
        found: said,
        expected: list(known, "or"),
        hint: Some(format!("{looks}{verb} {option}")),
    })
}

/// A unit to add to a column whose name has none, where its values show which.
fn unit(header: &Header<'_>, index: usize) -> Option<&'static str> {
    let name = &header.names[index];
    let all = [Quantity::Pressure, Quantity::Altitude];
    if let Some(own) = Unit::at_end_of(name, &all) {
        return (header.word(index) != *name).then_some(own.name());
    }
    if is_height(header, index) {
        return Some("m");
    }
    let fitting = header.with_values(index, |values| values.pressure_units());
    fitting.first().map(|unit| unit.name())
}

/// Whether a column is a height by its name, and can be one.
fn is_height(header: &Header<'_>, index: usize) -> bool {
    names::is_height(&header.names[index])
        && header.with_values(index, |values| values.are_heights())
}

fn time_unit(header: &Header<'_>, index: usize) -> Option<&'static str> {
    let name = &header.names[index];
    if Unit::at_end_of(name, &[Quantity::Time]).is_some() && header.word(index) == *name {
        return None;
    }
    let fitting = header.with_values(index, |values| values.time_units());
    fitting.first().map(|unit| unit.name()).filter(|unit| *unit != "s")
}

/// The first column whose name begins with one of these, in any order; else the first of all.
fn like(header: &Header<'_>, beginnings: &[&str], fits: impl Fn(usize) -> bool) -> Option<usize> {
    let named = |index: &usize| {
        let name = header.names[*index].to_lowercase();
        beginnings.iter().any(|beginning| name.starts_with(beginning))
    };
    let mut all = (0..header.names.len()).filter(|index| fits(*index));
    all.clone().find(named).or_else(|| all.next())
}

fn likely_time(header: &Header<'_>) -> Option<usize> {
    let is_time = |index: usize| {
        !names::is_bare_t(&header.names[index])
            || header.with_values(index, |values| values.are_increasing())
    };
    let has_name = |index: usize| !header.names[index].is_empty() && is_time(index);
    like(header, &["time", "t_", "t ", "sec", "milli", "micro", "t"], has_name)
}

/// The column of which the values are pressures of a flight, else the one whose name is like that.
fn likely_pressure(header: &Header<'_>, time: Option<usize>) -> Option<usize> {
    const BEGINNINGS: [&str; 6] = ["static", "p_", "pres", "baro", "p", "alt"];
    let is_other = |index: usize| Some(index) != time;
    let is_pressure = |index: usize| {
        is_other(index)
            && index < MOST_COMPARED
            && !is_height(header, index)
            && header.with_values(index, |values| !values.pressure_units().is_empty())
    };
    let has_name = |index: usize| is_other(index) && !header.names[index].is_empty();
    like(header, &BEGINNINGS, is_pressure).or_else(|| like(header, &BEGINNINGS, has_name))
}
