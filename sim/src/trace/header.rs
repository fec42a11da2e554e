//! The header of a CSV: the column of each channel, which columns were used and ignored, or what is
//! missing and how to name it.

use super::column::Column;
use super::columns::{Channel, ColumnMap, Named, list};
use super::inertial::InertialColumns;
use super::lines::excerpt;
use super::position::PositionColumns;
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
    notes: Vec<String>,
}

/// A header: the names of the columns, trimmed, and where it stands.
pub(super) struct Header<'a> {
    /// The file, for messages.
    pub file: &'a str,
    /// The line of the header.
    pub line: u64,
    /// The names.
    pub names: Vec<String>,
}

impl Layout {
    /// Finds every channel in the header.
    ///
    /// Of several airspeeds one is used: a column the user named comes before one found by our own
    /// name; then an impact pressure before a true airspeed before an indicated one.
    pub fn find(header: &Header<'_>, map: &ColumnMap) -> Result<Self, Box<Complaint>> {
        for named in map.named_columns() {
            if header.position(&named.column).is_none() {
                return Err(header.lacks(named));
            }
        }
        let find = |channel| header.find(channel, map);
        let (Some(time), Some(static_pressure)) = (find(Channel::Time), find(Channel::Static))
        else {
            return Err(header
                .lacks_required(find(Channel::Time).is_none(), find(Channel::Static).is_none()));
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
        let notes = header.notes(&used, &speeds);
        let truth = Truth::COLUMNS.map(|name| header.position(name));

        let speed = speeds.into_iter().next().map(|(channel, column)| match channel {
            Channel::Dynamic => (SpeedForm::Dynamic, column),
            Channel::Tas => (SpeedForm::True, column),
            _ => (SpeedForm::Calibrated, column),
        });
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
            notes,
        })
    }

    /// The notes on the columns used.
    pub fn notes(&self) -> &[String] {
        &self.notes
    }
}

impl Header<'_> {
    fn find(&self, channel: Channel, map: &ColumnMap) -> Option<Column> {
        let (index, unit) = match map.named(channel) {
            Some(named) => (self.position(&named.column)?, named.unit),
            None => channel
                .own_columns()
                .iter()
                .find_map(|own| Some((self.position(own)?, channel.unit_of(own))))?,
        };
        Some(Column { index, name: excerpt(self.names[index].as_bytes()), unit })
    }

    fn position(&self, name: &str) -> Option<usize> {
        self.names.iter().position(|own| own.to_lowercase() == name.to_lowercase())
    }

    fn notes(&self, used: &[(Channel, &Column)], speeds: &[(Channel, Column)]) -> Vec<String> {
        let taken = |(channel, column): &(Channel, &Column)| {
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
            let same = self
                .names
                .iter()
                .filter(|name| name.eq_ignore_ascii_case(&self.names[column.index]))
                .count();
            if same > 1 {
                notes.push(format!(
                    "the header has {same} columns {}; the first is used",
                    column.name
                ));
            }
        }
        if let [(_, first), others @ ..] = speeds
            && !others.is_empty()
        {
            let others = list(others.iter().map(|(_, column)| column.name.as_str()), "and");
            notes.push(format!("{others} not used: {} comes first", first.name));
        }
        if self.position(Truth::GUSTY).is_some() && self.position(Truth::CLIMB).is_none() {
            notes.push(format!(
                "{} counts every gust as a climb and is not taken for the truth; simulate the \
                 flight again for {}",
                Truth::GUSTY,
                Truth::CLIMB
            ));
        }
        notes
    }

    fn complaint(&self, column: Option<String>, expected: String, hint: String) -> Box<Complaint> {
        Box::new(Complaint {
            file: self.file.into(),
            line: Some(self.line),
            column,
            found: self.list_of_names(),
            expected,
            hint: Some(hint),
        })
    }

    fn lacks(&self, named: &Named) -> Box<Complaint> {
        let (channel, column) = (named.channel.name(), named.column.clone());
        let hint = format!("correct {channel}={column} in --columns");
        self.complaint(Some(column), "one of that name".into(), hint)
    }

    fn lacks_required(&self, time: bool, static_pressure: bool) -> Box<Complaint> {
        let (time_column, static_column) = self.likely();
        let wanted = |wanted: bool, text: &str| wanted.then(|| text.to_owned());
        let expected = list(
            [wanted(time, "time_s"), wanted(static_pressure, "static_pa")].into_iter().flatten(),
            "and",
        );
        let option = [
            wanted(time, &format!("time={time_column}")),
            wanted(static_pressure, &format!("static={static_column}")),
        ];
        let option = option.into_iter().flatten().collect::<Vec<_>>().join(",");
        self.complaint(None, expected, format!("say which they are, as in --columns {option}"))
    }

    /// The columns that are most likely the time and the static pressure, for the example.
    fn likely(&self) -> (&str, &str) {
        let like = |beginnings: &[&str], not: Option<&str>| {
            let names = self
                .names
                .iter()
                .map(String::as_str)
                .filter(|name| Some(*name) != not && !name.is_empty());
            let mut candidates = names.clone().filter(|name| {
                let name = name.to_lowercase();
                beginnings.iter().any(|beginning| name.starts_with(beginning))
            });
            candidates.next().or(names.clone().next()).unwrap_or("NAME")
        };
        let time = like(&["time", "t_", "t ", "sec", "milli", "micro", "t"], None);
        (time, like(&["static", "p_", "pres", "baro", "p", "alt"], Some(time)))
    }

    fn list_of_names(&self) -> String {
        const MOST: usize = 12;
        let shown: Vec<_> =
            self.names.iter().take(MOST).map(|name| excerpt(name.as_bytes())).collect();
        match (self.names.len(), self.names.len().saturating_sub(MOST)) {
            (1, _) => format!("only the column {}", shown[0]),
            (_, 0) => format!("the columns {}", list(shown, "and")),
            (_, more) => format!("the columns {} and {more} more", shown.join(", ")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn header(names: &str) -> Header<'static> {
        Header { file: "log.csv", line: 1, names: names.split(',').map(str::to_owned).collect() }
    }

    fn find(option: &str, names: &str) -> Result<Layout, Box<Complaint>> {
        Layout::find(&header(names), &option.parse().expect("it names columns"))
    }

    fn complaint(option: &str, names: &str) -> String {
        find(option, names).expect_err("a column is missing").to_string()
    }

    #[test]
    fn our_own_names_are_found_in_any_order_and_in_capitals() {
        let layout = find("", "x,OAT_C,Static_Pa,time_us,te_pa").expect("all are there");
        assert_eq!((layout.time.index, layout.static_pressure.index, layout.width), (3, 2, 5));
        assert_eq!(layout.time.decimal_places(), 0);
        assert_eq!(layout.te_pressure.map(|column| column.index), Some(4));
        let outside_air = layout.outside_air.expect("it is there");
        assert_relative_eq!(outside_air.convert(15.0).expect("it is finite"), 288.15);
        assert_eq!(layout.speed, None);
        assert!(layout.notes.is_empty(), "our own names need no note: {:?}", layout.notes);
    }

    #[test]
    fn foreign_names_are_told_with_the_unit_they_were_taken_in() {
        let layout =
            find("static=baro_hpa,ias=speed:km/h", "time_s,baro_hpa,speed").expect("all are there");
        assert_eq!(layout.notes, ["static from baro_hpa (hPa) and ias from speed (km/h)"]);
    }

    #[test]
    fn a_named_column_takes_the_place_of_ours_and_the_others_are_still_found() {
        let layout = find("static=p:hPa", "time_s,static_pa,p,tas_mps").expect("all are there");
        assert_eq!((layout.time.index, layout.static_pressure.index), (0, 2));
        assert_relative_eq!(
            layout.static_pressure.convert(1013.25).expect("it is finite"),
            101_325.0
        );
        assert_eq!(
            layout.speed.map(|(form, column)| (form, column.index)),
            Some((SpeedForm::True, 3))
        );
    }

    #[test]
    fn an_altitude_stands_for_the_pressure_of_the_standard_atmosphere() {
        // ICAO Doc 7488/3: 70108.53 Pa at 3000 m; 10 000 ft are 3048 m, 69681.7 Pa.
        let layout = find("static=alt_ft,te=h:m", "time_s,alt_ft,h").expect("all are there");
        assert_relative_eq!(
            layout.static_pressure.convert(3000.0 / 0.3048).expect("finite"),
            70_108.53,
            max_relative = 2e-6
        );
        assert_relative_eq!(
            layout.te_pressure.expect("there").convert(3000.0).expect("finite"),
            70_108.53,
            max_relative = 2e-6
        );
        let said =
            "static is a pressure altitude, taken as the standard atmosphere's pressure there";
        assert!(layout.notes.iter().any(|note| note == said), "{:?}", layout.notes);
        assert_eq!(layout.static_pressure.convert(-1e38), None);
    }

    #[test]
    fn one_airspeed_is_used_and_the_others_are_said_to_be_not() {
        let names = "time_s,static_pa,ias_mps,tas_mps,dynamic_pa,x";
        let speed = |option: &str| {
            let layout = find(option, names).expect("all are there");
            (
                layout.speed.expect("there are three").0,
                layout.notes.last().cloned().expect("it is said"),
            )
        };
        assert_eq!(
            speed(""),
            (SpeedForm::Dynamic, "tas_mps and ias_mps not used: dynamic_pa comes first".into())
        );
        assert_eq!(
            speed("ias=x"),
            (SpeedForm::Calibrated, "dynamic_pa and tas_mps not used: x comes first".into())
        );
    }

    #[test]
    fn a_name_that_occurs_twice_is_taken_from_the_left_and_told() {
        let layout = find("", "time_s,static_pa,STATIC_PA").expect("all are there");
        assert_eq!(layout.static_pressure.index, 1);
        assert_eq!(layout.notes[0], "the header has 2 columns static_pa; the first is used");
    }

    #[test]
    fn the_gusty_energy_of_earlier_versions_is_no_truth_and_is_told() {
        let old = find("", "time_s,static_pa,truth_air_mps,truth_energy_mps").expect("all there");
        assert_eq!(old.truth, [Some(2), None, None]);
        let said = "truth_energy_mps counts every gust as a climb and is not taken for the truth; \
                    simulate the flight again for truth_climb_mps";
        assert_eq!(old.notes, [said]);
        let new = find("", "time_s,static_pa,truth_climb_mps,truth_energy_mps").expect("all there");
        assert_eq!(new.truth, [None, None, Some(2)]);
        assert!(new.notes.is_empty(), "{:?}", new.notes);
    }

    #[test]
    fn a_missing_column_is_answered_with_those_there_are() {
        assert_eq!(
            complaint("static=p", "time_s,pressure"),
            "log.csv:1: column p: found the columns time_s and pressure, expected one of that \
             name; correct static=p in --columns"
        );
        assert_eq!(
            complaint("", "t_s,p_pa,eas_mps"),
            "log.csv:1: found the columns t_s, p_pa and eas_mps, expected time_s and static_pa; \
             say which they are, as in --columns time=t_s,static=p_pa"
        );
        assert_eq!(
            complaint("time=t", "Altitude,t,Baro"),
            "log.csv:1: found the columns Altitude, t and Baro, expected static_pa; \
             say which they are, as in --columns static=Altitude"
        );
        assert_eq!(
            complaint("", "x"),
            "log.csv:1: found only the column x, expected time_s and static_pa; \
             say which they are, as in --columns time=x,static=NAME"
        );
        let many = (0..20).map(|index| format!("c{index}")).collect::<Vec<_>>().join(",");
        assert!(complaint("", &many).contains("c11 and 8 more, expected"));
    }
}
