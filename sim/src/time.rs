//! Times as people write them: `90`, `12.5`, `1:30`, `2:05:00`, and `13:05:00Z` for the clock of a
//! flight log.

use chirrup_core::Micros;
use std::fmt;
use std::str::FromStr;

/// A time in seconds with as many decimals as it has, down to the microsecond.
#[derive(Clone, Copy)]
pub struct Seconds(pub Micros);

impl fmt::Display for Seconds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0.0 < 0 { "-" } else { "" };
        let (whole, mut rest) =
            (self.0.0.unsigned_abs() / 1_000_000, self.0.0.unsigned_abs() % 1_000_000);
        write!(f, "{sign}{whole}")?;
        if rest == 0 {
            return Ok(());
        }
        let mut digits = 6;
        while rest.is_multiple_of(10) {
            rest /= 10;
            digits -= 1;
        }
        write!(f, ".{rest:0digits$}")
    }
}

/// A time as `m:ss` or `h:mm:ss`, for tables that people read.
#[derive(Clone, Copy)]
pub struct Clock(pub f64);

impl fmt::Display for Clock {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0.0 { "-" } else { "" };
        let seconds = self.0.abs().round() as u64;
        let (hours, minutes, seconds) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
        if hours > 0 {
            write!(f, "{sign}{hours}:{minutes:02}:{seconds:02}")
        } else {
            write!(f, "{sign}{minutes}:{seconds:02}")
        }
    }
}

/// What the clock shows at a time of a recording: the time of day where the recording knows it,
/// else its own time; after its start where its own counts from elsewhere, such as 1970.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LocalClock {
    /// UTC, in seconds after midnight, of the recording's time zero.
    pub utc_at_zero_s: Option<f64>,
    /// The recording's first time.
    pub first_s: f64,
}

/// A clock further from zero than this, eleven days, counts from elsewhere.
const FAR_S: f64 = 1e6;

impl LocalClock {
    /// The clock at `time_s` of the recording.
    pub fn at(&self, time_s: f64) -> String {
        let seconds = self.seconds_at(time_s);
        match self.utc_at_zero_s {
            Some(_) => time_of_day_at(seconds),
            None => Clock(seconds).to_string(),
        }
    }

    /// The seconds that the clock shows at `time_s` of the recording; a time of day may go on
    /// beyond midnight.
    pub fn seconds_at(&self, time_s: f64) -> f64 {
        match self.utc_at_zero_s {
            Some(zero_s) => time_s + zero_s,
            None if self.first_s.abs() > FAR_S => time_s - self.first_s,
            None => time_s,
        }
    }

    /// What follows a time, with a space before it; nothing for the recording's own.
    pub fn kind(&self) -> &'static str {
        match self.utc_at_zero_s {
            Some(_) => " UTC",
            None if self.first_s.abs() > FAR_S => " after the start",
            None => "",
        }
    }
}

/// `0:09:59`: with its hours, so that nobody reads minutes as hours.
fn time_of_day_at(seconds: f64) -> String {
    let whole = seconds.round() as i64;
    let (hours, minutes, seconds) = (whole.div_euclid(3600), whole.div_euclid(60), whole);
    let within = |number: i64, most: i64| number.rem_euclid(most);
    format!("{}:{:02}:{:02}", within(hours, 24), within(minutes, 60), within(seconds, 60))
}

/// A point in a trace as it was typed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Moment {
    /// On the trace's own time, in seconds.
    Trace(f64),
    /// On the UTC clock, in seconds after midnight; for traces that know the time of day.
    Utc(f64),
}

impl FromStr for Moment {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wrong = || {
            format!(
                "found \"{text}\", expected seconds (90), m:ss (1:30), h:mm:ss, or a UTC time \
                 (13:05Z, 13:05:00Z)"
            )
        };
        match text.strip_suffix(['Z', 'z']) {
            Some(clock) => time_of_day(clock).map(Moment::Utc),
            None => seconds_of(text).map(Moment::Trace),
        }
        .ok_or_else(wrong)
    }
}

/// A time of day: `13:05:00`, or `13:05` for hours and minutes; before 24 h.
fn time_of_day(text: &str) -> Option<f64> {
    let seconds = match text.matches(':').count() {
        1 => seconds_of(&format!("{text}:00"))?,
        2 => seconds_of(text)?,
        _ => return None,
    };
    (0.0..86_400.0).contains(&seconds).then_some(seconds)
}

fn seconds_of(text: &str) -> Option<f64> {
    let (text, sign) = text.strip_prefix('-').map_or((text, 1.0), |rest| (rest, -1.0));
    let mut total = 0.0;
    let fields: Vec<&str> = text.split(':').collect();
    if fields.len() > 3 {
        return None;
    }
    for (place, field) in fields.iter().enumerate() {
        let plain = field.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
        let value = field.parse::<f64>().ok().filter(|_| plain)?;
        if place > 0 && value >= 60.0 {
            return None;
        }
        total = total * 60.0 + value;
    }
    Some(sign * total)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flight_is_told_by_the_clock_on_the_wall_where_there_is_one() {
        let of = |utc_at_zero_s, first_s| LocalClock { utc_at_zero_s, first_s };
        let said = |clock: LocalClock, at_s| format!("{}{}", clock.at(at_s), clock.kind());
        assert_eq!(said(of(Some(86_000.0), 0.0), 1_000.0), "0:10:00 UTC");
        assert_eq!(said(of(None, 5.0), 65.0), "1:05");
        assert_eq!(said(of(None, 1.72e9), 1.72e9 + 65.0), "1:05 after the start");
    }

    #[test]
    fn seconds_keep_every_microsecond_and_no_idle_zero() {
        for (micros, text) in [
            (0, "0"),
            (20_000, "0.02"),
            (1_000_001, "1.000001"),
            (-1_500_000, "-1.5"),
            (86_400_000_000, "86400"),
        ] {
            assert_eq!(Seconds(Micros(micros)).to_string(), text);
        }
    }

    #[test]
    fn moments_are_read_as_people_write_them() {
        for (text, moment) in [
            ("90", Moment::Trace(90.0)),
            ("12.5", Moment::Trace(12.5)),
            ("-3", Moment::Trace(-3.0)),
            ("1:30", Moment::Trace(90.0)),
            ("2:05:00.5", Moment::Trace(7500.5)),
            ("13:05:00Z", Moment::Utc(47_100.0)),
            ("13:05z", Moment::Utc(47_100.0)),
        ] {
            assert_eq!(text.parse(), Ok(moment));
        }
    }

    #[test]
    fn what_is_no_moment_is_named() {
        for text in ["", "noon", "1:75", "1:2:3:4", "1e3", "nan", ":", "Z", "25:00:00Z", "90Z"] {
            let message = text.parse::<Moment>().unwrap_err();
            assert!(message.contains(&format!("\"{text}\"")), "{message}");
        }
    }

    #[test]
    fn clocks_show_hours_only_where_there_are_any() {
        assert_eq!(Clock(75.2).to_string(), "1:15");
        assert_eq!(Clock(19_447.0).to_string(), "5:24:07");
    }
}
