//! What can be wrong with settings. The sample loop has no errors: it names what it met in its
//! `Status`.

use core::fmt;

/// A setting that cannot be used: which, its value, and what would do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SettingsError {
    /// The setting's name as it is written in a settings file, such as `response_s` or `pitch_hz`.
    pub parameter: &'static str,
    /// For a setting inside a list: the list's name and the entry's place in it, the first being 1.
    pub entry: Option<(&'static str, usize)>,
    /// The value found.
    pub value: f32,
    /// What would have been accepted.
    pub expected: Expected,
}

/// What a setting should have been.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Expected {
    /// From the first to the second, both included.
    Range(f32, f32),
    /// More than this, the same setting of the entry before.
    MoreThanBefore(f32),
    /// Less than this, the same setting of the entry before.
    LessThanBefore(f32),
    /// At most this, for the reason given.
    AtMost(f32, &'static str),
    /// At least this, for the reason given.
    AtLeast(f32, &'static str),
}

impl fmt::Display for SettingsError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some((list, place)) = self.entry {
            write!(f, "{list}, entry {place}: ")?;
        }
        write!(f, "{} is {}, expected ", self.parameter, self.value)?;
        match self.expected {
            Expected::Range(from, to) => write!(f, "{from} to {to}"),
            Expected::MoreThanBefore(before) => write!(f, "more than {before}, the entry before"),
            Expected::LessThanBefore(before) => write!(f, "less than {before}, the entry before"),
            Expected::AtMost(most, reason) => write!(f, "at most {} ({reason})", rounded(most)),
            Expected::AtLeast(least, reason) => write!(f, "at least {} ({reason})", rounded(least)),
        }
    }
}

/// A limit that was worked out, without the digits that are only the float's.
fn rounded(limit: f32) -> f32 {
    libm::roundf(limit * 1.0e3) / 1.0e3
}

impl core::error::Error for SettingsError {}
