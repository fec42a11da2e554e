//! Whether a few rows suffice to read a CSV: our own names, times in order with parts of a second,
//! pressures in pascals. Then nothing is held back any longer.

use super::columns::{Channel, ColumnMap};
use super::first::Waiting;
use super::number::{self, Field, Style};
use super::row::Row;

/// So many rows suffice, if all of them are clear.
const ENOUGH: usize = 16;
/// Pressures that are clearly in pascals.
const PASCALS: std::ops::RangeInclusive<f64> = 25_000.0..=110_000.0;
/// The latest time that is clearly no count from 1970, us; and of a spreadsheet's days.
const LATEST_US: i64 = 20_000_000_000;
const SECOND_US: i64 = 1_000_000;

/// What the rows so far show.
pub(super) struct Suffice {
    /// Places of the time, with the decimal places of its unit, and of the static pressure.
    columns: Option<(usize, i32, usize)>,
    row: Row,
    seen: usize,
    last_us: Option<i64>,
    has_parts: bool,
    has_pressure: bool,
}

impl Suffice {
    /// Nothing seen yet.
    pub fn of(names: &[String], map: &ColumnMap, delimiter: u8) -> Self {
        let place = |own: &str| names.iter().position(|name| name.eq_ignore_ascii_case(own));
        let is_free = |channel| map.named(channel).is_none();
        let time = place("time_s").map(|at| (at, 6)).or(place("time_us").map(|at| (at, 0)));
        let are_own = is_free(Channel::Time) && is_free(Channel::Static);
        let columns = time.zip(place("static_pa")).filter(|_| are_own);
        Self {
            columns: columns.map(|((time, places), pressure)| (time, places, pressure)),
            row: Row::new(delimiter),
            seen: 0,
            last_us: None,
            has_parts: false,
            has_pressure: false,
        }
    }

    /// Whether the rows up to this one suffice; not again once one of them was unclear.
    pub fn is_clear(&mut self, waiting: &Waiting) -> bool {
        let Some(columns) = self.columns else { return false };
        if self.take(waiting, columns).is_none() {
            self.columns = None;
            return false;
        }
        self.seen >= ENOUGH && self.has_parts && self.has_pressure
    }

    fn take(
        &mut self,
        waiting: &Waiting,
        (time, places, pressure): (usize, i32, usize),
    ) -> Option<()> {
        self.row.split(&waiting.text);
        let time = number::micros(self.row.field(time)?, places, Style::default()).ok()?;
        if self.last_us.is_some_and(|last| time <= last) || time > LATEST_US {
            return None;
        }
        match number::field(self.row.field(pressure)?, Style::default()) {
            Field::Value(value) if PASCALS.contains(&value) => self.has_pressure = true,
            Field::Absent => {}
            _ => return None,
        }
        self.seen += 1;
        self.last_us = Some(time);
        self.has_parts |= time % SECOND_US != 0;
        Some(())
    }
}
