//! A moment of a flight and how sure it is.

use serde::Serialize;
use std::fmt;

/// How sure a finding is.
#[derive(Clone, Copy, Debug, Eq, Ord, PartialEq, PartialOrd, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Confidence {
    /// One weak sign, or one that something else can cause as well.
    Guess,
    /// One strong sign.
    Likely,
    /// Two independent signs agree.
    Sure,
}

impl Confidence {
    /// The word for it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Guess => "guess",
            Self::Likely => "likely",
            Self::Sure => "sure",
        }
    }
}

impl fmt::Display for Confidence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A moment: take-off, release or landing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Event {
    /// When, in seconds of the trace.
    pub at_s: f64,
    /// Not before this, as far as the recording shows.
    pub earliest_s: f64,
    /// Not after this.
    pub latest_s: f64,
    /// Pressure height of the standard atmosphere then, m.
    pub height_m: f64,
    /// How sure it is.
    pub confidence: Confidence,
    /// What it was read from.
    pub why: String,
}
