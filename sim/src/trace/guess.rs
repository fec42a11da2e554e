//! What a column's first values can only be: the unit of a pressure, the clock of a time.

use super::calendar::{self, SlashOrder};
use super::clock::{Clock, Form};
use super::lines::excerpt;
use super::number::{self, Field, Style};
use super::unit::{Quantity, Unit};

/// Where a column's unit comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Origin {
    /// The user gave it.
    Given,
    /// The column's name says it.
    Name,
    /// The user named the column and no unit.
    Asked,
    /// Nobody said it.
    Nobody,
}

/// Static pressures in each unit, as a flight has them: each range is told from the others (common
/// practice, no source; 25,000 Pa is 10.4 km, the highest that gliders have been is 22.6 km).
const PRESSURES: [(&str, f64, f64); 4] = [
    ("Pa", 25_000.0, 110_000.0),
    ("hPa", 300.0, 1_100.0),
    ("kPa", 30.0, 110.0),
    ("inHg", 15.0, 32.5),
];
/// Those that are told without being asked, Pa.
const FLOWN_PA: [f64; 2] = [25_000.0, 110_000.0];
/// Pressures that an instrument takes, Pa.
const USABLE_PA: [f64; 2] = [5_000.0, 115_000.0];
/// Heights in metres; above are pressures in pascals.
const HEIGHTS_M: [f64; 2] = [-1_000.0, 25_000.0];
/// From 2001-09-09 to 2099, in seconds after 1970.
const EPOCH_S: [f64; 2] = [1e9, 4.1e9];
/// From 1954 to 2119, in days of a spreadsheet.
const SPREADSHEET_DAYS: [f64; 2] = [20_000.0, 80_000.0];
/// Days between rows; as many seconds between rows no recorder writes (a guess).
const MOST_DAYS_BETWEEN_ROWS: f64 = 5e-4;
/// Seconds between the rows of a flight (a guess; flight recorders write every 1 to 12 s).
const BETWEEN_ROWS_S: [f64; 2] = [0.002, 12.0];

/// The first values of a column.
pub(super) struct Values<'a> {
    cells: &'a [(u64, Vec<u8>)],
    numbers: Vec<f64>,
    /// Place of the first number among the cells.
    first: usize,
}

impl<'a> Values<'a> {
    /// The values in `cells`, with their lines.
    pub fn of(cells: &'a [(u64, Vec<u8>)], style: Style) -> Self {
        let number = |cell: &(u64, Vec<u8>)| match number::field(&cell.1, style) {
            Field::Value(value) => Some(value),
            _ => None,
        };
        let first = cells.iter().position(|cell| number(cell).is_some()).unwrap_or(0);
        Self { cells, numbers: cells.iter().filter_map(number).collect(), first }
    }

    /// The first number, or the first cell of all, as it stands, with its line.
    pub fn first(&self) -> Option<(u64, String)> {
        self.cells.get(self.first).map(|(line, text)| (*line, excerpt(text)))
    }

    fn are_within(&self, [low, high]: [f64; 2], unit: f64) -> bool {
        let is_within = |value: &f64| (low * unit..=high * unit).contains(value);
        !self.numbers.is_empty() && self.numbers.iter().all(is_within)
    }

    /// The middle one of the steps from row to row, without those that do not move.
    pub fn step(&self) -> Option<f64> {
        let mut steps: Vec<f64> =
            self.numbers.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect();
        steps.retain(|step| *step > 0.0);
        steps.sort_by(f64::total_cmp);
        steps.get(steps.len() / 2).copied()
    }

    /// Whether each is more than the one before; so are dates and no values at all.
    pub fn are_increasing(&self) -> bool {
        self.numbers.windows(2).all(|pair| pair[1] > pair[0])
    }

    /// Whether all can be heights in metres.
    pub fn are_heights(&self) -> bool {
        self.numbers.iter().all(|value| (HEIGHTS_M[0]..HEIGHTS_M[1]).contains(value))
    }

    fn has_decimals(&self) -> bool {
        self.numbers.iter().any(|value| value.fract() != 0.0)
    }

    /// The units in which all of them are static pressures of a flight.
    pub fn pressure_units(&self) -> Vec<&'static Unit> {
        let fits = PRESSURES.iter().filter(|(_, low, high)| self.are_within([*low, *high], 1.0));
        fits.filter_map(|(name, ..)| Unit::spelled(name, &[Quantity::Pressure])).collect()
    }

    /// The unit of a static pressure; `None` where nobody said it and it cannot be told.
    pub fn pressure_unit(&self, unit: &'static Unit, origin: Origin) -> Option<&'static Unit> {
        if origin == Origin::Given || unit.quantity != Quantity::Pressure {
            return Some(unit);
        }
        let is_usable = |value: &f64| (USABLE_PA[0]..=USABLE_PA[1]).contains(&unit.convert(*value));
        let is_flown = |value: &f64| (FLOWN_PA[0]..=FLOWN_PA[1]).contains(&unit.convert(*value));
        if origin == Origin::Name && self.numbers.iter().any(is_flown) {
            return Some(unit);
        }
        match (&self.pressure_units()[..], origin) {
            ([only], _) => Some(only),
            // It could be meant, but nobody flies there.
            ([], Origin::Name) if self.numbers.iter().any(is_usable) => None,
            (_, Origin::Nobody) => None,
            _ => Some(unit),
        }
    }

    /// The units of time in which these steps are those of a flight.
    pub fn time_units(&self) -> Vec<&'static Unit> {
        let units = Unit::all_of(&[Quantity::Time]).filter(|unit| unit.is_decimal());
        let Some(step) = self.step() else { return units.take(1).collect() };
        let fits = units.filter(|unit| {
            let seconds = unit.convert(step) * 1e-6;
            (BETWEEN_ROWS_S[0]..=BETWEEN_ROWS_S[1]).contains(&seconds)
        });
        let fits: Vec<_> = fits.collect();
        // Nobody writes parts of a millisecond without saying so.
        if self.has_decimals() { fits.into_iter().take(1).collect() } else { fits }
    }

    /// The clock of a time column; `None` where nobody said its unit and it cannot be told.
    pub fn clock(&self, unit: &'static Unit, origin: Origin) -> Option<Found> {
        let plain = |unit: &'static Unit| Found { unit, form: form_of(unit) };
        if self.cells.is_empty() {
            return Some(plain(unit));
        }
        if let Some(form) = self.written_form() {
            return Some(Found { unit, form });
        }
        if origin == Origin::Given {
            return Some(Found { form: self.epoch_form(unit), ..plain(unit) });
        }
        if let Some(found) = self.epoch_unit(unit, origin) {
            let form = Form::Epoch(found.decimal_places());
            return Some(Found { form, ..plain(found) });
        }
        if unit.name() == "s" && self.are_days() {
            let unit = Unit::spelled("days", &[Quantity::Time]).unwrap_or(unit);
            return Some(Found { unit, form: Form::Days });
        }
        match (&self.time_units()[..], origin) {
            ([only], Origin::Nobody) => Some(plain(only)),
            (_, Origin::Nobody) => None,
            _ => Some(plain(unit)),
        }
    }

    /// The form of dates or times of day, where most of the fields are of it.
    fn written_form(&self) -> Option<Form> {
        let texts = || self.cells.iter().map(|(_, text)| text.as_slice());
        let order = SlashOrder::of(texts());
        let is_most = |count: usize| 2 * count > self.cells.len();
        let dates = texts().filter(|text| calendar::date_and_time(text, order).is_some());
        if is_most(dates.count()) {
            return Some(Form::Calendar(order));
        }
        let of_hour: Vec<_> = texts().filter_map(calendar::minutes_and_seconds).collect();
        if is_most(of_hour.len()) && calendar::are_of_the_hour(&of_hour) {
            return Some(Form::OfHour);
        }
        let of_day = texts().filter(|text| calendar::time_of_day(text).is_some());
        is_most(of_day.count()).then_some(Form::OfDay)
    }

    fn epoch_form(&self, unit: &'static Unit) -> Form {
        if unit.is_decimal() && self.are_within(EPOCH_S, 1e6 / unit.convert(1.0)) {
            Form::Epoch(unit.decimal_places())
        } else {
            form_of(unit)
        }
    }

    /// The unit in which they all count from 1970: the one that the name says, or a smaller one
    /// where theirs would be beyond this century.
    fn epoch_unit(&self, unit: &'static Unit, origin: Origin) -> Option<&'static Unit> {
        let units = Unit::all_of(&[Quantity::Time]).filter(|unit| unit.is_decimal());
        let mut fits = units.filter(|unit| self.are_within(EPOCH_S, 1e6 / unit.convert(1.0)));
        let found = fits.next()?;
        let is_named = !matches!(origin, Origin::Nobody | Origin::Asked);
        let is_smaller = found.convert(1.0) < unit.convert(1.0);
        let seconds = self.step().map_or(0.0, |step| found.convert(step) * 1e-6);
        let fits =
            if is_named { found == unit || is_smaller } else { seconds <= BETWEEN_ROWS_S[1] };
        fits.then_some(found)
    }

    fn are_days(&self) -> bool {
        self.are_within(SPREADSHEET_DAYS, 1.0)
            && self.step().is_some_and(|step| step < MOST_DAYS_BETWEEN_ROWS)
    }
}

/// What a time column is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Found {
    /// Its unit, where it holds numbers.
    pub unit: &'static Unit,
    /// What its fields are.
    pub form: Form,
}

impl Found {
    /// Whether its fields are numbers.
    pub fn is_number(&self) -> bool {
        !matches!(self.form, Form::Calendar(_) | Form::OfDay | Form::OfHour)
    }
}

fn form_of(unit: &Unit) -> Form {
    Clock::of_unit(unit, Style::default()).form()
}
