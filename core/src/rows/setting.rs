//! The types a setting may have, and how each is read, set and checked by its row.

use super::row::{Entry, EntryRow, Kind, Row, Value};
use crate::error::{Expected, SettingsError};
use heapless::Vec;

/// The field of a struct of settings.
pub trait Setting {
    /// What it is.
    fn value(&self) -> Value;

    /// Sets it, and says whether `value` is of its kind; its range is not looked at.
    ///
    /// `Value::Entries(n)` keeps the first `n` entries of a list.
    fn set(&mut self, value: Value) -> bool;

    /// The entry of a list at `index`, counted from 0.
    fn entry(&self, _index: usize) -> Option<Entry> {
        None
    }

    /// Adds an entry to a list; `false` where the list is full, or this is none.
    fn push(&mut self, _entry: &Entry) -> bool {
        false
    }

    /// Whether it is in the range of its row.
    ///
    /// # Errors
    /// What is out of range.
    fn check(&self, _row: &Row) -> Result<(), SettingsError> {
        Ok(())
    }
}

impl Setting for f32 {
    fn value(&self) -> Value {
        Value::Number(*self)
    }

    fn set(&mut self, value: Value) -> bool {
        let Value::Number(number) = value else { return false };
        *self = number;
        true
    }

    fn check(&self, row: &Row) -> Result<(), SettingsError> {
        match row.kind {
            Kind::Number { or_zero: true, .. } if *self == 0.0 => Ok(()),
            Kind::Number { least, most, or_zero, .. } => {
                in_range(row.name, None, *self, least, most).map_err(|error| match or_zero {
                    true => SettingsError { expected: Expected::ZeroOrRange(least, most), ..error },
                    false => error,
                })
            }
            _ => Ok(()),
        }
    }
}

impl Setting for u8 {
    fn value(&self) -> Value {
        Value::Number(f32::from(*self))
    }

    fn set(&mut self, value: Value) -> bool {
        match value {
            Value::Number(number) if f32::from(number as u8) == number => {
                *self = number as u8;
                true
            }
            _ => false,
        }
    }

    fn check(&self, row: &Row) -> Result<(), SettingsError> {
        f32::from(*self).check(row)
    }
}

impl Setting for bool {
    fn value(&self) -> Value {
        Value::Flag(*self)
    }

    fn set(&mut self, value: Value) -> bool {
        let Value::Flag(flag) = value else { return false };
        *self = flag;
        true
    }
}

impl<E: EntryRow, const N: usize> Setting for Vec<E, N> {
    fn value(&self) -> Value {
        Value::Entries(self.len())
    }

    fn set(&mut self, value: Value) -> bool {
        let Value::Entries(count) = value else { return false };
        self.truncate(count);
        true
    }

    fn entry(&self, index: usize) -> Option<Entry> {
        self.get(index).map(|entry| entry.to_entry())
    }

    fn push(&mut self, entry: &Entry) -> bool {
        Vec::push(self, E::from_entry(entry)).is_ok()
    }

    fn check(&self, row: &Row) -> Result<(), SettingsError> {
        let Kind::List { fields, least, .. } = row.kind else { return Ok(()) };
        if self.len() < least {
            let (value, least) = (self.len() as f32, least as f32);
            let expected = Expected::AtLeast(least, "entries in the list");
            return Err(SettingsError { parameter: row.name, entry: None, value, expected });
        }
        for (index, entry) in self.iter().enumerate() {
            for (field, value) in fields.iter().zip(entry.to_entry()) {
                let place = Some((row.name, index + 1));
                in_range(field.name, place, value, field.least, field.most)?;
            }
        }
        Ok(())
    }
}

fn in_range(
    parameter: &'static str,
    entry: Option<(&'static str, usize)>,
    value: f32,
    least: f32,
    most: f32,
) -> Result<(), SettingsError> {
    if value >= least && value <= most {
        Ok(())
    } else {
        Err(SettingsError { parameter, entry, value, expected: Expected::Range(least, most) })
    }
}
