//! The figures of two settings, on each recording and on all of them.

use crate::error::{Error, Result};
use crate::segments::Segment;
use crate::tune::score::Score;
use serde::Serialize;

/// Figures of both on one recording, or on all.
#[derive(Clone, Debug, Serialize)]
pub struct Pair {
    /// The recording, or `all`.
    pub trace: String,
    /// Which segment of it, where it has several.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub segment: Option<Segment>,
    /// Where the truth is from: `recorded`, `estimated`, `smoothed` or `both`.
    pub truth: &'static str,
    /// How it was read: what was taken for what, and whether most of it is left out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub remarks: Vec<String>,
    /// The first settings.
    pub a: Score,
    /// The second.
    pub b: Score,
}

/// The comparison.
#[derive(Clone, Debug, Serialize)]
pub struct Comparison {
    /// The user's name for the first settings.
    pub a: String,
    /// And the second.
    pub b: String,
    /// Each recording.
    pub recordings: Vec<Pair>,
    /// All of them.
    pub all: Pair,
    /// Why the recordings cannot rank settings, where they cannot: the figures then say little.
    pub cannot_tell: Option<String>,
    /// Extra cost of the second over the first, as a share of the first's cost; negative if lower.
    pub b_costs_more: f64,
}

impl Comparison {
    /// Returns an error if the second is worse by more than `most_worse`.
    ///
    /// # Errors
    /// A sentence with both figures.
    pub fn verdict(&self, most_worse: Option<f64>) -> Result<()> {
        match most_worse {
            Some(most) if self.b_costs_more > most => Err(Error::Refused(format!(
                "{} costs {:.1} % more than {}, at most {:.1} % was allowed",
                self.b,
                100.0 * self.b_costs_more,
                self.a,
                100.0 * most
            ))),
            _ => Ok(()),
        }
    }
}
