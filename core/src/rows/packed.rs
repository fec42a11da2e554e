//! Settings as bytes, row by row: for an instrument's flash, and for the page of a flight.
//!
//! ```text
//! a group    an optional one begins with 1 or 0: there or not
//! a number   4 bytes, f32, little-endian        a flag, a word   1 byte: 0 or 1, its place
//! a list     1 byte: how many entries           an entry         a number a field
//! ```
//!
//! The bytes do not name their rows: a reader must know by other means that they belong to the same
//! rows.

use super::group::{Group, Groups};
use super::row::{Entry, Kind, Value};

/// Writes `settings` to the front of `buffer` and returns the number of bytes; `None` if the buffer
/// is too small.
pub fn pack<S: Groups>(settings: &S, buffer: &mut [u8]) -> Option<usize> {
    let mut out = Writer { buffer, length: 0 };
    for (place, known) in S::GROUPS.iter().enumerate() {
        let group = settings.group(place);
        if known.is_optional {
            out.byte(u8::from(group.is_some()))?;
        }
        if let Some(group) = group {
            pack_group(group, &mut out)?;
        }
    }
    Some(out.length)
}

fn pack_group(group: &dyn Group, out: &mut Writer<'_>) -> Option<()> {
    for (place, row) in group.rows().iter().enumerate() {
        let setting = group.setting(place)?;
        match (setting.value(), row.kind) {
            (Value::Number(number), _) => out.number(number)?,
            (Value::Flag(flag), _) => out.byte(u8::from(flag))?,
            (Value::Word(word), _) => out.byte(u8::try_from(word).ok()?)?,
            (Value::Entries(count), Kind::List { fields, .. }) => {
                out.byte(u8::try_from(count).ok()?)?;
                for entry in (0..count).filter_map(|index| setting.entry(index)) {
                    entry.iter().take(fields.len()).try_for_each(|value| out.number(*value))?;
                }
            }
            (Value::Entries(_), _) => return None,
        }
    }
    Some(())
}

/// Reads settings from all of `bytes`; `None` if they are too few, too many, or not of a row's
/// kind. Ranges are not checked.
pub fn unpack<S: Groups>(bytes: &[u8]) -> Option<S> {
    let (mut settings, mut rest) = (S::default(), Reader { bytes });
    for (place, known) in S::GROUPS.iter().enumerate() {
        let is_there = !known.is_optional || rest.flag()?;
        if is_there {
            unpack_group(settings.group_mut(place)?, &mut rest)?;
        } else {
            settings.remove(place);
        }
    }
    rest.bytes.is_empty().then_some(settings)
}

fn unpack_group(group: &mut dyn Group, rest: &mut Reader<'_>) -> Option<()> {
    for (place, row) in group.rows().iter().enumerate() {
        let setting = group.setting_mut(place)?;
        let value = match row.kind {
            Kind::Number { .. } => Value::Number(rest.number()?),
            Kind::Flag => Value::Flag(rest.flag()?),
            Kind::Word(_) => Value::Word(usize::from(rest.byte()?)),
            Kind::List { fields, .. } => {
                setting.set(Value::Entries(0));
                for _ in 0..rest.byte()? {
                    let mut entry = Entry::default();
                    for slot in entry.iter_mut().take(fields.len()) {
                        *slot = rest.number()?;
                    }
                    setting.push(&entry).then_some(())?;
                }
                continue;
            }
        };
        setting.set(value).then_some(())?;
    }
    Some(())
}

struct Writer<'a> {
    buffer: &'a mut [u8],
    length: usize,
}

impl Writer<'_> {
    fn byte(&mut self, byte: u8) -> Option<()> {
        *self.buffer.get_mut(self.length)? = byte;
        self.length += 1;
        Some(())
    }

    fn number(&mut self, number: f32) -> Option<()> {
        number.to_le_bytes().into_iter().try_for_each(|byte| self.byte(byte))
    }
}

struct Reader<'a> {
    bytes: &'a [u8],
}

impl Reader<'_> {
    fn byte(&mut self) -> Option<u8> {
        let (first, rest) = self.bytes.split_first()?;
        self.bytes = rest;
        Some(*first)
    }

    fn flag(&mut self) -> Option<bool> {
        match self.byte()? {
            0 => Some(false),
            1 => Some(true),
            _ => None,
        }
    }

    fn number(&mut self) -> Option<f32> {
        let (first, rest) = self.bytes.split_first_chunk::<4>()?;
        self.bytes = rest;
        Some(f32::from_le_bytes(*first))
    }
}
