//! The meaning of CSV columns, as named by the user (`--columns time=t_s,static=p:hPa`) or by our
//! own names.
//!
//! ```text
//! CHANNEL=COLUMN          unit from the end of the column's name (`p_hpa`, `speed (km/h)`), else
//!                         the channel's own
//! CHANNEL=COLUMN:UNIT     unit as given
//!
//! channel   our names          its own unit   others
//! time      time_s, time_us    s              ms us ns min h days
//! static    static_pa          Pa             hPa mbar kPa inHg mmHg psi bar atm; m ft cm for a
//!                                             pressure altitude
//! dynamic   dynamic_pa         Pa             as the static pressure
//! ias       ias_mps            m/s            kt km/h mph
//! tas       tas_mps            m/s            kt km/h mph
//! te        te_pa              Pa             as the static pressure, or a pressure altitude
//! oat       oat_c              C              K F
//! accel_x   accel_x_mps2       m/s2           g mg
//! gyro_x    gyro_x_radps       rad/s          deg/s
//! gnss_vn   gnss_vn_mps        m/s            kt km/h mph
//! gnss_age  gnss_age_s         s              ms us
//! lat       lat_deg            deg            rad
//! gnss_alt  gnss_alt_m         m              ft cm
//! ```
//!
//! The channels of an inertial sensor and of a satellite receiver are all in `motion`, beside this.
//!
//! Case does not matter in names and units. `#2` is the second column, for one without a name or
//! with a name that cannot be typed: one with a comma. A column whose own name has a colon needs an
//! explicit unit.

use super::guess::Origin;
use super::motion::{self, MotionColumn};
use super::row::visible;
use super::unit::{Quantity, Unit};
use std::slice;
use std::str::FromStr;

/// A quantity that a trace may hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Channel {
    Time,
    Static,
    Dynamic,
    Ias,
    Tas,
    Te,
    Oat,
    /// Of an inertial sensor or a satellite receiver.
    Motion(&'static MotionColumn),
}

impl Channel {
    const PRESSURES: [Channel; 7] =
        [Self::Time, Self::Static, Self::Dynamic, Self::Ias, Self::Tas, Self::Te, Self::Oat];

    fn all() -> impl Iterator<Item = Channel> {
        Self::PRESSURES.into_iter().chain(motion::all().map(Self::Motion))
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Time => "time",
            Self::Static => "static",
            Self::Dynamic => "dynamic",
            Self::Ias => "ias",
            Self::Tas => "tas",
            Self::Te => "te",
            Self::Oat => "oat",
            Self::Motion(column) => column.name,
        }
    }

    pub fn own_columns(self) -> &'static [&'static str] {
        match self {
            Self::Time => &["time_s", "time_us"],
            Self::Static => &["static_pa"],
            Self::Dynamic => &["dynamic_pa"],
            Self::Ias => &["ias_mps"],
            Self::Tas => &["tas_mps"],
            Self::Te => &["te_pa"],
            Self::Oat => &["oat_c"],
            Self::Motion(column) => slice::from_ref(&column.own),
        }
    }

    /// Whether `name` is one of our own names for the channel.
    pub fn is_own(self, name: &str) -> bool {
        self.own_columns().iter().any(|own| own.eq_ignore_ascii_case(name))
    }

    /// The first is the default.
    pub fn quantities(self) -> &'static [Quantity] {
        match self {
            Self::Time => &[Quantity::Time],
            Self::Static | Self::Te => &[Quantity::Pressure, Quantity::Altitude],
            Self::Dynamic => &[Quantity::Pressure],
            Self::Ias | Self::Tas => &[Quantity::Speed],
            Self::Oat => &[Quantity::Temperature],
            Self::Motion(column) => slice::from_ref(&column.quantity),
        }
    }

    pub fn unit_of(self, column: &str) -> &'static Unit {
        Unit::at_end_of(column, self.quantities())
            .or_else(|| Unit::all_of(self.quantities()).next())
            .expect("every quantity has a unit")
    }

    /// Where the unit of a column that the user named comes from.
    fn origin_of(self, column: &str) -> Origin {
        let is_in_name = Unit::at_end_of(column, self.quantities()).is_some();
        if is_in_name { Origin::Name } else { Origin::Asked }
    }

    /// Whether a column's name ends in brackets with something that is no unit of the channel.
    pub fn has_unknown_unit(self, name: &str) -> bool {
        Unit::in_brackets(name).is_some() && Unit::at_end_of(name, self.quantities()).is_none()
    }

    /// Whether `name` is the channel's name and a unit: `static_hPa`.
    pub fn is_with_unit(self, name: &str) -> bool {
        Unit::at_end_of(name, self.quantities()).is_some()
            && Unit::before(name, self.quantities()).eq_ignore_ascii_case(self.name())
    }
}

/// `text` as one word of a shell's command line.
fn quoted(text: &str) -> String {
    let is_bare = |c: char| c.is_ascii_alphanumeric() || "_./:=,+%@#^-".contains(c);
    if text.chars().all(is_bare) {
        text.into()
    } else {
        format!("'{}'", text.replace('\'', r"'\''"))
    }
}

/// The columns named by the user; empty to use our own names.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ColumnMap {
    columns: Vec<Named>,
}

/// A column that a user named.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Named {
    /// What it holds.
    pub channel: Channel,
    /// Its name.
    pub column: String,
    /// Its unit.
    pub unit: &'static Unit,
    /// Where that comes from.
    pub origin: Origin,
}

/// Why a text is not a list of columns, in one line.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct ColumnMapError(String);

impl ColumnMap {
    /// Whether no column is named.
    pub fn is_empty(&self) -> bool {
        self.columns.is_empty()
    }

    /// Every column that was named.
    pub(super) fn named_columns(&self) -> &[Named] {
        &self.columns
    }

    /// The same, with a column named for one channel more or instead.
    pub(super) fn with(mut self, named: Named) -> Self {
        self.columns.retain(|before| before.channel != named.channel);
        self.columns.push(named);
        self
    }

    /// The option to type for what was named and for these columns besides, as a shell takes it:
    /// channel, column, unit.
    pub(super) fn option(&self, more: &[(Channel, String, Option<&str>)]) -> String {
        let is_new = |channel| more.iter().any(|(other, ..)| *other == channel);
        let old = self.columns.iter().filter(|named| !is_new(named.channel)).map(|named| {
            let unit = (named.origin == Origin::Given).then(|| named.unit.name());
            (named.channel, named.column.clone(), unit)
        });
        let parts = old.chain(more.iter().cloned()).map(|(channel, column, unit)| {
            let unit = unit.map(|unit| format!(":{unit}")).unwrap_or_default();
            format!("{}={column}{unit}", channel.name())
        });
        format!("--columns {}", quoted(&parts.collect::<Vec<_>>().join(",")))
    }

    /// The column that was named for a channel.
    pub(super) fn named(&self, channel: Channel) -> Option<&Named> {
        self.columns.iter().find(|named| named.channel == channel)
    }
}

impl FromStr for ColumnMap {
    type Err = ColumnMapError;

    /// An empty text names no column.
    fn from_str(text: &str) -> Result<Self, ColumnMapError> {
        let mut columns: Vec<Named> = Vec::new();
        if text.is_empty() {
            return Ok(Self { columns });
        }
        for part in text.split(',') {
            let named: Named = part.parse()?;
            if let Some(before) = columns.iter().find(|before| before.channel == named.channel) {
                let (channel, first, second) =
                    (named.channel.name(), &before.column, &named.column);
                return Err(ColumnMapError(format!(
                    "{channel} is named twice, as {first} and as {second}"
                )));
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
            .filter(|(channel, column)| {
                !channel.is_empty() && !column.is_empty() && !column.starts_with(':')
            })
            .ok_or_else(|| {
                ColumnMapError(format!(
                    "\"{text}\" is not CHANNEL=COLUMN or CHANNEL=COLUMN:UNIT, such as static=p:hPa"
                ))
            })?;
        let channel = Channel::all()
            .find(|known| known.name().eq_ignore_ascii_case(channel))
            .ok_or_else(|| {
                let known = list(Channel::all().map(Channel::name), "and");
                ColumnMapError(format!("unknown channel \"{channel}\"; there are {known}"))
            })?;
        let (column, unit, origin) =
            match rest.rsplit_once(':').map(|(column, unit)| (column.trim(), unit.trim())) {
                None => (rest, channel.unit_of(rest), channel.origin_of(rest)),
                Some((column, unit)) => (
                    column,
                    Unit::spelled(unit, channel.quantities())
                        .ok_or_else(|| unknown_unit(unit, channel))?,
                    Origin::Given,
                ),
            };
        Ok(Self { channel, column: visible(column), unit, origin })
    }
}

fn unknown_unit(unit: &str, channel: Channel) -> ColumnMapError {
    let known = list(Unit::all_of(&channel.quantities()[..1]).map(Unit::name), "and");
    let altitudes = match channel.quantities() {
        [_, other] => {
            format!(
                ", or {} for a pressure altitude",
                list(Unit::all_of(&[*other]).map(Unit::name), "and")
            )
        }
        _ => String::new(),
    };
    ColumnMapError(format!(
        "unknown unit \"{unit}\" for {}; there are {known}{altitudes}",
        channel.name()
    ))
}

/// `a, b and c`.
pub(super) fn list<T: AsRef<str>>(words: impl IntoIterator<Item = T>, joint: &str) -> String {
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

#[cfg(test)]
mod tests {
    use super::*;

    fn map(option: &str) -> ColumnMap {
        option.parse().expect("it names columns")
    }

    fn refusal(option: &str) -> String {
        option.parse::<ColumnMap>().expect_err("it does not name columns").to_string()
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
        assert_eq!(unit("accel_x=ax"), "m/s2");
        assert_eq!(unit("accel_x=ax_g"), "g");
        assert_eq!(unit("gyro_y=q:dps"), "deg/s");
        assert_eq!(unit("gnss_vn=north"), "m/s");
        assert_eq!(unit("gnss_age=late_ms"), "ms");
        assert_eq!(map("static=a:b:kPa").columns[0].column, "a:b");
    }

    #[test]
    fn what_cannot_be_understood_is_named_with_what_there_is() {
        assert_eq!(
            refusal("static"),
            "\"static\" is not CHANNEL=COLUMN or CHANNEL=COLUMN:UNIT, such as static=p:hPa"
        );
        assert_eq!(
            refusal("time=t,"),
            "\"\" is not CHANNEL=COLUMN or CHANNEL=COLUMN:UNIT, such as static=p:hPa"
        );
        assert_eq!(
            refusal("static=:hPa"),
            "\"static=:hPa\" is not CHANNEL=COLUMN or CHANNEL=COLUMN:UNIT, such as static=p:hPa"
        );
        assert_eq!(
            refusal("pressure=p"),
            "unknown channel \"pressure\"; there are time, static, dynamic, ias, tas, te, oat, \
             accel_x, accel_y, accel_z, gyro_x, gyro_y, gyro_z, accel_largest, accel_deviation, \
             gyro_largest, gyro_deviation, gnss_vn, gnss_ve, gnss_vd, gnss_age, lat, lon and \
             gnss_alt"
        );
        assert_eq!(
            refusal("static=p:furlong"),
            "unknown unit \"furlong\" for static; there are Pa, hPa, mbar, kPa, inHg, mmHg, psi, \
             bar and atm, or m, ft and cm for a pressure altitude"
        );
        assert_eq!(
            refusal("ias=v:ft"),
            "unknown unit \"ft\" for ias; there are m/s, kt, km/h and mph"
        );
        assert_eq!(
            refusal("accel_x=a:kt"),
            "unknown unit \"kt\" for accel_x; there are m/s2, g and mg"
        );
        assert_eq!(
            refusal("gyro_z=a:g"),
            "unknown unit \"g\" for gyro_z; there are rad/s and deg/s"
        );
        assert_eq!(refusal("tas=a,tas=b"), "tas is named twice, as a and as b");
    }

    #[test]
    fn nothing_names_no_column() {
        assert!(map("").is_empty());
        assert!(!map("static=p").is_empty());
    }

    #[test]
    fn an_option_to_type_keeps_what_was_named_and_is_one_word_of_a_shell() {
        let option = |given: &str, column: &str| {
            map(given).option(&[(Channel::Static, column.into(), Some("Pa"))])
        };
        assert_eq!(option("", "p"), "--columns static=p:Pa");
        assert_eq!(option("time=t:ms,static=x", "#2"), "--columns time=t:ms,static=#2:Pa");
        assert_eq!(option("ias=v_kt", "a b"), "--columns 'ias=v_kt,static=a b:Pa'");
        assert_eq!(option("", "pilot's"), r"--columns 'static=pilot'\''s:Pa'");
    }
}
