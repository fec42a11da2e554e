//! Positions over the ground, and the columns of a CSV that hold them.
//!
//! | column | unit | what |
//! |---|---|---|
//! | `lat_deg` | degrees | geographic latitude, north positive |
//! | `lon_deg` | degrees | geographic longitude, east positive |
//! | `gnss_alt_m` | m | optional: altitude from satellites |
//!
//! Latitude and longitude belong together: one without the other is not used, and a note says so,
//! for the header and for a row. Both 0 is what receivers write before they know, and no position.

use super::column::Column;
use super::columns::Channel;
use super::motion::{MotionColumn, POSITION};
use super::number::Field;
use super::unreadable::Unreadable;

/// A place over the ground, as a satellite receiver gives it.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Position {
    /// Geographic latitude in degrees, -90 to 90, north positive.
    pub latitude_deg: f64,
    /// Geographic longitude in degrees, -180 to 180, east positive.
    pub longitude_deg: f64,
    /// Altitude from satellites in metres, where there is one.
    pub gnss_altitude_m: Option<f64>,
}

impl Position {
    /// The position, unless it is beyond the globe or where receivers write zeros.
    pub(super) fn checked(
        latitude_deg: f64,
        longitude_deg: f64,
        gnss_altitude_m: Option<f64>,
    ) -> Option<Self> {
        let is_sound = latitude_deg.abs() <= 90.0
            && longitude_deg.abs() <= 180.0
            && (latitude_deg, longitude_deg) != (0.0, 0.0);
        is_sound.then_some(Self { latitude_deg, longitude_deg, gnss_altitude_m })
    }
}

/// The columns of positions in a CSV, and what could not be read of them.
#[derive(Clone, Debug, Default)]
pub(super) struct PositionColumns {
    place: Option<[Column; 2]>,
    altitude: Option<Column>,
    unreadable: Unreadable,
    note: Option<String>,
}

impl PositionColumns {
    /// The columns that `find` finds.
    pub fn find(find: impl Fn(Channel) -> Option<Column>) -> Self {
        let [latitude, longitude, altitude] =
            POSITION.each_ref().map(|column| find(Channel::Motion(column)));
        let not_used = |column: &Column, missing: &MotionColumn| {
            format!("{} not used: it needs {}", column.name, missing.own)
        };
        match (latitude, longitude) {
            (Some(latitude), Some(longitude)) => {
                Self { place: Some([latitude, longitude]), altitude, ..Self::default() }
            }
            (Some(latitude), None) => {
                Self { note: Some(not_used(&latitude, &POSITION[1])), ..Self::default() }
            }
            (None, Some(longitude)) => {
                Self { note: Some(not_used(&longitude, &POSITION[0])), ..Self::default() }
            }
            (None, None) => Self::default(),
        }
    }

    /// The columns that are used, and what for.
    pub fn used(&self) -> impl Iterator<Item = (Channel, &Column)> {
        let place = self.place.iter().flatten();
        POSITION.iter().map(Channel::Motion).zip(place.chain(&self.altitude))
    }

    /// What a row says, of which `field` gives the fields; counts a row that cannot be read.
    pub fn read<'a>(
        &mut self,
        line: u64,
        field: impl Fn(usize) -> Option<&'a [u8]>,
    ) -> Option<Position> {
        let [latitude, longitude] = self.place.as_ref()?;
        let text = |column: &Column| field(column.index).unwrap_or_default();
        let value = |column: &Column| match column.number(text(column)) {
            Field::Value(value) => Ok(Some(column.unit.convert(value))),
            Field::Absent => Ok(None),
            Field::Unreadable => Err(text(column)),
        };
        let altitude = self.altitude.as_ref().map_or(Ok(None), value);
        let wrong = match (value(latitude), value(longitude), altitude) {
            (Ok(Some(latitude_deg)), Ok(Some(longitude_deg)), altitude) => {
                if let Err(text) = altitude {
                    self.unreadable.add(line, text);
                }
                let altitude = altitude.ok().flatten();
                if (latitude_deg, longitude_deg) == (0.0, 0.0) {
                    return None;
                }
                match Position::checked(latitude_deg, longitude_deg, altitude) {
                    Some(position) => return Some(position),
                    None => format!("{latitude_deg} {longitude_deg}").into_bytes(),
                }
            }
            (Ok(None), Ok(None), _) => return None,
            (Err(text), ..) | (_, Err(text), _) => text.to_vec(),
            _ => b"only one of 2".to_vec(),
        };
        self.unreadable.add(line, &wrong);
        None
    }

    /// What the user should know about them.
    pub fn notes(&self) -> impl Iterator<Item = String> {
        let names = self.place.as_ref().map(|[latitude, longitude]| {
            format!("the position in {} and {}", latitude.name, longitude.name)
        });
        let unreadable = names.and_then(|names| self.unreadable.note(&names, "row"));
        self.note.iter().cloned().chain(unreadable)
    }
}
