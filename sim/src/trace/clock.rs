//! The clock of a CSV: what the fields of its time column mean, and the date and UTC where they say
//! so.
//!
//! A plain count (seconds, milliseconds ..) is the trace's own time. A count from 1970, a date, a
//! time of day or a spreadsheet's number of days begins at time 0 with the first row.

use super::calendar::{self, DAY_US, FULL_HOUR_US, SlashOrder, Stamp};
use super::number::{self, NoTime, Style};
use super::unit::Unit;

/// 1970-01-01 as spreadsheets number their days: 25569 days after 1899-12-30 (the 1900 date system
/// of ECMA-376, Part 1, 18.17.4.1; from memory).
const SPREADSHEET_DAY_OF_1970: i64 = 25_569;
/// Days are read to so many decimal places before they become microseconds.
const PLACES_OF_DAYS: i32 = 12;

/// What the fields of a time column are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Form {
    /// Numbers of this many decimal places before the microsecond, from any beginning.
    Count(i32),
    /// The same from 1970-01-01 UTC.
    Epoch(i32),
    /// Days of a spreadsheet.
    Days,
    /// Dates with a time of day.
    Calendar(SlashOrder),
    /// Times of day.
    OfDay,
    /// Minutes and seconds, which begin again every hour.
    OfHour,
    /// Numbers of a unit that is so many seconds, from any beginning.
    Multiple(i64),
}

/// A clock that is being read.
#[derive(Clone, Debug)]
pub(super) struct Clock {
    form: Form,
    style: Style,
    is_utc: bool,
    /// The first midnight, where times of day stand beside a date.
    midnight_us: Option<i64>,
    zero_us: Option<i64>,
    last_us: Option<i64>,
}

impl Clock {
    /// A clock of this form; `is_utc` says that the column's name promises UTC.
    pub fn new(form: Form, style: Style, is_utc: bool) -> Self {
        let is_utc = is_utc || matches!(form, Form::Epoch(_));
        Self { form, style, is_utc, midnight_us: None, zero_us: None, last_us: None }
    }

    /// Numbers in this unit.
    pub fn of_unit(unit: &Unit, style: Style) -> Self {
        let form = match unit {
            _ if unit.is_days() => Form::Days,
            _ if unit.is_decimal() => Form::Count(unit.decimal_places()),
            _ => Form::Multiple((unit.convert(1.0) * 1e-6) as i64),
        };
        Self::new(form, style, false)
    }

    /// Says the date of the first row, us after 1970, where another column has it.
    pub fn begin_on(&mut self, midnight_us: Option<i64>) {
        self.midnight_us = midnight_us;
    }

    /// What the fields are.
    pub fn form(&self) -> Form {
        self.form
    }

    /// The time in a trimmed field of the next row, in microseconds from the clock's own beginning.
    pub fn read(&mut self, text: &[u8]) -> Result<i64, NoTime> {
        match self.form {
            Form::Count(places) | Form::Epoch(places) => number::micros(text, places, self.style),
            Form::Days => days(text, self.style),
            Form::Multiple(seconds) => {
                let parts = i128::from(number::micros(text, PLACES_OF_DAYS, self.style)?);
                Ok((parts * i128::from(seconds) + 500_000).div_euclid(1_000_000) as i64)
            }
            Form::OfHour => {
                let (micros, _) = calendar::minutes_and_seconds(text).ok_or(NoTime::NotANumber)?;
                let moment = self.nearest(micros, FULL_HOUR_US);
                self.last_us = Some(moment);
                Ok(moment)
            }
            Form::Calendar(order) => {
                let stamp = calendar::date_and_time(text, order).ok_or(NoTime::NotANumber)?;
                Ok(self.note_zone(stamp).micros)
            }
            Form::OfDay => {
                let stamp = calendar::time_of_day(text).ok_or(NoTime::NotANumber)?;
                let stamp = self.note_zone(stamp);
                Ok(self.on_its_day(stamp.micros))
            }
        }
    }

    /// The trace's own time at a moment that [`Clock::read`] gave; the first such moment is time 0,
    /// except for a plain count.
    pub fn on_trace(&mut self, moment_us: i64) -> i64 {
        match self.form {
            Form::Count(_) | Form::Multiple(_) => moment_us,
            _ => moment_us.saturating_sub(*self.zero_us.get_or_insert(moment_us)),
        }
    }

    /// Seconds after UTC midnight of time zero.
    pub fn utc_start_s(&self) -> Option<f64> {
        let is_known = self.is_utc && self.form != Form::OfHour;
        let zero_us = self.zero_us.filter(|_| is_known)?;
        Some(zero_us.rem_euclid(DAY_US) as f64 / 1e6)
    }

    /// `YYYY-MM-DD` of time zero.
    pub fn date(&self) -> Option<String> {
        match self.form {
            Form::Count(_)
            | Form::Multiple(_)
            | Form::OfHour
            | Form::Calendar(SlashOrder::Unclear) => None,
            Form::OfDay => calendar::name_of_day(self.midnight_us?),
            _ => calendar::name_of_day(self.zero_us?),
        }
    }

    /// When time zero is, for people.
    fn beginning(&self) -> Option<String> {
        let seconds = self.zero_us?.rem_euclid(DAY_US) / 1_000_000;
        let (hours, minutes, seconds) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
        let date = self.date().map(|date| date + " ").unwrap_or_default();
        let zone = if self.is_utc { " UTC" } else { "; the file does not say of which zone" };
        Some(format!("time 0 is {date}{hours:02}:{minutes:02}:{seconds:02}{zone}"))
    }

    /// The note on the column `name`, once a row has been read.
    pub fn note(&self, name: &str) -> Option<String> {
        let what = match self.form {
            Form::Count(_) | Form::Multiple(_) => return None,
            Form::OfHour => {
                return Some(format!(
                    "{name} holds minutes and seconds, which begin again every hour"
                ));
            }
            Form::Epoch(6) => "counts seconds from 1970",
            Form::Epoch(3) => "counts milliseconds from 1970",
            Form::Epoch(0) => "counts microseconds from 1970",
            Form::Epoch(_) => "counts nanoseconds from 1970",
            Form::Days => "holds a spreadsheet's days",
            Form::Calendar(_) => "holds dates and times",
            Form::OfDay => "holds times of day",
        };
        Some(format!("{name} {what}; {}", self.beginning()?))
    }

    fn note_zone(&mut self, stamp: Stamp) -> Stamp {
        // The first row decides; one moment without a zone among others is no new clock.
        if self.last_us.is_none() {
            self.is_utc |= stamp.is_utc;
            self.last_us = Some(stamp.micros);
        }
        stamp
    }

    /// The time of day on the day that brings it nearest to the row before.
    fn on_its_day(&mut self, time_of_day_us: i64) -> i64 {
        let moment = self.nearest(time_of_day_us, DAY_US);
        self.last_us = Some(moment);
        moment
    }

    /// `micros` and as many whole periods as bring it nearest to the row before.
    fn nearest(&self, micros: i64, period_us: i64) -> i64 {
        let last = self.last_us.unwrap_or(micros);
        micros + (last - micros + period_us / 2).div_euclid(period_us).max(0) * period_us
    }
}

/// A spreadsheet's number of days, as microseconds after 1970.
fn days(text: &[u8], style: Style) -> Result<i64, NoTime> {
    let parts = number::micros(text, PLACES_OF_DAYS, style)?;
    // 1e12 parts are 86,400e6 us, so that one is 864 / 1e4 of a microsecond.
    let micros = (i128::from(parts) * 864 + 5_000).div_euclid(10_000);
    Ok(micros as i64 - SPREADSHEET_DAY_OF_1970 * DAY_US)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn clock(form: Form) -> Clock {
        Clock::new(form, Style::default(), false)
    }

    /// Every text on the trace's time, us.
    fn read(clock: &mut Clock, texts: &[&str]) -> Vec<i64> {
        let mut one = |text: &&str| {
            let moment = clock.read(text.as_bytes()).expect("it is a time");
            clock.on_trace(moment)
        };
        texts.iter().map(&mut one).collect()
    }

    #[test]
    fn nanoseconds_beyond_the_digits_of_a_double_are_exact() {
        let mut ns = clock(Form::Epoch(-3));
        let texts = ["1721044800000001000", "1721044800000002000", "1721044800020000000"];
        assert_eq!(read(&mut ns, &texts), [0, 1, 19_999]);
        assert_eq!(ns.date().as_deref(), Some("2024-07-15"));
        assert_eq!(ns.utc_start_s(), Some(43_200.000_001));
    }

    #[test]
    fn days_of_a_spreadsheet_are_read_to_the_microsecond() {
        let mut days = clock(Form::Days);
        // 45488.5 is noon of 2024-07-15; 20 ms are 2.31481..e-7 of a day.
        let texts = ["45488.5", "45488.500000231481", "45489.5"];
        assert_eq!(read(&mut days, &texts), [0, 20_000, DAY_US]);
        assert_eq!(days.date().as_deref(), Some("2024-07-15"));
        assert_eq!(days.utc_start_s(), None);
    }

    #[test]
    fn times_of_day_run_on_over_midnight_and_stay_back_where_they_step_back() {
        let mut of_day = clock(Form::OfDay);
        let texts = ["23:59:59.5", "00:00:00", "00:00:01", "00:00:00.5", "23:59:59.9"];
        let expected = [0, 500_000, 1_500_000, 1_000_000, 400_000];
        assert_eq!(read(&mut of_day, &texts), expected);
        assert_eq!((of_day.date(), of_day.utc_start_s()), (None, None));
        let mut many = clock(Form::OfDay);
        let texts = ["20:00:00", "02:00:00", "08:00:00", "14:00:00", "20:00:00", "02:00:00"];
        let expected: Vec<i64> = (0..6).map(|quarter| quarter * DAY_US / 4).collect();
        assert_eq!(read(&mut many, &texts), expected);
    }

    #[test]
    fn minutes_and_seconds_run_on_over_the_full_hour() {
        let mut of_hour = clock(Form::OfHour);
        let read = read(&mut of_hour, &["59:59.0", "59:59.5", "00:00.0", "01:30.0"]);
        assert_eq!(read, [0, 500_000, 1_000_000, 91_000_000]);
        assert_eq!((of_hour.date(), of_hour.utc_start_s()), (None, None));
    }

    #[test]
    fn minutes_and_hours_are_multiples_of_the_second() {
        assert_eq!(
            read(&mut clock(Form::Multiple(60)), &["1", "1.00833"]),
            [60_000_000, 60_499_800]
        );
        assert_eq!(read(&mut clock(Form::Multiple(3600)), &["0,5"]), [1_800_000_000]);
    }

    #[test]
    fn a_date_beside_times_of_day_and_a_zone_are_told() {
        let mut of_day = clock(Form::OfDay);
        of_day.begin_on(calendar::date(b"2024-07-15", SlashOrder::None));
        read(&mut of_day, &["12:00:00Z", "12:00:01Z"]);
        assert_eq!(of_day.date().as_deref(), Some("2024-07-15"));
        assert_eq!(of_day.utc_start_s(), Some(43_200.0));
        let expected = "t holds times of day; time 0 is 2024-07-15 12:00:00 UTC";
        assert_eq!(of_day.note("t").as_deref(), Some(expected));
        let mut local = clock(Form::Calendar(SlashOrder::None));
        read(&mut local, &["2024-07-15T12:00:00"]);
        assert_eq!(local.utc_start_s(), None);
    }

    #[test]
    fn an_ambiguous_date_is_read_and_not_told() {
        let mut slashes = clock(Form::Calendar(SlashOrder::Unclear));
        assert_eq!(
            read(&mut slashes, &["07/08/2024 12:00:00", "07/08/2024 12:00:01"]),
            [0, 1_000_000]
        );
        assert_eq!(slashes.date(), None);
    }

    #[test]
    fn a_plain_count_keeps_its_own_beginning() {
        assert_eq!(read(&mut clock(Form::Count(6)), &["5", "5.5"]), [5_000_000, 5_500_000]);
        assert_eq!(clock(Form::Count(6)).note("t"), None);
    }
}
