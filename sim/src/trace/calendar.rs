//! Dates and times of day as loggers and spreadsheets write them, from bytes.
//!
//! ```text
//! 2024-07-15T12:00:00.02Z    ISO 8601; a space or `_` instead of T, `/` or `.` in the date
//! 20240715T120000+0200       its compact form, with or without T
//! 15.07.2024 12:00:00        day first, where there are points
//! 07/15/2024 12:00:00 PM     month first, or day first, as the file's first dates show
//! 12:00:00.020, 12:00        times of day
//! 59:59.5, 59:59             minutes and seconds, where there is a fraction or rows step so
//! ```
//!
//! Source: ISO 8601-1:2019, the forms of date, time of day and offset from UTC (from memory); the
//! others are common practice, no source. A fraction has any number of digits and is rounded to the
//! microsecond. Calendar days are those of the crate `time`.

use time::{Date, Month};

const SECOND_US: i64 = 1_000_000;
const MINUTE_US: i64 = 60 * SECOND_US;
const HOUR_US: i64 = 60 * MINUTE_US;
/// One hour, us.
pub(super) const FULL_HOUR_US: i64 = HOUR_US;
/// One day, us.
pub(super) const DAY_US: i64 = 24 * HOUR_US;
/// The Julian day that begins at noon of 1970-01-01, as `time` counts.
const JULIAN_DAY_OF_1970: i32 = 2_440_588;

/// Which comes first in a date with slashes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum SlashOrder {
    /// There are no slashes after a day or a month.
    #[default]
    None,
    /// The first dates leave it open; taken as day first, but the date is not told.
    Unclear,
    /// 15/07/2024.
    DayFirst,
    /// 07/15/2024.
    MonthFirst,
}

/// A date, a time of day and perhaps an offset from UTC.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stamp {
    /// After 1970-01-01, of UTC where the offset is known; of a time of day, after midnight.
    pub micros: i64,
    /// Whether the text says how far it is from UTC.
    pub is_utc: bool,
}

impl SlashOrder {
    /// What these dates show.
    pub fn of<'a>(texts: impl Iterator<Item = &'a [u8]>) -> Self {
        let mut found = Self::None;
        for text in texts {
            let mut rest = Text(text);
            let (Some(first), true) = (rest.number(1, 2), rest.take(b'/')) else { continue };
            let Some(second) = rest.number(1, 2) else { continue };
            match (first, second) {
                (13.., _) => found = Self::DayFirst,
                (_, 13..) => found = Self::MonthFirst,
                _ if found == Self::None => found = Self::Unclear,
                _ => {}
            }
        }
        found
    }
}

/// A date with a time of day.
pub(super) fn date_and_time(text: &[u8], order: SlashOrder) -> Option<Stamp> {
    let mut rest = Text(text);
    let day = rest.date(order)?;
    let separated = rest.take(b'T') || rest.take(b't') || rest.take(b'_') || rest.spaces() > 0;
    let compact = rest.0.first().is_some_and(u8::is_ascii_digit);
    if !separated && !compact {
        return None;
    }
    let time_us = rest.time()?;
    let (offset_us, is_utc) = rest.offset()?;
    rest.is_empty().then_some(Stamp { micros: day * DAY_US + time_us - offset_us, is_utc })
}

/// A time of day.
pub(super) fn time_of_day(text: &[u8]) -> Option<Stamp> {
    let mut rest = Text(text);
    let (time_us, offset) = (rest.time()?, rest.offset()?);
    let has_colon = text.contains(&b':');
    (has_colon && rest.is_empty())
        .then_some(Stamp { micros: (time_us - offset.0).rem_euclid(DAY_US), is_utc: offset.1 })
}

/// Minutes and seconds, in microseconds after the full hour, and whether there is a fraction.
pub(super) fn minutes_and_seconds(text: &[u8]) -> Option<(i64, bool)> {
    let mut rest = Text(text);
    let minutes = rest.number(1, 2)?;
    let seconds = rest.take(b':').then(|| rest.number(2, 2))??;
    let has_fraction = rest.take(b'.') || rest.take(b',');
    let fraction_us = if has_fraction { rest.fraction()? } else { 0 };
    let micros = i64::from(minutes) * MINUTE_US + i64::from(seconds) * SECOND_US + fraction_us;
    (minutes < 60 && seconds <= 60 && rest.is_empty()).then_some((micros, has_fraction))
}

/// Whether these are minutes and seconds and not hours and minutes: one has a fraction, or no more
/// than three rows share one, which would be more than 15 s from row to row (a guess).
pub(super) fn are_of_the_hour(read: &[(i64, bool)]) -> bool {
    let steps = read.windows(2).filter(|pair| pair[0].0 != pair[1].0).count();
    read.iter().any(|(_, has_fraction)| *has_fraction) || steps > 0 && 4 * steps >= read.len()
}

/// The date alone, as microseconds after 1970-01-01.
pub(super) fn date(text: &[u8], order: SlashOrder) -> Option<i64> {
    let mut rest = Text(text);
    let day = rest.date(order)?;
    rest.is_empty().then_some(day * DAY_US)
}

/// `YYYY-MM-DD` of a moment after 1970-01-01, UTC; `None` beyond the years 1 to 9999.
pub(crate) fn name_of_day(micros: i64) -> Option<String> {
    let day = i32::try_from(micros.div_euclid(DAY_US)).ok()?.checked_add(JULIAN_DAY_OF_1970)?;
    let (year, month, day) = Date::from_julian_day(day).ok()?.to_calendar_date();
    (1..=9999).contains(&year).then(|| format!("{year:04}-{:02}-{day:02}", u8::from(month)))
}

/// What is left of a text.
struct Text<'a>(&'a [u8]);

impl Text<'_> {
    fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    fn take(&mut self, byte: u8) -> bool {
        let rest = self.0.strip_prefix(&[byte]);
        self.0 = rest.unwrap_or(self.0);
        rest.is_some()
    }

    fn word(&mut self, word: &[u8]) -> bool {
        let is_there = self.0.get(..word.len()).is_some_and(|own| own.eq_ignore_ascii_case(word));
        self.0 = if is_there { &self.0[word.len()..] } else { self.0 };
        is_there
    }

    fn spaces(&mut self) -> usize {
        let before = self.0.len();
        self.0 = self.0.trim_ascii_start();
        before - self.0.len()
    }

    fn digits(&self) -> usize {
        self.0.iter().take_while(|byte| byte.is_ascii_digit()).count()
    }

    /// A number of `least` to `most` digits; what follows may be digits too.
    fn number(&mut self, least: usize, most: usize) -> Option<u32> {
        let count = self.digits().min(most);
        if count < least {
            return None;
        }
        let (digits, rest) = self.0.split_at(count);
        self.0 = rest;
        Some(digits.iter().fold(0, |value, digit| 10 * value + u32::from(digit - b'0')))
    }

    /// The day after 1970-01-01.
    fn date(&mut self, order: SlashOrder) -> Option<i64> {
        let (year, month, day) = match self.digits() {
            4 => {
                let year = self.number(4, 4)?;
                let mark = *self.0.first().filter(|mark| matches!(mark, b'-' | b'/' | b'.'))?;
                self.take(mark);
                let month = self.number(1, 2)?;
                (year, month, self.take(mark).then(|| self.number(1, 2))??)
            }
            8 | 12.. => (self.number(4, 4)?, self.number(2, 2)?, self.number(2, 2)?),
            1 | 2 => {
                let first = self.number(1, 2)?;
                let mark = *self.0.first().filter(|mark| matches!(mark, b'/' | b'.' | b'-'))?;
                self.take(mark);
                let second = self.number(1, 2)?;
                let year = self.take(mark).then(|| self.number(4, 4))??;
                let month_first = mark == b'/' && order == SlashOrder::MonthFirst;
                let (month, day) = if month_first { (first, second) } else { (second, first) };
                (year, month, day)
            }
            _ => return None,
        };
        let month = Month::try_from(u8::try_from(month).ok()?).ok()?;
        let date = Date::from_calendar_date(year as i32, month, u8::try_from(day).ok()?).ok()?;
        Some(i64::from(date.to_julian_day() - JULIAN_DAY_OF_1970))
    }

    /// Hours, minutes and perhaps seconds, with colons or as six digits.
    fn time(&mut self) -> Option<i64> {
        let (hours, minutes, seconds) = if self.digits() >= 6 {
            (self.number(2, 2)?, self.number(2, 2)?, self.number(2, 2)?)
        } else {
            let hours = self.number(1, 2)?;
            let minutes = self.take(b':').then(|| self.number(2, 2))??;
            (hours, minutes, if self.take(b':') { self.number(2, 2)? } else { 0 })
        };
        let fraction_us = if self.take(b'.') || self.take(b',') { self.fraction()? } else { 0 };
        self.spaces();
        let hours = match (hours, self.word(b"AM"), self.word(b"PM")) {
            (hours, false, false) => hours,
            (1..=12, true, _) => hours % 12,
            (1..=12, ..) => hours % 12 + 12,
            _ => return None,
        };
        // A leap second is the first of the next minute.
        (hours < 24 && minutes < 60 && seconds <= 60).then(|| {
            i64::from(hours) * HOUR_US
                + i64::from(minutes) * MINUTE_US
                + i64::from(seconds) * SECOND_US
                + fraction_us
        })
    }

    /// The digits after the second, rounded to the microsecond.
    fn fraction(&mut self) -> Option<i64> {
        let count = self.digits();
        let (digits, rest) = self.0.split_at(count);
        self.0 = rest;
        let padded = digits.iter().copied().chain(std::iter::repeat(b'0')).take(6);
        let micros = padded.fold(0, |value, digit| 10 * value + i64::from(digit - b'0'));
        let rounding = i64::from(digits.get(6).is_some_and(|digit| *digit >= b'5'));
        (count > 0).then_some(micros + rounding)
    }

    /// How far the time is ahead of UTC, and whether the text says so.
    fn offset(&mut self) -> Option<(i64, bool)> {
        self.spaces();
        let is_ahead = match self.0.first() {
            None => return Some((0, false)),
            Some(b'+') => true,
            Some(b'-') => false,
            _ => {
                return (self.word(b"Z") || self.word(b"UTC") || self.word(b"GMT"))
                    .then_some((0, true));
            }
        };
        self.0 = &self.0[1..];
        let hours = self.number(2, 2)?;
        let minutes = if self.take(b':') || self.digits() > 0 { self.number(2, 2)? } else { 0 };
        let offset_us = i64::from(hours) * HOUR_US + i64::from(minutes) * MINUTE_US;
        (hours < 24 && minutes < 60)
            .then_some((if is_ahead { offset_us } else { -offset_us }, true))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 2024-07-15T12:00:00Z: 1721044800 s after 1970, as `date -u +%s` of GNU coreutils says.
    const NOON: i64 = 1_721_044_800 * SECOND_US;

    fn read(text: &str) -> Option<(i64, bool)> {
        let stamp = date_and_time(text.as_bytes(), SlashOrder::of([text.as_bytes()].into_iter()));
        stamp.map(|stamp| (stamp.micros, stamp.is_utc))
    }

    #[test]
    fn the_forms_of_one_moment_are_read_alike() {
        for text in [
            "2024-07-15T12:00:00Z",
            "2024-07-15T12:00:00.000Z",
            "2024-07-15 12:00:00 UTC",
            "2024-07-15t14:00:00+02:00",
            "2024-07-15T06:30:00-0530",
            "20240715T120000Z",
            "20240715T140000+02",
            "2024-07-15T12:00Z",
            "2024/07/15 12:00:00GMT",
        ] {
            assert_eq!(read(text), Some((NOON, true)), "{text}");
        }
        for text in [
            "2024-07-15T12:00:00",
            "2024-07-15 12:00:00",
            "2024-07-15_12:00:00",
            "20240715120000",
            "20240715 120000",
            "15.07.2024 12:00:00",
            "15.7.2024 12:00",
            "15/07/2024 12:00:00",
            "07/15/2024 12:00:00",
            "7/15/2024 12:00:00 PM",
            "2024.07.15 12:00:00,000",
        ] {
            assert_eq!(read(text), Some((NOON, false)), "{text}");
        }
    }

    #[test]
    fn fractions_are_rounded_to_the_microsecond() {
        for (text, micros) in [
            ("2024-07-15T12:00:00.02", 20_000),
            ("2024-07-15T12:00:00,020000", 20_000),
            ("20240715120000.123456", 123_456),
            ("2024-07-15T12:00:00.1234567891Z", 123_457),
            ("2024-07-15T12:00:00.9999995Z", 1_000_000),
            ("2024-07-15T12:00:60Z", 60_000_000),
        ] {
            assert_eq!(read(text).map(|(at, _)| at - NOON), Some(micros), "{text}");
        }
    }

    #[test]
    fn days_before_1970_and_leap_days_are_those_of_the_calendar() {
        assert_eq!(read("1969-12-31T23:59:59Z"), Some((-SECOND_US, true)));
        assert_eq!(read("2024-02-29T00:00:00Z"), Some((1_709_164_800 * SECOND_US, true)));
        assert_eq!(name_of_day(NOON).as_deref(), Some("2024-07-15"));
        assert_eq!(name_of_day(-1).as_deref(), Some("1969-12-31"));
        assert_eq!(name_of_day(i64::MAX), None);
    }

    #[test]
    fn what_is_no_moment_is_refused() {
        for text in [
            "",
            "12:00:00",
            "2024-07-15",
            "2024-02-30T12:00:00",
            "2024-13-01T12:00:00",
            "2024-07-15T24:00:00",
            "2024-07-15T12:60:00",
            "2024-07-15T12:00:00x",
            "2024-07-15T12:00:00.",
            "2024-07-15T12:00:00+2",
            "2024-07-15T",
            "0.02",
            "1721044800",
            "2024-07/15 12:00:00",
            "13:00:00 PM",
            "2024-07-15T13:00:00 PM",
            "202407151200",
        ] {
            assert_eq!(read(text), None, "{text}");
        }
    }

    #[test]
    fn times_of_day_have_a_colon() {
        let read = |text: &str| time_of_day(text.as_bytes()).map(|stamp| stamp.micros);
        assert_eq!(read("12:00:00.020000"), Some(12 * HOUR_US + 20_000));
        assert_eq!(read("9:05"), Some(9 * HOUR_US + 5 * MINUTE_US));
        assert_eq!(read("12:00:00 AM"), Some(0));
        assert_eq!(read("01:00:00+02:00"), Some(23 * HOUR_US));
        for text in ["120000", "12", "25:00:00", "12:0:0", "", "2024-07-15T12:00:00"] {
            assert_eq!(read(text), None, "{text}");
        }
        assert_eq!(time_of_day(b"12:00:00Z").map(|stamp| stamp.is_utc), Some(true));
    }

    #[test]
    fn the_order_of_slashes_is_what_the_dates_show() {
        let order = |texts: &[&str]| SlashOrder::of(texts.iter().map(|text| text.as_bytes()));
        assert_eq!(order(&["07/08/2024 1:00", "15/08/2024 1:00"]), SlashOrder::DayFirst);
        assert_eq!(order(&["07/08/2024 1:00", "07/15/2024 1:00"]), SlashOrder::MonthFirst);
        assert_eq!(order(&["07/08/2024 1:00", "x"]), SlashOrder::Unclear);
        assert_eq!(order(&["2024/08/07 1:00", "x"]), SlashOrder::None);
    }
}
