//! The layout of the rows of a CSV: the column of each channel, which were used and ignored.

use super::clock::{Clock, Form};
use super::column::Column;
use super::columns::{Channel, ColumnMap, list};
use super::guess::Origin;
use super::header::Header;
use super::inertial::InertialColumns;
use super::missing;
use super::names;
use super::number::Style;
use super::position::PositionColumns;
use super::required;
use super::row::Row;
use crate::error::Complaint;
use crate::truth::Truth;

/// The least processed first: impact pressure is measured, the energy needs true airspeed, and an
/// indicated airspeed still has to be converted.
const SPEEDS: [Channel; 3] = [Channel::Dynamic, Channel::Tas, Channel::Ias];

/// The form of the airspeed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum SpeedForm {
    /// Impact pressure.
    Dynamic,
    /// True airspeed.
    True,
    /// Indicated airspeed, taken as calibrated.
    Calibrated,
}

/// The layout of the rows of one trace.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    /// How many columns the header names.
    pub width: usize,
    /// The time.
    pub time: Column,
    /// The static pressure.
    pub static_pressure: Column,
    /// The airspeed, in one form for the whole trace: a change from row to row would cause a step
    /// in the energy.
    pub speed: Option<(SpeedForm, Column)>,
    /// The pressure of a total-energy probe.
    pub te_pressure: Option<Column>,
    /// The outside air's temperature.
    pub outside_air: Option<Column>,
    /// Columns of an inertial sensor and a satellite receiver.
    pub inertial: InertialColumns,
    /// Columns of positions.
    pub position: PositionColumns,
    /// Places of the truth's columns, as [`Truth::COLUMNS`] names them.
    pub truth: [Option<usize>; 3],
    /// How numbers are written.
    pub style: Style,
    /// What the fields of the time are, as far as the first rows show.
    pub clock: Clock,
    /// What to look for in a header that comes again.
    pub settled: ColumnMap,
    notes: Vec<String>,
}

impl Layout {
    /// Finds every channel in the header.
    ///
    /// Of several airspeeds one is used: a column the user named comes before one found by our own
    /// name; then an impact pressure before a true airspeed before an indicated one.
    pub fn find(header: &Header<'_>, map: &ColumnMap) -> Result<Self, Box<Complaint>> {
        for named in map.named_columns() {
            let Some(index) = header.position(&named.column) else {
                return Err(missing::named(header, named));
            };
            if matches!(named.channel, Channel::Ias | Channel::Tas)
                && named.origin == Origin::Asked
                && !named.channel.is_own(&header.names[index])
            {
                return Err(missing::speed_unit(header, map, named.channel, index));
            }
        }
        let (time, clock, time_note) = required::time(header, map)?;
        let (static_pressure, unit_note) =
            required::static_pressure(header, map, (time.index, &clock))?;
        let find = |channel| match channel {
            Channel::Te => required::probe_pressure(header, map),
            _ => header.find(channel, map),
        };
        let mut speeds: Vec<(Channel, Column)> =
            SPEEDS.into_iter().filter_map(|channel| Some((channel, find(channel)?))).collect();
        speeds.sort_by_key(|(channel, _)| map.named(*channel).is_none());
        let (te_pressure, outside_air) = (find(Channel::Te), find(Channel::Oat));

        let used = [(Channel::Time, &time), (Channel::Static, &static_pressure)].into_iter();
        let used = used.chain(speeds.first().map(|(channel, column)| (*channel, column)));
        let used = used.chain(te_pressure.as_ref().map(|column| (Channel::Te, column)));
        let used = used.chain(outside_air.as_ref().map(|column| (Channel::Oat, column)));
        let inertial = InertialColumns::find(find);
        let position = PositionColumns::find(find);
        let used: Vec<_> = used.chain(inertial.used()).chain(position.used()).collect();
        let columns = notes(header, &used, &speeds, clock.form());
        let unused = without_unit(header, map, !speeds.is_empty(), te_pressure.is_some());
        let notes = columns.into_iter().chain(time_note).chain(unit_note).chain(unused).collect();
        let truth = Truth::COLUMNS.map(|name| header.position(name));

        let speed = speeds.into_iter().next().map(|(channel, column)| match channel {
            Channel::Dynamic => (SpeedForm::Dynamic, column),
            Channel::Tas => (SpeedForm::True, column),
            _ => (SpeedForm::Calibrated, column),
        });
        let in_their_units = [
            (Channel::Time, Some(&time)),
            (Channel::Static, Some(&static_pressure)),
            (Channel::Te, te_pressure.as_ref()),
        ];
        let settled = required::settled(header, map, &in_their_units);
        Ok(Layout {
            width: header.names.len(),
            time,
            static_pressure,
            speed,
            te_pressure,
            outside_air,
            inertial,
            position,
            truth,
            style: header.style,
            clock,
            settled,
            notes,
        })
    }

    /// Whether a row names the time and the static pressure as the header did.
    pub fn is_header_again(&self, row: &Row) -> bool {
        [&self.time, &self.static_pressure].iter().all(|column| {
            let field = row.field(column.index);
            field.is_some_and(|field| field.eq_ignore_ascii_case(column.name.as_bytes()))
        })
    }

    /// Why a row has no time.
    pub fn no_time(&self) -> String {
        let what = match self.clock.form() {
            Form::Calendar(_) => "date and time",
            Form::OfDay => "time of day",
            Form::OfHour => "minutes and seconds",
            _ => "number",
        };
        format!("no {what} in {}", self.time.name)
    }

    /// The notes on the columns used.
    pub fn notes(&self) -> &[String] {
        &self.notes
    }
}

/// What to type for an airspeed or a probe that no column was found for, since its name says no
/// unit.
fn without_unit(
    header: &Header<'_>,
    map: &ColumnMap,
    has_speed: bool,
    has_probe: bool,
) -> Vec<String> {
    let note = |(index, name): (usize, &String)| {
        let channel = names::without_unit(name)?;
        let is_there = if channel == Channel::Te { has_probe } else { has_speed };
        let is_named =
            map.named_columns().iter().any(|named| header.position(&named.column) == Some(index));
        let (first, others) = match channel {
            Channel::Ias | Channel::Tas => ("kt", "km/h, m/s"),
            _ => ("Pa", "hPa"),
        };
        let option = map.option(&[(channel, header.word(index), Some(first))]);
        let name = header.column(index, channel.unit_of("")).name;
        (!is_there && !is_named)
            .then(|| format!("{name} is not used: it says no unit; {option} (or {others}) uses it"))
    };
    header.names.iter().enumerate().filter_map(note).collect()
}

/// What to say about the columns.
fn notes(
    header: &Header<'_>,
    used: &[(Channel, &Column)],
    speeds: &[(Channel, Column)],
    form: Form,
) -> Vec<String> {
    let taken = |(channel, column): &(Channel, &Column)| {
        if *channel == Channel::Time && !matches!(form, Form::Count(_) | Form::Multiple(_)) {
            return format!("time from {}", column.name);
        }
        format!("{} from {} ({})", channel.name(), column.name, column.unit.name())
    };
    // Our own names are clear without a note.
    let foreign = used.iter().filter(|(channel, column)| !channel.is_own(&column.name));
    let mut notes = Vec::new();
    if foreign.clone().next().is_some() {
        notes.push(list(foreign.map(taken), "and"));
    }
    for (channel, column) in used {
        if column.is_altitude() {
            let name = channel.name();
            notes.push(format!(
                "{name} is a pressure altitude, taken as the standard atmosphere's pressure \
                 there"
            ));
        }
        let same = header
            .names
            .iter()
            .filter(|name| name.eq_ignore_ascii_case(&header.names[column.index]))
            .count();
        if same > 1 {
            notes.push(format!("the header has {same} columns {}; the first is used", column.name));
        }
    }
    if let [(_, first), others @ ..] = speeds
        && !others.is_empty()
    {
        let others = list(others.iter().map(|(_, column)| column.name.as_str()), "and");
        notes.push(format!("{others} not used: {} comes first", first.name));
    }
    if header.position(Truth::GUSTY).is_some() && header.position(Truth::CLIMB).is_none() {
        notes.push(format!(
            "{} counts every gust as a climb and is not taken for the truth; simulate the \
             flight again for {}",
            Truth::GUSTY,
            Truth::CLIMB
        ));
    }
    notes
}

#[cfg(test)]
mod tests;
