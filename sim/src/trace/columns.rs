//! Which column of a CSV holds what, as the user says it (`--columns time=t_s,static=p:hPa`) or by our own names.
//!
//! ```text
//! CHANNEL=COLUMN          unit from the end of the column's name (`p_hpa`, `speed (km/h)`), else the channel's own
//! CHANNEL=COLUMN:UNIT     unit as given
//!
//! channel   our names          its own unit   others
//! time      time_s, time_us    s              ms us
//! static    static_pa          Pa             hPa mbar kPa inHg; m ft for a pressure altitude
//! dynamic   dynamic_pa         Pa             hPa mbar kPa inHg
//! ias       ias_mps            m/s            kt km/h mph
//! tas       tas_mps            m/s            kt km/h mph
//! te        te_pa              Pa             hPa mbar kPa inHg; m ft for a pressure altitude
//! oat       oat_c              C              K F
//! ```
//!
//! Names and units are taken in capitals or not. A column whose own name has a colon needs its unit said; one with a
//! comma cannot be named.

use super::unit::{Quantity, Unit};
use crate::error::Complaint;
use chirrup_core::atmosphere::pressure_at;
use chirrup_core::units::Metre;
use std::str::FromStr;

/// A quantity that a trace may hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Channel {
    Time,
    Static,
    Dynamic,
    Ias,
    Tas,
    Te,
    Oat,
}

/// The rawest first: an impact pressure is what was measured, the true airspeed is what the energy needs, and an
/// indicated airspeed still has to be turned into it.
const SPEEDS: [Channel; 3] = [Channel::Dynamic, Channel::Tas, Channel::Ias];

impl Channel {
    const ALL: [Channel; 7] = [Self::Time, Self::Static, Self::Dynamic, Self::Ias, Self::Tas, Self::Te, Self::Oat];

    fn name(self) -> &'static str {
        match self {
            Self::Time => "time",
            Self::Static => "static",
            Self::Dynamic => "dynamic",
            Self::Ias => "ias",
            Self::Tas => "tas",
            Self::Te => "te",
            Self::Oat => "oat",
        }
    }

    fn own_columns(self) -> &'static [&'static str] {
        match self {
            Self::Time => &["time_s", "time_us"],
            Self::Static => &["static_pa"],
            Self::Dynamic => &["dynamic_pa"],
            Self::Ias => &["ias_mps"],
            Self::Tas => &["tas_mps"],
            Self::Te => &["te_pa"],
            Self::Oat => &["oat_c"],
        }
    }

    /// The first is meant where nothing is said.
    fn quantities(self) -> &'static [Quantity] {
        match self {
            Self::Time => &[Quantity::Time],
            Self::Static | Self::Te => &[Quantity::Pressure, Quantity::Altitude],
            Self::Dynamic => &[Quantity::Pressure],
            Self::Ias | Self::Tas => &[Quantity::Speed],
            Self::Oat => &[Quantity::Temperature],
        }
    }

    fn unit_of(self, column: &str) -> &'static Unit {
        Unit::at_end_of(column, self.quantities())
            .or_else(|| Unit::all_of(self.quantities()).next())
            .expect("every quantity has a unit")
    }
}

/// The columns a user named; empty where our own names are looked for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ColumnMap {
    columns: Vec<Named>,
}

#[derive(Clone, Debug, PartialEq)]
struct Named {
    channel: Channel,
    column: String,
    unit: &'static Unit,
}

/// Why a text does not name columns, in one line.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct ColumnMapError(String);

impl ColumnMap {
    /// Whether no column is named.
    pub fn is_empty(&self) -> bool {
        self.columns.is_empty()
    }

    fn named(&self, channel: Channel) -> Option<&Named> {
        self.columns.iter().find(|named| named.channel == channel)
    }
}

impl FromStr for ColumnMap {
    type Err = ColumnMapError;

    fn from_str(text: &str) -> Result<Self, ColumnMapError> {
        let mut columns: Vec<Named> = Vec::new();
        for part in text.split(',') {
            let named: Named = part.parse()?;
            if let Some(before) = columns.iter().find(|before| before.channel == named.channel) {
                let (channel, first, second) = (named.channel.name(), &before.column, &named.column);
                return Err(ColumnMapError(format!("{channel} is named twice, as {first} and as {second}")));
            }
            columns.push(named);
        }
        Ok(Self { columns })
    }
}

impl FromStr for Named {
    type Err = ColumnMapError;

    fn from_str(text: &str) -> Result<Self, ColumnMapError> {
        let halves = text.split_once('=').map(|(channel, column)| (channel.trim(), column.trim()));
        let (channel, rest) = halves
            .filter(|(channel, column)| !channel.is_empty() && !column.is_empty() && !column.starts_with(':'))
            .ok_or_else(|| {
                ColumnMapError(format!(
                    "\"{text}\" is not CHANNEL=COLUMN or CHANNEL=COLUMN:UNIT, such as static=p:hPa"
                ))
            })?;
        let channel =
            Channel::ALL.into_iter().find(|known| known.name().eq_ignore_ascii_case(channel)).ok_or_else(|| {
                let known = list(Channel::ALL.map(Channel::name), "and");
                ColumnMapError(format!("unknown channel \"{channel}\"; there are {known}"))
            })?;
        let (column, unit) = match rest.rsplit_once(':').map(|(column, unit)| (column.trim(), unit.trim())) {
            None => (rest, channel.unit_of(rest)),
            Some((column, unit)) => {
                (column, Unit::spelled(unit, channel.quantities()).ok_or_else(|| unknown_unit(unit, channel))?)
            }
        };
        Ok(Self { channel, column: column.into(), unit })
    }
}

fn unknown_unit(unit: &str, channel: Channel) -> ColumnMapError {
    let known = list(Unit::all_of(&channel.quantities()[..1]).map(Unit::name), "and");
    let altitudes = match channel.quantities() {
        [_, other] => {
            format!(", or {} for a pressure altitude", list(Unit::all_of(&[*other]).map(Unit::name), "and"))
        }
        _ => String::new(),
    };
    ColumnMapError(format!("unknown unit \"{unit}\" for {}; there are {known}{altitudes}", channel.name()))
}

/// `a, b and c`.
fn list<T: AsRef<str>>(words: impl IntoIterator<Item = T>, joint: &str) -> String {
    let words: Vec<T> = words.into_iter().collect();
    words.iter().enumerate().fold(String::new(), |mut text, (index, word)| {
        match words.len() - index {
            _ if index == 0 => {}
            1 => text.extend([" ", joint, " "]),
            _ => text.push_str(", "),
        }
        text + word.as_ref()
    })
}

/// One column of a trace: where it is, and the way to the core's unit.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Column {
    /// Place in the row, the first being 0.
    pub index: usize,
    /// Its name in the header.
    pub name: String,
    unit: &'static Unit,
}

impl Column {
    /// For a time: how many decimal places there are to the microsecond.
    pub fn decimal_places(&self) -> u32 {
        self.unit.decimal_places()
    }

    /// `value` in the core's unit, an altitude as the standard atmosphere's pressure there; `None` beyond `f32`.
    pub fn convert(&self, value: f64) -> Option<f32> {
        let converted = self.unit.convert(value) as f32;
        let converted = if self.is_altitude() { pressure_at(Metre(converted)).0 } else { converted };
        converted.is_finite().then_some(converted)
    }

    fn is_altitude(&self) -> bool {
        self.unit.quantity == Quantity::Altitude
    }
}

/// In which form the airspeed comes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum SpeedForm {
    /// Impact pressure.
    Dynamic,
    /// True airspeed.
    True,
    /// Indicated airspeed, taken as calibrated.
    Calibrated,
}

/// Where everything is in the rows of one trace.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Layout {
    /// How many columns the header names.
    pub width: usize,
    /// The time.
    pub time: Column,
    /// The static pressure.
    pub static_pressure: Column,
    /// The airspeed, in one form for the whole trace: to change between two from row to row would step the energy.
    pub speed: Option<(SpeedForm, Column)>,
    /// The pressure of a total-energy probe.
    pub te_pressure: Option<Column>,
    /// The outside air's temperature.
    pub outside_air: Option<Column>,
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

impl ColumnMap {
    /// Finds every channel in the header.
    ///
    /// Of several airspeeds one is used: a column the user named comes before one found by our own name; then an impact
    /// pressure before a true airspeed before an indicated one.
    pub(super) fn locate(&self, header: &Header<'_>) -> Result<Layout, Complaint> {
        for named in &self.columns {
            if header.position(&named.column).is_none() {
                return Err(header.lacks(named));
            }
        }
        let find = |channel| self.find(channel, header);
        let (Some(time), Some(static_pressure)) = (find(Channel::Time), find(Channel::Static)) else {
            return Err(header.lacks_required(find(Channel::Time).is_none(), find(Channel::Static).is_none()));
        };
        let mut speeds: Vec<(Channel, Column)> =
            SPEEDS.into_iter().filter_map(|channel| Some((channel, find(channel)?))).collect();
        speeds.sort_by_key(|(channel, _)| self.named(*channel).is_none());
        let (te_pressure, outside_air) = (find(Channel::Te), find(Channel::Oat));

        let used = [(Channel::Time, &time), (Channel::Static, &static_pressure)].into_iter();
        let used = used.chain(speeds.first().map(|(channel, column)| (*channel, column)));
        let used = used.chain(te_pressure.as_ref().map(|column| (Channel::Te, column)));
        let used: Vec<_> = used.chain(outside_air.as_ref().map(|column| (Channel::Oat, column))).collect();
        let notes = header.notes(&used, &speeds);

        let speed = speeds.into_iter().next().map(|(channel, column)| match channel {
            Channel::Dynamic => (SpeedForm::Dynamic, column),
            Channel::Tas => (SpeedForm::True, column),
            _ => (SpeedForm::Calibrated, column),
        });
        Ok(Layout { width: header.names.len(), time, static_pressure, speed, te_pressure, outside_air, notes })
    }

    fn find(&self, channel: Channel, header: &Header<'_>) -> Option<Column> {
        let (index, unit) = match self.named(channel) {
            Some(named) => (header.position(&named.column)?, named.unit),
            None => {
                channel.own_columns().iter().find_map(|own| Some((header.position(own)?, channel.unit_of(own))))?
            }
        };
        Some(Column { index, name: header.names[index].clone(), unit })
    }
}

impl Layout {
    /// What was taken from where.
    pub fn notes(&self) -> &[String] {
        &self.notes
    }
}

impl Header<'_> {
    fn position(&self, name: &str) -> Option<usize> {
        self.names.iter().position(|own| own.to_lowercase() == name.to_lowercase())
    }

    fn notes(&self, used: &[(Channel, &Column)], speeds: &[(Channel, Column)]) -> Vec<String> {
        let taken = |(channel, column): &(Channel, &Column)| {
            format!("{} from {} ({})", channel.name(), column.name, column.unit.name())
        };
        let mut notes = vec![list(used.iter().map(taken), "and")];
        for (channel, column) in used {
            if column.is_altitude() {
                let name = channel.name();
                notes.push(format!(
                    "{name} is a pressure altitude, taken as the standard atmosphere's pressure there"
                ));
            }
            let same = self.names.iter().filter(|name| name.eq_ignore_ascii_case(&column.name)).count();
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
        notes
    }

    fn complaint(&self, column: Option<String>, expected: String, hint: String) -> Complaint {
        Complaint {
            file: self.file.into(),
            line: Some(self.line),
            column,
            found: self.list_of_names(),
            expected,
            hint: Some(hint),
        }
    }

    fn lacks(&self, named: &Named) -> Complaint {
        let (channel, column) = (named.channel.name(), named.column.clone());
        let hint = format!("correct {channel}={column} in --columns");
        self.complaint(Some(column), "one of that name".into(), hint)
    }

    fn lacks_required(&self, time: bool, static_pressure: bool) -> Complaint {
        let (time_column, static_column) = self.likely();
        let wanted = |wanted: bool, text: &str| wanted.then(|| text.to_owned());
        let expected =
            list([wanted(time, "time_s"), wanted(static_pressure, "static_pa")].into_iter().flatten(), "and");
        let option = [
            wanted(time, &format!("time={time_column}")),
            wanted(static_pressure, &format!("static={static_column}")),
        ];
        let option = option.into_iter().flatten().collect::<Vec<_>>().join(",");
        self.complaint(None, expected, format!("say which they are, as in --columns {option}"))
    }

    /// The columns that are most likely the time and the static pressure, to make an example of.
    fn likely(&self) -> (&str, &str) {
        let like = |beginnings: &[&str], not: Option<&str>| {
            let names = self.names.iter().map(String::as_str).filter(|name| Some(*name) != not && !name.is_empty());
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
        let shown: Vec<_> = self.names.iter().take(MOST).map(|name| super::lines::excerpt(name.as_bytes())).collect();
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

    fn map(option: &str) -> ColumnMap {
        option.parse().expect("it names columns")
    }

    fn refusal(option: &str) -> String {
        option.parse::<ColumnMap>().expect_err("it does not name columns").to_string()
    }

    fn complaint(option: &str, names: &str) -> String {
        let map = if option.is_empty() { ColumnMap::default() } else { map(option) };
        map.locate(&header(names)).expect_err("a column is missing").to_string()
    }

    #[test]
    fn our_own_names_are_found_in_any_order_and_in_capitals() {
        let layout = ColumnMap::default().locate(&header("x,OAT_C,Static_Pa,time_us,te_pa")).expect("all are there");
        assert_eq!((layout.time.index, layout.static_pressure.index, layout.width), (3, 2, 5));
        assert_eq!(layout.time.decimal_places(), 0);
        assert_eq!(layout.te_pressure.map(|column| column.index), Some(4));
        let outside_air = layout.outside_air.expect("it is there");
        assert_relative_eq!(outside_air.convert(15.0).expect("it is finite"), 288.15);
        assert_eq!(layout.speed, None);
        assert_eq!(
            layout.notes[0],
            "time from time_us (us), static from Static_Pa (Pa), te from te_pa (Pa) and oat from OAT_C (C)"
        );
    }

    #[test]
    fn a_named_column_takes_the_place_of_ours_and_the_others_are_still_found() {
        let layout = map("static=p:hPa").locate(&header("time_s,static_pa,p,tas_mps")).expect("all are there");
        assert_eq!((layout.time.index, layout.static_pressure.index), (0, 2));
        assert_relative_eq!(layout.static_pressure.convert(1013.25).expect("it is finite"), 101_325.0);
        assert_eq!(layout.speed.map(|(form, column)| (form, column.index)), Some((SpeedForm::True, 3)));
    }

    #[test]
    fn the_unit_is_the_one_given_else_the_names_end_else_the_channels_own() {
        let unit = |option: &str| map(option).columns[0].unit.name();
        assert_eq!(unit("static=p_hpa:inHg"), "inHg");
        assert_eq!(unit("static=p_hpa"), "hPa");
        assert_eq!(unit("static=p"), "Pa");
        assert_eq!(unit("static=baro_alt_m"), "m");
        assert_eq!(unit("time=t_ms"), "ms");
        assert_eq!(unit("time=t"), "s");
        assert_eq!(unit("ias=airspeed (km/h)"), "km/h");
        assert_eq!(unit("OAT = temp : k"), "K");
        assert_eq!(unit("oat=temp"), "C");
        assert_eq!(map("static=a:b:kPa").columns[0].column, "a:b");
    }

    #[test]
    fn an_altitude_stands_for_the_pressure_of_the_standard_atmosphere() {
        // ICAO Doc 7488/3: 70108.53 Pa at 3000 m; 10 000 ft are 3048 m, 69681.7 Pa.
        let layout = map("static=alt_ft,te=h:m").locate(&header("time_s,alt_ft,h")).expect("all are there");
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
        let said = "static is a pressure altitude, taken as the standard atmosphere's pressure there";
        assert!(layout.notes.iter().any(|note| note == said), "{:?}", layout.notes);
        assert_eq!(layout.static_pressure.convert(-1e38), None);
    }

    #[test]
    fn one_airspeed_is_used_and_the_others_are_said_to_be_not() {
        let names = "time_s,static_pa,ias_mps,tas_mps,dynamic_pa,x";
        let speed = |option: &str| {
            let map = if option.is_empty() { ColumnMap::default() } else { map(option) };
            let layout = map.locate(&header(names)).expect("all are there");
            (layout.speed.expect("there are three").0, layout.notes.last().cloned().expect("it is said"))
        };
        assert_eq!(speed(""), (SpeedForm::Dynamic, "tas_mps and ias_mps not used: dynamic_pa comes first".into()));
        assert_eq!(speed("ias=x"), (SpeedForm::Calibrated, "dynamic_pa and tas_mps not used: x comes first".into()));
    }

    #[test]
    fn a_name_that_occurs_twice_is_taken_from_the_left_and_told() {
        let layout = ColumnMap::default().locate(&header("time_s,static_pa,STATIC_PA")).expect("all are there");
        assert_eq!(layout.static_pressure.index, 1);
        assert_eq!(layout.notes[1], "the header has 2 columns static_pa; the first is used");
    }

    #[test]
    fn what_cannot_be_understood_is_named_with_what_there_is() {
        assert_eq!(
            refusal("static"),
            "\"static\" is not CHANNEL=COLUMN or CHANNEL=COLUMN:UNIT, such as static=p:hPa"
        );
        assert_eq!(refusal("time=t,"), "\"\" is not CHANNEL=COLUMN or CHANNEL=COLUMN:UNIT, such as static=p:hPa");
        assert_eq!(
            refusal("static=:hPa"),
            "\"static=:hPa\" is not CHANNEL=COLUMN or CHANNEL=COLUMN:UNIT, such as static=p:hPa"
        );
        assert_eq!(
            refusal("pressure=p"),
            "unknown channel \"pressure\"; there are time, static, dynamic, ias, tas, te and oat"
        );
        assert_eq!(
            refusal("static=p:bar"),
            "unknown unit \"bar\" for static; there are Pa, hPa, mbar, kPa and inHg, or m and ft for a pressure altitude"
        );
        assert_eq!(refusal("ias=v:ft"), "unknown unit \"ft\" for ias; there are m/s, kt, km/h and mph");
        assert_eq!(refusal("tas=a,tas=b"), "tas is named twice, as a and as b");
    }

    #[test]
    fn a_missing_column_is_answered_with_those_there_are() {
        assert_eq!(
            complaint("static=p", "time_s,pressure"),
            "log.csv:1: column p: found the columns time_s and pressure, expected one of that name; correct static=p in --columns"
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
