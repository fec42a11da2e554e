//! The two columns that every trace has, time and static pressure: by our own names, by the user's,
//! or by those of other loggers where only one column fits.

use super::calendar::{self, SlashOrder};
use super::clock::Clock;
use super::column::Column;
use super::columns::{Channel, ColumnMap, Named};
use super::guess::{Found, Origin};
use super::header::{Header, MOST_COMPARED, Place};
use super::missing;
use super::names;
use super::too_fast;
use super::unit::Unit;
use crate::error::Complaint;

/// Seconds between rows of which a note is made (flight recorders write every 1 to 12 s).
const MOST_BETWEEN_ROWS_S: f64 = 12.0;

/// What was found, and what to say of it.
type WithNote<T> = Result<(T, Option<String>), Box<Complaint>>;

/// The column of the time, and its clock.
pub(super) fn time(
    header: &Header<'_>,
    map: &ColumnMap,
) -> Result<(Column, Clock, Option<String>), Box<Complaint>> {
    let place = match header.place(Channel::Time, map) {
        Some(place) => place,
        None => foreign(header, map, Channel::Time, None)?,
    };
    let found = clock_of(header, &place)
        .ok_or_else(|| missing::unit_of(header, map, Channel::Time, place.index))?;
    let name = &header.names[place.index];
    let date = date_beside(header, place.index);
    let is_utc = names::is_utc(name) || date.is_some_and(|at| names::is_utc(&header.names[at]));
    let mut clock = Clock::new(found.form, header.style, is_utc);
    clock.begin_on(date.and_then(|date| first_date(header, date)));
    let note = (found.is_number() && found.unit != place.unit)
        .then(|| says_otherwise(header, map, (Channel::Time, &place), found.unit))
        .flatten();
    let note = note.or_else(|| sparse(header, &place, found));
    Ok((header.column(place.index, found.unit), clock, note))
}

/// The column of the static pressure; `time` is the column of the time, with its clock.
pub(super) fn static_pressure(
    header: &Header<'_>,
    map: &ColumnMap,
    (time, clock): (usize, &Clock),
) -> WithNote<Column> {
    let place = match header.place(Channel::Static, map) {
        Some(place) => place,
        None => foreign(header, map, Channel::Static, Some(time))?,
    };
    let unit = pressure_unit(header, &place)
        .ok_or_else(|| missing::unit_of(header, map, Channel::Static, place.index))?;
    if place.origin == Origin::Nobody
        && unit.name() == "hPa"
        && let Some(rate_mps) = too_fast::rate_mps(header, place.index, (time, clock))
    {
        return Err(missing::too_fast(header, map, place.index, rate_mps));
    }
    let note = (unit != place.unit)
        .then(|| says_otherwise(header, map, (Channel::Static, &place), unit))
        .flatten();
    Ok((header.column(place.index, unit), note))
}

/// The column of a total-energy probe's pressure, in the unit that its values show.
pub(super) fn probe_pressure(header: &Header<'_>, map: &ColumnMap) -> Option<Column> {
    let place = header.place(Channel::Te, map)?;
    let unit = pressure_unit(header, &place).unwrap_or(place.unit);
    Some(header.column(place.index, unit))
}

/// What to look for where a header comes again: what was found, in the units that it had.
pub(super) fn settled(
    header: &Header<'_>,
    map: &ColumnMap,
    found: &[(Channel, Option<&Column>)],
) -> ColumnMap {
    let found = found.iter().filter_map(|(channel, column)| Some((*channel, (*column)?)));
    found.fold(map.clone(), |map, (channel, column)| {
        let word = header.word(column.index);
        map.with(Named { channel, column: word, unit: column.unit, origin: Origin::Given })
    })
}

/// The one column with a name of other loggers.
fn foreign(
    header: &Header<'_>,
    map: &ColumnMap,
    channel: Channel,
    time: Option<usize>,
) -> Result<Place, Box<Complaint>> {
    let place = |index: usize| {
        let in_name = Unit::at_end_of(&header.names[index], channel.quantities());
        let unit = in_name.unwrap_or_else(|| channel.unit_of(""));
        let origin = if in_name.is_some() { Origin::Name } else { Origin::Nobody };
        Place { index, unit, origin }
    };
    let is_it = |index: &usize| {
        if header.has_names {
            names::is_of(channel, &header.names[*index])
        } else {
            *index == usize::from(channel == Channel::Static)
        }
    };
    let named = (0..header.names.len()).filter(is_it).filter(|index| Some(*index) != time);
    let named: Vec<usize> = named.take(MOST_COMPARED).collect();
    let named = if channel == Channel::Time { without_temperatures(header, named) } else { named };
    let fits = |index: &&usize| match channel {
        Channel::Time => clock_of(header, &place(**index)).is_some(),
        _ => pressure_unit(header, &place(**index)).is_some(),
    };
    let fitting: Vec<usize> = named.iter().filter(fits).copied().collect();
    match (&fitting[..], &named[..]) {
        ([only], _) => Ok(place(*only)),
        ([], [only]) => Err(missing::unit_of(header, map, channel, *only)),
        ([], []) => {
            let lacks = |channel| {
                let is_it = |name: &String| header.has_names && names::is_of(channel, name);
                header.place(channel, map).is_none() && !header.names.iter().any(is_it)
            };
            let lacks = [Channel::Time, Channel::Static].map(|of| of == channel || lacks(of));
            Err(missing::required(header, map, lacks))
        }
        ([], all) | (all, _) => Err(missing::several(header, map, channel, all)),
    }
}

/// Without a T that may be a temperature: where another column is the time, or where it is not the
/// first and does not increase.
fn without_temperatures(header: &Header<'_>, mut named: Vec<usize>) -> Vec<usize> {
    let is_bare = |index: &usize| names::is_bare_t(&header.names[*index]);
    let has_other = named.iter().any(|index| !is_bare(index));
    named.retain(|index| {
        let increases = || header.with_values(*index, |values| values.are_increasing());
        !is_bare(index) || !has_other && (*index == 0 || increases())
    });
    named
}

fn clock_of(header: &Header<'_>, place: &Place) -> Option<Found> {
    let found = header.with_values(place.index, |values| values.clock(place.unit, place.origin))?;
    let is_unknown = place.origin == Origin::Nobody
        && found.is_number()
        && Channel::Time.has_unknown_unit(&header.names[place.index]);
    (!is_unknown).then_some(found)
}

fn pressure_unit(header: &Header<'_>, place: &Place) -> Option<&'static Unit> {
    let is_unknown = Channel::Static.has_unknown_unit(&header.names[place.index]);
    if is_unknown && matches!(place.origin, Origin::Nobody | Origin::Asked) {
        return None;
    }
    header.with_values(place.index, |values| values.pressure_unit(place.unit, place.origin))
}

/// That values and not the name gave the unit, and what to type if they are wrong.
fn says_otherwise(
    header: &Header<'_>,
    map: &ColumnMap,
    (channel, place): (Channel, &Place),
    unit: &Unit,
) -> Option<String> {
    let (line, cell) = header.with_values(place.index, |values| values.first())?;
    let (name, unit) = (&header.column(place.index, place.unit).name, unit.name());
    let option = map.option(&[(channel, header.word(place.index), Some(place.unit.name()))]);
    Some(format!(
        "{name} looks like {unit} ({cell} at line {line}): read as {unit}; {option} says otherwise"
    ))
}

/// That rows are further apart than a recorder writes them, where the name alone gave the unit.
fn sparse(header: &Header<'_>, place: &Place, found: Found) -> Option<String> {
    let step = header.with_values(place.index, |values| values.step())?;
    let step_s = found.unit.convert(step) * 1e-6;
    let name = &header.column(place.index, found.unit).name;
    let is_asked = place.origin == Origin::Name && found.unit.name() == "s" && found.is_number();
    (is_asked && step_s > MOST_BETWEEN_ROWS_S)
        .then(|| format!("one row every {step_s} s: is {name} in ms?"))
}

/// The column of dates beside that of the time: `date`, `Date (UTC)`.
fn date_beside(header: &Header<'_>, time: usize) -> Option<usize> {
    let is_date = |name: &String| {
        let name = name.to_lowercase();
        let rest = name.strip_prefix("date").map(|rest| rest.trim_matches([' ', '_', '(', ')']));
        matches!(rest, Some("" | "utc" | "gmt"))
    };
    header.names.iter().position(is_date).filter(|index| *index != time)
}

fn first_date(header: &Header<'_>, index: usize) -> Option<i64> {
    let cells = header.first.column(index);
    let order = SlashOrder::of(cells.iter().map(|(_, text)| text.as_slice()));
    let date = calendar::date(&cells.first()?.1, order)?;
    (order != SlashOrder::Unclear).then_some(date)
}
