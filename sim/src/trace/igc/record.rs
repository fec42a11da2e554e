//! The fixed columns of an IGC file's records, from bytes.
//!
//! ```text
//! B HHMMSS DDMMmmmN DDDMMmmmE V PPPPP GGGGG extensions     a fix
//! 0 1      7        15        24 25   30    35
//!   time   latitude longitude |  |    GNSS altitude, m
//!   of day                    |  pressure altitude, m, in the standard atmosphere
//!   UTC                       A: three-dimensional fix, V: none; the pressure altitude is good
//!                             in both
//!
//! I NN SSFFCCC SSFFCCC ..    NN extensions: columns SS to FF (the first is 1) hold quantity CCC;
//!                            LAD and LOD are further decimals of the minutes
//! H F DTE DDMMYY             the date; newer: HFDTEDATE:DDMMYY,NN
//! ```
//!
//! Source: FAI Sporting Code, Section 3, Technical Specification for IGC-approved GNSS flight
//! recorders, Appendix A (from memory). The crate `igc` 0.3.0 reads the same records but only from
//! a text in memory, refuses a whole fix for its position or for one byte that is not ASCII, and
//! gives one reason for all; so the columns are read here.

use crate::trace::Position;
use crate::trace::lines::excerpt;
use std::ops::Range;
use std::str;

/// What a fix has without its extensions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Fix {
    /// Whole seconds after UTC midnight.
    pub time_of_day_s: u32,
    /// Whether there was a three-dimensional fix.
    pub is_valid: bool,
    /// Altitude in the standard atmosphere, m.
    pub pressure_altitude_m: i32,
    /// Altitude from satellites, m; `None` where it is not a number.
    pub gnss_altitude_m: Option<i32>,
}

/// Why a B record is not a fix: the reason, and where in the line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Fault {
    /// In words that read well after a count.
    pub reason: &'static str,
    /// The columns at fault, the first being 0.
    pub columns: Range<usize>,
}

/// Length of a B record without extensions.
pub(super) const LENGTH: usize = 35;

const TIME: Range<usize> = 1..7;
const LATITUDE: Range<usize> = 7..15;
const LONGITUDE: Range<usize> = 15..24;
const VALIDITY: Range<usize> = 24..25;
const PRESSURE_ALTITUDE: Range<usize> = 25..30;
const GNSS_ALTITUDE: Range<usize> = 30..LENGTH;

/// Reads a line that begins with `B`.
pub(super) fn fix(line: &[u8]) -> Result<Fix, Fault> {
    let fault = |reason, columns| Fault { reason, columns };
    if line.len() < LENGTH {
        return Err(fault("B record too short", 0..line.len()));
    }
    let time_of_day_s = time_of_day(&line[TIME]).ok_or(fault("time is not a time", TIME))?;
    // Shifted columns would still give a number for the altitude, and a wrong one; this letter
    // reveals them.
    let is_valid = match line[VALIDITY.start] {
        b'A' | b'a' => true,
        b'V' | b'v' => false,
        _ => return Err(fault("no A or V in column 25", 0..LENGTH)),
    };
    let pressure_altitude_m = integer(&line[PRESSURE_ALTITUDE])
        .ok_or(fault("pressure altitude is not a number", PRESSURE_ALTITUDE))?;
    Ok(Fix {
        time_of_day_s,
        is_valid,
        pressure_altitude_m,
        gnss_altitude_m: integer(&line[GNSS_ALTITUDE]),
    })
}

/// Where a fix was taken: of a three-dimensional one only, since recorders repeat the last position
/// in others. `further` reads the digits of an extension of `line`.
pub(super) fn position(
    line: &[u8],
    fix: &Fix,
    mut further: impl FnMut(Quantity) -> Option<f64>,
) -> Option<Position> {
    if !fix.is_valid || line.len() < LENGTH {
        return None;
    }
    let latitude = angle(&line[LATITUDE], 2, [b'N', b'S'], further(Quantity::FurtherLatitude))?;
    let longitude = angle(&line[LONGITUDE], 3, [b'E', b'W'], further(Quantity::FurtherLongitude))?;
    Position::checked(latitude, longitude, fix.gnss_altitude_m.map(f64::from))
}

/// Degrees of a field of `degrees` digits, minutes in thousandths and the letter of a half of the
/// globe, the positive one first; `further` is added to the thousandths.
fn angle(field: &[u8], degrees: usize, halves: [u8; 2], further: Option<f64>) -> Option<f64> {
    let (digits, half) = field.split_at(degrees + 5);
    let thousandths = f64::from(unsigned(&digits[degrees..])?) + further.unwrap_or(0.0);
    let magnitude = f64::from(unsigned(&digits[..degrees])?) + thousandths / 60_000.0;
    match half[0].to_ascii_uppercase() {
        _ if thousandths >= 60_000.0 => None,
        half if half == halves[0] => Some(magnitude),
        half if half == halves[1] => Some(-magnitude),
        _ => None,
    }
}

fn time_of_day(digits: &[u8]) -> Option<u32> {
    let pair = |start: usize| unsigned(&digits[start..start + 2]);
    let (hours, minutes, seconds) = (pair(0)?, pair(2)?, pair(4)?);
    (hours < 24 && minutes < 60 && seconds < 60).then_some(hours * 3600 + minutes * 60 + seconds)
}

fn unsigned(digits: &[u8]) -> Option<u32> {
    digits
        .iter()
        .all(u8::is_ascii_digit)
        .then(|| str::from_utf8(digits).ok()?.parse().ok())
        .flatten()
}

fn integer(field: &[u8]) -> Option<i32> {
    str::from_utf8(field.trim_ascii()).ok()?.parse().ok()
}

/// A quantity that a recorder may append to its fixes, and that is of use here.
///
/// Scales: common practice, no source. Recorders write no decimal point; the width of the field
/// gives its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Quantity {
    /// True airspeed: km/h, three digits before the decimal point, so 5 digits are in 0.01 km/h.
    TrueAirspeed,
    /// Indicated airspeed, written in the same way.
    IndicatedAirspeed,
    /// Outside air temperature in 0.1 degrees Celsius; in whole ones where there is only room for
    /// two digits.
    OutsideAir,
    /// The recorder's own total-energy vertical speed: 0.01 m/s in 4 columns or more, else 0.1 m/s.
    TotalEnergyVario,
    /// Its own vertical speed without total energy, written in the same way.
    Vario,
    /// Noise of the engine, from 0 to 1 of the full scale.
    EngineNoise,
    /// What a sensor of another means of propulsion reads, from 0 to 1 of the full scale.
    Propulsion,
    /// Turns of the engine: any, since recorders scale them as they like.
    EngineTurns,
    /// Decimal part of the second of the fix, as many digits as there are columns.
    SecondFraction,
    /// Digits that continue the thousandths of a minute of latitude.
    FurtherLatitude,
    /// And of longitude.
    FurtherLongitude,
}

/// Where in a B record an extension stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Extension {
    /// What it is.
    pub quantity: Quantity,
    /// Its columns, the first being 0.
    pub columns: Range<usize>,
}

/// What an extension holds in one fix.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Value<'a> {
    /// The record ends before it, or it is blank or dashes.
    Absent,
    /// In m/s, degrees Celsius or seconds.
    Number(f64),
    /// Something else.
    Unreadable(&'a [u8]),
}

impl Quantity {
    fn of_code(code: &[u8]) -> Option<Self> {
        match code.to_ascii_uppercase().as_slice() {
            b"TAS" => Some(Self::TrueAirspeed),
            b"IAS" => Some(Self::IndicatedAirspeed),
            b"OAT" => Some(Self::OutsideAir),
            b"VAT" => Some(Self::TotalEnergyVario),
            b"VAR" => Some(Self::Vario),
            b"ENL" => Some(Self::EngineNoise),
            b"MOP" => Some(Self::Propulsion),
            b"RPM" => Some(Self::EngineTurns),
            b"TDS" => Some(Self::SecondFraction),
            b"LAD" => Some(Self::FurtherLatitude),
            b"LOD" => Some(Self::FurtherLongitude),
            _ => None,
        }
    }

    /// Whether a sample takes it: the recorder's own vario is a reference, and the engine is
    /// looked at only for the launch.
    pub fn is_input(self) -> bool {
        !matches!(
            self,
            Self::TotalEnergyVario
                | Self::Vario
                | Self::EngineNoise
                | Self::Propulsion
                | Self::EngineTurns
        )
    }

    /// Whether it continues the digits of a field, so that it has no sign.
    fn is_of_digits(self) -> bool {
        matches!(self, Self::SecondFraction | Self::FurtherLatitude | Self::FurtherLongitude)
    }

    /// The three letters of the I record.
    pub fn code(self) -> &'static str {
        match self {
            Self::TrueAirspeed => "TAS",
            Self::IndicatedAirspeed => "IAS",
            Self::OutsideAir => "OAT",
            Self::TotalEnergyVario => "VAT",
            Self::Vario => "VAR",
            Self::EngineNoise => "ENL",
            Self::Propulsion => "MOP",
            Self::EngineTurns => "RPM",
            Self::SecondFraction => "TDS",
            Self::FurtherLatitude => "LAD",
            Self::FurtherLongitude => "LOD",
        }
    }

    /// What one unit of the last digit is worth in a field so wide.
    fn last_digit(self, width: usize) -> f64 {
        let tenth_to_the = |places: usize| 0.1_f64.powi(places.min(99) as i32);
        match self {
            Self::TrueAirspeed | Self::IndicatedAirspeed => {
                tenth_to_the(width.saturating_sub(3)) / 3.6
            }
            Self::OutsideAir => tenth_to_the(usize::from(width > 2)),
            Self::TotalEnergyVario | Self::Vario => tenth_to_the(if width > 3 { 2 } else { 1 }),
            Self::EngineNoise | Self::Propulsion => 1.0 / (10_f64.powi(width.min(9) as i32) - 1.0),
            Self::EngineTurns => 1.0,
            Self::SecondFraction | Self::FurtherLatitude | Self::FurtherLongitude => {
                tenth_to_the(width)
            }
        }
    }
}

impl Extension {
    /// Reads it from a B record.
    pub fn read<'a>(&self, line: &'a [u8]) -> Value<'a> {
        let Some(field) = line.get(self.columns.clone()) else { return Value::Absent };
        let digits = field.trim_ascii();
        if digits.iter().all(|byte| *byte == b'-') {
            return Value::Absent;
        }
        match integer(digits) {
            Some(number) if !self.quantity.is_of_digits() || number >= 0 => {
                Value::Number(f64::from(number) * self.quantity.last_digit(self.columns.len()))
            }
            _ => Value::Unreadable(field),
        }
    }
}

/// Reads a line that begins with `I`: the extensions of use here, and what could not be understood,
/// if anything.
pub(super) fn extensions(line: &[u8]) -> (Vec<Extension>, Option<String>) {
    let line = line.trim_ascii();
    let (count, entries) = line.get(1..).unwrap_or(&[]).split_at_checked(2).unwrap_or_default();
    let mut found = Vec::new();
    let mut wrong = None;
    for (index, entry) in entries.chunks(7).enumerate() {
        match columns_and_code(entry) {
            Some((columns, code)) => {
                found.extend(
                    Quantity::of_code(code).map(|quantity| Extension { quantity, columns }),
                );
            }
            None => {
                let text = excerpt(entry);
                wrong = wrong.or(Some(format!(
                    "entry {} of the I record is not SSFFCCC: \"{text}\"",
                    index + 1
                )));
            }
        }
    }
    let actual = entries.len().div_ceil(7);
    if wrong.is_none() && unsigned(count) != Some(actual as u32) {
        wrong = Some(format!(
            "the I record announces \"{}\" extensions and has {actual}",
            excerpt(count)
        ));
    }
    (found, wrong)
}

/// Columns, the first being 0, and the code of one entry `SSFFCCC`.
fn columns_and_code(entry: &[u8]) -> Option<(Range<usize>, &[u8])> {
    let (numbers, code) = entry.split_at_checked(4)?;
    let (first, last) = (unsigned(&numbers[..2])? as usize, unsigned(&numbers[2..])? as usize);
    let is_sound = first > LENGTH && last >= first && code.len() == 3;
    is_sound.then(|| (first - 1..last, code))
}

/// The date as `YYYY-MM-DD` of a line that begins with `HFDTE`, in capitals or not; `Some(None)`
/// where such a line has no date, `None` where the line is another.
///
/// Years from 80 are of the last century: the format is of 1995 (common practice, no source).
pub(super) fn date(line: &[u8]) -> Option<Option<String>> {
    let is_date = line.len() >= 5
        && line[0].eq_ignore_ascii_case(&b'H')
        && line[2..5].eq_ignore_ascii_case(b"DTE");
    is_date.then(|| {
        let start = line.windows(6).position(|window| window.iter().all(u8::is_ascii_digit))?;
        let pair = |offset: usize| unsigned(&line[start + offset..start + offset + 2]);
        let (day, month, year) = (pair(0)?, pair(2)?, pair(4)?);
        let century = if year < 80 { 2000 } else { 1900 };
        let is_sound = (1..=31).contains(&day) && (1..=12).contains(&month);
        is_sound.then(|| format!("{}-{month:02}-{day:02}", century + year))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const FIX: &[u8] = b"B1122544149274N00228378WA009580107500700400000000012900000002460100";
    const EXTENSIONS: &[u8] = b"I083638FXA3941ENL4246TAS4751GSP5254TRT5559VAT6063OAT6467ACZ";

    fn read(i_record: &[u8], b_record: &[u8], code: &str) -> f64 {
        let (extensions, wrong) = extensions(i_record);
        assert_eq!(wrong, None);
        let extension = extensions
            .iter()
            .find(|one| one.quantity.code() == code)
            .expect("it is in the I record");
        match extension.read(b_record) {
            Value::Number(number) => number,
            other => panic!("{other:?}"),
        }
    }

    fn reason(line: &[u8]) -> &'static str {
        fix(line).expect_err("it is no fix").reason
    }

    #[test]
    fn a_fix_is_read_from_its_columns() {
        let expected = Fix {
            time_of_day_s: 11 * 3600 + 22 * 60 + 54,
            is_valid: true,
            pressure_altitude_m: 958,
            gnss_altitude_m: Some(1075),
        };
        assert_eq!(fix(FIX), Ok(expected));
    }

    #[test]
    fn altitudes_below_the_sea_and_fixes_without_satellites_are_good() {
        let below = fix(b"B1133265228091N00620412EV-00370004700211").expect("it is a fix");
        assert_eq!((below.pressure_altitude_m, below.is_valid), (-37, false));
        let odd = fix(b"B1133265228091N00620412EA00037-----00211")
            .expect("the pressure altitude is good");
        assert_eq!((odd.pressure_altitude_m, odd.gnss_altitude_m), (37, None));
    }

    #[test]
    fn the_reason_names_the_columns_at_fault() {
        assert_eq!(reason(b"B"), "B record too short");
        assert_eq!(reason(&FIX[..34]), "B record too short");
        assert_eq!(reason(b"B2422544149274N00228378WA0095801075"), "time is not a time");
        assert_eq!(reason(b"B11x2544149274N00228378WA0095801075"), "time is not a time");
        assert_eq!(reason(b"B1122604149274N00228378WA0095801075"), "time is not a time");
        assert_eq!(
            reason(b"B1122544149274N00228378WA0x95801075"),
            "pressure altitude is not a number"
        );
        assert_eq!(
            reason(b"B1122544149274N00228378WA     01075"),
            "pressure altitude is not a number"
        );
        assert_eq!(reason(b"B11225441492745N00228378WA0095801075"), "no A or V in column 25");
        assert_eq!(reason(&[b'B'; 40]), "time is not a time");
        assert_eq!(reason(&[0xFF; 40]), "time is not a time");
    }

    #[test]
    fn speeds_and_temperatures_are_scaled_by_the_width_of_their_field() {
        // 12345 is 123.45 km/h; 246 is 24.6 degrees Celsius; -0150 is -1.5 m/s.
        let record = b"B1122544149274N00228378WA00958010750070041234500012900-015002460100";
        assert_relative_eq!(read(EXTENSIONS, record, "TAS"), 123.45 / 3.6, max_relative = 1e-12);
        assert_relative_eq!(read(EXTENSIONS, record, "VAT"), -1.5, max_relative = 1e-12);
        assert_relative_eq!(read(EXTENSIONS, record, "OAT"), 24.6, max_relative = 1e-12);
        let narrow = b"B1122544149274N00228378WA0095801075108-15-0305";
        let layout = b"I043638IAS3941OAT4244VAT4546TDS";
        assert_relative_eq!(read(layout, narrow, "IAS"), 30.0, max_relative = 1e-12);
        assert_relative_eq!(read(layout, narrow, "OAT"), -1.5, max_relative = 1e-12);
        assert_relative_eq!(read(layout, narrow, "VAT"), -0.3, max_relative = 1e-12);
        assert_relative_eq!(read(layout, narrow, "TDS"), 0.05, max_relative = 1e-12);
    }

    #[test]
    fn an_extension_that_is_not_there_is_told_from_one_that_cannot_be_read() {
        let tas = &extensions(b"I013640TAS").0[0];
        assert_eq!(tas.read(&FIX[..38]), Value::Absent);
        assert_eq!(tas.read(b"B1122544149274N00228378WA0095801075-----"), Value::Absent);
        assert_eq!(tas.read(b"B1122544149274N00228378WA0095801075     "), Value::Absent);
        assert_eq!(
            tas.read(b"B1122544149274N00228378WA009580107512x45"),
            Value::Unreadable(b"12x45")
        );
    }

    #[test]
    fn a_wrong_i_record_is_told_and_its_good_entries_are_used() {
        let (found, wrong) = extensions(b"I0336x8FXA3941GSP4246TAS");
        assert_eq!(found, [Extension { quantity: Quantity::TrueAirspeed, columns: 41..46 }]);
        assert_eq!(wrong.as_deref(), Some("entry 1 of the I record is not SSFFCCC: \"36x8FXA\""));
        assert_eq!(
            extensions(b"I0236 40TAS").1.as_deref(),
            Some("entry 1 of the I record is not SSFFCCC: \"36 40TA\"")
        );
        assert_eq!(
            extensions(b"I023640TAS").1.as_deref(),
            Some("the I record announces \"02\" extensions and has 1")
        );
        // The one with columns 00 to 00 once made it panic.
        for nonsense in [
            &b"I"[..],
            b"I0",
            b"I000000TAS",
            b"I01",
            b"I010102TAS",
            b"I014036TAS",
            b"I01364",
            b"I01\xff\xff\xff",
        ] {
            let (found, wrong) = extensions(nonsense);
            assert!(found.is_empty() && wrong.is_some(), "{nonsense:?}");
        }
    }

    #[test]
    fn dates_are_read_in_the_old_form_and_the_new() {
        let is = |line: &[u8]| date(line).expect("it is a line with a date");
        assert_eq!(is(b"HFDTE040723").as_deref(), Some("2023-07-04"));
        assert_eq!(is(b"HFDTEDATE:040723,01").as_deref(), Some("2023-07-04"));
        assert_eq!(is(b"hfdtedate: 040799").as_deref(), Some("1999-07-04"));
        assert_eq!(is(b"HFDTE:310824").as_deref(), Some("2024-08-31"));
        assert_eq!(is(b"HFDTE000000"), None);
        assert_eq!(is(b"HFDTE"), None);
        assert_eq!(date(b"HFDTM100GPSDATUM:WGS-84"), None);
        assert_eq!(date(b"HF"), None);
    }
}
