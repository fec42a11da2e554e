//! Errors in settings. The sample loop has no errors: it reports problems in its `Status`.

use crate::decimal::Shortest;
use core::fmt;

/// A setting that cannot be used: its name, its value, and what is accepted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SettingsError {
    /// The setting's name as it is written in a settings file, such as `response_s` or `pitch_hz`.
    pub parameter: &'static str,
    /// For a setting inside a list: the list's name and the entry's number, counted from 1.
    pub entry: Option<(&'static str, usize)>,
    /// The value found; of a setting that is a word, see [`Expected::Word`], nothing.
    pub value: f32,
    /// What would have been accepted.
    pub expected: Expected,
}

/// What is accepted for a setting.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Expected {
    /// A range, both ends included.
    Range(f32, f32),
    /// 0, or a range, both ends included.
    ZeroOrRange(f32, f32),
    /// More than this, which is the same setting in the entry before.
    MoreThanBefore(f32),
    /// Less than this, which is the same setting in the entry before.
    LessThanBefore(f32),
    /// At most this, for the reason given.
    AtMost(f32, &'static str),
    /// At least this, for the reason given.
    AtLeast(f32, &'static str),
    /// Entries that together have this shape.
    Shape(&'static str),
    /// Other words than the one found, for the reason given.
    Word {
        /// The word found.
        found: &'static str,
        /// Those that are accepted, as a list for people.
        accepted: &'static str,
        /// Why only those.
        reason: &'static str,
    },
}

impl fmt::Display for SettingsError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some((list, place)) = self.entry {
            write!(f, "{list}, entry {place}: ")?;
        }
        match self.expected {
            Expected::Word { found, .. } => write!(f, "{} is {found}", self.parameter)?,
            _ => write!(f, "{} is {}", self.parameter, Shortest(self.value))?,
        }
        f.write_str(", expected ")?;
        match self.expected {
            Expected::Range(from, to) => write!(f, "{} to {}", Shortest(from), Shortest(to)),
            Expected::ZeroOrRange(from, to) => {
                write!(f, "0, or {} to {}", Shortest(from), Shortest(to))
            }
            Expected::MoreThanBefore(before) => {
                write!(f, "more than {}, the entry before", Shortest(before))
            }
            Expected::LessThanBefore(before) => {
                write!(f, "less than {}, the entry before", Shortest(before))
            }
            Expected::AtMost(most, reason) => write!(f, "at most {} ({reason})", rounded(most)),
            Expected::AtLeast(least, reason) => write!(f, "at least {} ({reason})", rounded(least)),
            Expected::Shape(shape) => f.write_str(shape),
            Expected::Word { accepted, reason, .. } => write!(f, "{accepted} ({reason})"),
        }
    }
}

/// A calculated limit, without the digits that come only from rounding.
fn rounded(limit: f32) -> Shortest {
    Shortest(libm::roundf(limit * 1.0e3) / 1.0e3)
}

impl core::error::Error for SettingsError {}
