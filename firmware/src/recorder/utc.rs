//! UTC as text, and as microseconds after 1970-01-01 without leap seconds, as computers count it.

use core::fmt;

const DAY_S: i64 = 86_400;

/// A moment, in microseconds after 1970-01-01T00:00:00Z; from 2000 to 2099.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Utc(pub i64);

impl Utc {
    /// The moment of a date and a time of day; `None` where there is no such day or time.
    pub fn of(year: u16, month: u8, day: u8, [hour, minute, second]: [u8; 3]) -> Option<Self> {
        let is_time = hour < 24 && minute < 60 && second < 60;
        let is_day = (2_000..2_100).contains(&year)
            && (1..=12).contains(&month)
            && (1..=days_of(year.into(), month.into())).contains(&i64::from(day));
        if !is_time || !is_day {
            return None;
        }
        let days = (1_970..i64::from(year)).map(days_of_year).sum::<i64>()
            + (1..i64::from(month)).map(|month| days_of(year.into(), month)).sum::<i64>()
            + i64::from(day - 1);
        let seconds = i64::from(hour) * 3_600 + i64::from(minute) * 60 + i64::from(second);
        Some(Self((days * DAY_S + seconds) * 1_000_000))
    }

    /// From `2026-05-01T10:20:30Z`, the one form that is understood.
    pub fn read(text: &str) -> Option<Self> {
        let (date, time) = text.strip_suffix('Z')?.split_once('T')?;
        let mut date = date.split('-').map(|part| part.parse::<u16>().ok());
        let mut time = time.split(':').map(|part| part.parse::<u8>().ok());
        let (year, month, day) = (date.next()??, date.next()??, date.next()??);
        let time_of_day = [time.next()??, time.next()??, time.next()??];
        let is_all = date.next().is_none() && time.next().is_none();
        is_all.then_some(())?;
        Self::of(year, month.try_into().ok()?, day.try_into().ok()?, time_of_day)
    }
}

impl fmt::Display for Utc {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let seconds = self.0.div_euclid(1_000_000);
        let (mut days, of_day) = (seconds.div_euclid(DAY_S), seconds.rem_euclid(DAY_S));
        let (mut year, mut month) = (1_970, 1);
        while year < 2_100 && days >= days_of_year(year) {
            days -= days_of_year(year);
            year += 1;
        }
        while month < 12 && days >= days_of(year, month) {
            days -= days_of(year, month);
            month += 1;
        }
        let (hour, minute, second) = (of_day / 3_600, of_day / 60 % 60, of_day % 60);
        write!(f, "{year}-{month:02}-{:02}T{hour:02}:{minute:02}:{second:02}Z", days + 1)
    }
}

fn days_of_year(year: i64) -> i64 {
    if is_leap(year) { 366 } else { 365 }
}

fn days_of(year: i64, month: i64) -> i64 {
    match month {
        2 if is_leap(year) => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

/// Before 2100, which is none.
fn is_leap(year: i64) -> bool {
    year % 4 == 0
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::string::ToString;

    #[test]
    fn moments_are_those_that_a_computer_counts() {
        // From `date -u -d TEXT +%s`.
        for (text, seconds) in [
            ("2000-01-01T00:00:00Z", 946_684_800),
            ("2024-02-29T23:59:59Z", 1_709_251_199),
            ("2024-12-31T12:00:00Z", 1_735_646_400),
            ("2026-05-01T10:20:30Z", 1_777_630_830),
            ("2099-12-31T23:59:59Z", 4_102_444_799),
        ] {
            assert_eq!(Utc::read(text), Some(Utc(seconds * 1_000_000)), "{text}");
            assert_eq!(Utc(seconds * 1_000_000).to_string(), text);
        }
    }

    #[test]
    fn what_is_no_moment_is_refused() {
        for text in [
            "",
            "now",
            "2026-05-01",
            "2026-05-01T10:20Z",
            "2026-05-01T10:20:30",
            "2026-13-01T0:0:0Z",
            "2025-02-29T10:20:30Z",
            "2026-04-31T10:20:30Z",
            "2026-05-00T10:20:30Z",
            "2026-05-01T24:00:00Z",
            "2026-05-01T10:20:60Z",
            "1999-05-01T10:20:30Z",
            "2026-05-01-01T10:20:30Z",
            "-2026-05-01T10:20:30Z",
            "2026-05-01T10:20:30:40Z",
        ] {
            assert_eq!(Utc::read(text), None, "{text}");
        }
    }
}
