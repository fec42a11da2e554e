//! Every setting by the name it has in a settings file: shown, and changed one by one, in TOML's
//! own lines.
//!
//! ```text
//! response_s = 1                    tone.climb = [
//! energy = "auto"                       { climb_mps = 0.2, pitch_hz = 560, cadence_hz = 1.6, on_fraction = 0.5 },
//! polar.mass_kg = 360               ]
//! device.log_hz = 10
//! ```
//!
//! What is shown is a settings file, and a line of one is a change. The table [`KEYS`] is the one
//! place that lists them; a test compares it with what the settings themselves write as TOML, so
//! that none is forgotten.

use crate::device::{DifferentialOutput, SecondBarometer};
use crate::store::Stored;
use chirrup_core::altimeter::HeightUnit;
use chirrup_core::energy::EnergyChoice;
use chirrup_core::estimator::FilterChoice;
use chirrup_core::settings::{ClimbPoint, MAX_TONE_POINTS, SinkPoint, VerticalScale};
use chirrup_core::sounder::SoundMode;
use chirrup_core::timbre::Timbre;
use core::fmt::{self, Write};
use crc::{CRC_32_ISO_HDLC, Crc};
use heapless::{String, Vec};

/// A setting.
pub struct Key {
    /// Its name, dotted.
    pub name: &'static str,
    kind: Kind,
}

enum Kind {
    Number(fn(&Stored) -> Option<f32>, fn(&mut Stored, f32)),
    Whole(fn(&Stored) -> u8, fn(&mut Stored, u8)),
    Flag(fn(&Stored) -> bool, fn(&mut Stored, bool)),
    /// The words there are, the place of the present one, and how to take the one at a place.
    Word(&'static [&'static str], fn(&Stored) -> usize, fn(&mut Stored, usize)),
    Climb,
    Sink,
}

/// A name from the fields that lead to a setting, and the ways to and fro.
macro_rules! number {
    ($first:ident $(. $rest:ident)*) => {
        Key {
            name: concat!(stringify!($first) $(, ".", stringify!($rest))*),
            kind: Kind::Number(
                |stored| Some(stored.settings.$first $(.$rest)*),
                |stored, value| stored.settings.$first $(.$rest)* = value,
            ),
        }
    };
}

/// The same for the polar, which is there from the first of its settings on.
macro_rules! polar {
    ($field:ident) => {
        Key {
            name: concat!("polar.", stringify!($field)),
            kind: Kind::Number(
                |stored| stored.settings.polar.map(|polar| polar.$field),
                |stored, value| stored.settings.polar.get_or_insert_default().$field = value,
            ),
        }
    };
}

macro_rules! flag {
    ($first:ident $(. $rest:ident)*) => {
        Key {
            name: concat!(stringify!($first) $(, ".", stringify!($rest))*),
            kind: Kind::Flag(
                |stored| stored.settings.$first $(.$rest)*,
                |stored, value| stored.settings.$first $(.$rest)* = value,
            ),
        }
    };
}

macro_rules! device {
    ($kind:ident, $field:ident) => {
        Key {
            name: concat!("device.", stringify!($field)),
            kind: Kind::$kind(
                |stored| stored.device.$field,
                |stored, value| stored.device.$field = value,
            ),
        }
    };
    ($field:ident) => {
        Key {
            name: concat!("device.", stringify!($field)),
            kind: Kind::Number(
                |stored| Some(stored.device.$field),
                |stored, value| stored.device.$field = value,
            ),
        }
    };
}

/// One of several words: each is named by its value, so that a value without a word does not
/// compile.
macro_rules! word {
    ($name:literal, $($field:ident).+, $type:ident { $($value:ident = $word:literal),+ $(,)? }) => {
        Key {
            name: $name,
            kind: Kind::Word(
                &[$($word),+],
                |stored| {
                    let word = match stored.$($field).+ {
                        $($type::$value => $word),+
                    };
                    [$($word),+].iter().position(|found| *found == word).unwrap_or(0)
                },
                |stored, place| {
                    if let Some(value) = [$($type::$value),+].get(place) {
                        stored.$($field).+ = *value;
                    }
                },
            ),
        }
    };
}

/// All settings, in the order in which they are shown.
pub static KEYS: &[Key] = &[
    word!("energy", settings.energy, EnergyChoice {
        None = "none", Electronic = "electronic", Probe = "probe", Auto = "auto",
    }),
    number!(compensation_percent),
    number!(static_delay_ms),
    number!(airspeed_delay_ms),
    number!(probe_delay_ms),
    word!("vertical_speed", settings.vertical_speed, VerticalScale { Standard = "standard", Corrected = "corrected" }),
    word!("filter", settings.filter, FilterChoice { Fixed = "fixed", Adaptive = "adaptive" }),
    number!(response_s),
    number!(noise_m),
    number!(average_s),
    number!(stale_after_s),
    number!(altimeter.subscale_hpa),
    word!("altimeter.unit", settings.altimeter.unit, HeightUnit { M = "m", Ft = "ft" }),
    polar!(speed_1_mps),
    polar!(sink_1_mps),
    polar!(speed_2_mps),
    polar!(sink_2_mps),
    polar!(speed_3_mps),
    polar!(sink_3_mps),
    polar!(reference_mass_kg),
    polar!(mass_kg),
    polar!(contamination_percent),
    polar!(circling_bank_deg),
    polar!(expected_climb_mps),
    word!("tone.mode", settings.tone.mode, SoundMode { Climb = "climb", Netto = "netto", Speed = "speed" }),
    number!(tone.volume),
    flag!(tone.even_loudness),
    word!("tone.timbre", settings.tone.timbre, Timbre { Pure = "pure", Mellow = "mellow", Reed = "reed" }),
    flag!(tone.silent_until_launch),
    number!(tone.fault_every_s),
    number!(tone.netto_band_mps),
    number!(tone.speed_band_mps),
    number!(tone.climb_from_mps),
    number!(tone.sink_from_mps),
    number!(tone.hysteresis_mps),
    Key { name: "tone.climb", kind: Kind::Climb },
    Key { name: "tone.sink", kind: Kind::Sink },
    word!("device.second_barometer", device.second_barometer, SecondBarometer {
        None = "none", Probe = "probe", Pitot = "pitot",
    }),
    device!(differential_range_pa),
    word!("device.differential_output", device.differential_output, DifferentialOutput { A = "a", B = "b" }),
    device!(dynamic_zero_pa),
    device!(battery_low_v),
    device!(Whole, log_hz),
];

const CLIMB_FIELDS: [&str; 4] = ["climb_mps", "pitch_hz", "cadence_hz", "on_fraction"];
const SINK_FIELDS: [&str; 2] = ["sink_mps", "pitch_hz"];

/// A piece of what was typed, for a message.
type Excerpt = String<24>;

/// Why a setting was not taken, in one line.
#[derive(Clone, Debug, PartialEq)]
pub enum KeyError {
    /// There is no setting of this name.
    Unknown(Excerpt),
    /// The value is not of the right kind.
    Kind(&'static str, Excerpt, &'static str),
    /// The value is none of these words.
    Word(&'static str, Excerpt, &'static [&'static str]),
    /// An entry of a table, the first being 1, lacks a field.
    Lacks(&'static str, usize, &'static str),
    /// A table has more entries than it may.
    TooMany(&'static str),
}

impl fmt::Display for KeyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            KeyError::Unknown(name) => {
                write!(f, "there is no setting {name}; settings lists them all")
            }
            KeyError::Kind(name, found, expected) => {
                write!(f, "{name}: found \"{found}\", expected {expected}")
            }
            KeyError::Word(name, found, words) => {
                write!(f, "{name}: found \"{found}\", expected one of")?;
                words.iter().try_for_each(|word| write!(f, " {word}"))
            }
            KeyError::Lacks(name, entry, field) => {
                write!(f, "{name}, entry {entry}: {field} is missing")
            }
            KeyError::TooMany(name) => {
                write!(f, "{name}: expected at most {MAX_TONE_POINTS} entries")
            }
        }
    }
}

/// A fingerprint of the names of all settings; another set of settings has another.
pub fn fingerprint() -> u32 {
    const CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);
    let mut digest = CRC.digest();
    let names = KEYS.iter().map(|key| key.name).chain(CLIMB_FIELDS).chain(SINK_FIELDS);
    for name in names {
        digest.update(name.as_bytes());
        digest.update(b"\n");
    }
    digest.finalize()
}

/// Sets a setting, by its name, to a value as TOML writes it; words may go without quotes. Ranges
/// are not checked here.
///
/// # Errors
/// There is no such setting, or the value is not of its kind; nothing is changed then.
pub fn set(stored: &mut Stored, name: &str, value: &str) -> Result<(), KeyError> {
    let value = value.trim();
    if name == "polar" && unquoted(value) == "none" {
        stored.settings.polar = None;
        return Ok(());
    }
    let key =
        KEYS.iter().find(|key| key.name == name).ok_or_else(|| KeyError::Unknown(excerpt(name)))?;
    let kind = |expected| KeyError::Kind(key.name, excerpt(value), expected);
    match &key.kind {
        Kind::Number(_, set) => set(stored, number(value).ok_or_else(|| kind("a number"))?),
        Kind::Whole(_, set) => set(stored, value.parse().map_err(|_| kind("a whole number"))?),
        Kind::Flag(_, set) => set(stored, value.parse().map_err(|_| kind("true or false"))?),
        Kind::Word(words, _, set) => {
            let place = words.iter().position(|word| *word == unquoted(value));
            set(stored, place.ok_or_else(|| KeyError::Word(key.name, excerpt(value), words))?);
        }
        Kind::Climb => {
            let entries = table(key.name, value, CLIMB_FIELDS)?;
            stored.settings.tone.climb = entries
                .into_iter()
                .map(|[climb_mps, pitch_hz, cadence_hz, on_fraction]| ClimbPoint {
                    climb_mps,
                    pitch_hz,
                    cadence_hz,
                    on_fraction,
                })
                .collect();
        }
        Kind::Sink => {
            let entries = table(key.name, value, SINK_FIELDS)?;
            stored.settings.tone.sink = entries
                .into_iter()
                .map(|[sink_mps, pitch_hz]| SinkPoint { sink_mps, pitch_hz })
                .collect();
        }
    }
    Ok(())
}

/// A place in what is shown: a key, and a line within it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Cursor {
    key: usize,
    line: usize,
}

impl Cursor {
    /// Writes the next line that is shown of the settings whose name begins with `only`; `false`
    /// after the last.
    ///
    /// # Errors
    /// What `out` returns.
    pub fn show(
        &mut self,
        stored: &Stored,
        only: &str,
        out: &mut impl Write,
    ) -> Result<bool, fmt::Error> {
        while let Some(key) = KEYS.get(self.key) {
            if key.name.starts_with(only) && key.show(stored, self.line, out)? {
                self.line += 1;
                return Ok(true);
            }
            *self = Self { key: self.key + 1, line: 0 };
        }
        Ok(false)
    }
}

impl Key {
    /// Writes a line of it, the first being 0; `false` where there is no such line.
    fn show(&self, stored: &Stored, line: usize, out: &mut impl Write) -> Result<bool, fmt::Error> {
        let name = self.name;
        match (&self.kind, line) {
            (Kind::Climb, _) => {
                let fields = |point: &ClimbPoint| {
                    [point.climb_mps, point.pitch_hz, point.cadence_hz, point.on_fraction]
                };
                let entries = stored.settings.tone.climb.iter().map(fields);
                return show_table(name, CLIMB_FIELDS, entries, line, out);
            }
            (Kind::Sink, _) => {
                let entries =
                    stored.settings.tone.sink.iter().map(|point| [point.sink_mps, point.pitch_hz]);
                return show_table(name, SINK_FIELDS, entries, line, out);
            }
            (Kind::Number(get, _), 0) => match get(stored) {
                Some(value) => write!(out, "{name} = {value}")?,
                None => return Ok(false),
            },
            (Kind::Whole(get, _), 0) => write!(out, "{name} = {}", get(stored))?,
            (Kind::Flag(get, _), 0) => write!(out, "{name} = {}", get(stored))?,
            (Kind::Word(words, get, _), 0) => {
                write!(
                    out,
                    "{name} = \"{}\"",
                    words.get(get(stored)).copied().unwrap_or_default()
                )?;
            }
            _ => return Ok(false),
        }
        Ok(true)
    }
}

fn show_table<const N: usize>(
    name: &str,
    fields: [&str; N],
    entries: impl ExactSizeIterator<Item = [f32; N]>,
    line: usize,
    out: &mut impl Write,
) -> Result<bool, fmt::Error> {
    let count = entries.len();
    if line == 0 {
        write!(out, "{name} = [")?;
    } else if line == count + 1 {
        out.write_str("]")?;
    } else if let Some(values) = entries.into_iter().nth(line - 1) {
        out.write_str("    {")?;
        for (place, (field, value)) in fields.into_iter().zip(values).enumerate() {
            let comma = if place == 0 { "" } else { "," };
            write!(out, "{comma} {field} = {value}")?;
        }
        out.write_str(" },")?;
    }
    Ok(line <= count + 1)
}

fn table<const N: usize>(
    name: &'static str,
    text: &str,
    fields: [&'static str; N],
) -> Result<Vec<[f32; N], MAX_TONE_POINTS>, KeyError> {
    let kind = |found: &str, expected| KeyError::Kind(name, excerpt(found), expected);
    let list = text.strip_prefix('[').and_then(|text| text.strip_suffix(']'));
    let mut rest = list.ok_or_else(|| kind(text, "a list [{ .. }, { .. }]"))?.trim();
    let mut entries = Vec::new();
    while !rest.is_empty() {
        let inner = rest.strip_prefix('{').and_then(|rest| rest.split_once('}'));
        let (entry, after) = inner.ok_or_else(|| kind(rest, "an entry { .. }"))?;
        let values = fields_of(name, entry, fields, entries.len() + 1)?;
        entries.push(values).map_err(|_| KeyError::TooMany(name))?;
        let after = after.trim_start();
        if !after.is_empty() && !after.starts_with(',') {
            return Err(kind(after, "a comma between entries"));
        }
        rest = after.strip_prefix(',').unwrap_or(after).trim_start();
    }
    Ok(entries)
}

fn fields_of<const N: usize>(
    name: &'static str,
    entry: &str,
    fields: [&'static str; N],
    place: usize,
) -> Result<[f32; N], KeyError> {
    let mut values = [None; N];
    for pair in entry.split(',').map(str::trim).filter(|pair| !pair.is_empty()) {
        let kind = |expected| KeyError::Kind(name, excerpt(pair), expected);
        let (field, value) = pair.split_once('=').ok_or_else(|| kind("a field = number"))?;
        let known = fields.iter().zip(&mut values).find(|(known, _)| **known == field.trim());
        let (_, slot) = known.ok_or_else(|| kind("a field of this table"))?;
        if slot.replace(number(value.trim()).ok_or_else(|| kind("a number"))?).is_some() {
            return Err(kind("each field once"));
        }
    }
    let mut found = [0.0; N];
    for ((field, value), slot) in fields.into_iter().zip(values).zip(&mut found) {
        *slot = value.ok_or(KeyError::Lacks(name, place, field))?;
    }
    Ok(found)
}

/// A finite number; TOML's `inf` and `nan` are no settings.
fn number(text: &str) -> Option<f32> {
    text.parse().ok().filter(|value: &f32| value.is_finite())
}

fn unquoted(text: &str) -> &str {
    text.strip_prefix('"').and_then(|text| text.strip_suffix('"')).unwrap_or(text)
}

fn excerpt(text: &str) -> Excerpt {
    let mut excerpt = Excerpt::new();
    for character in text.chars().map(|c| if c.is_control() { ' ' } else { c }) {
        if excerpt.push(character).is_err() {
            break;
        }
    }
    excerpt
}

#[cfg(test)]
mod tests;
