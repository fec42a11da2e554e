//! A figure of a debrief: its value with its error, or why there is none.

use serde::Serialize;

/// Where the error of a figure is from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum ErrorFrom {
    /// The covariance of the fit to this very climb, and what a bell cannot show of a thermal.
    Fit,
    /// What was measured on made thermals; the book has the table.
    Measured,
}

/// What is said of a quantity.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Said {
    /// A value, and how far it may be off: about two in three are nearer.
    Known {
        /// The value.
        value: f64,
        /// Its error in the same unit.
        error: f64,
        /// Where the error is from.
        error_from: ErrorFrom,
    },
    /// More than this; how much more cannot be known.
    MoreThan {
        /// The bound.
        more_than: f64,
    },
    /// Nothing, and why.
    Absent {
        /// The reason, in words that read well after "not known:".
        absent: &'static str,
    },
}

impl Said {
    /// A value whose error is of the fit.
    pub const fn fitted(value: f64, error: f64) -> Self {
        Self::Known { value, error, error_from: ErrorFrom::Fit }
    }

    /// A value whose error was measured on made thermals.
    pub const fn measured(value: f64, error: f64) -> Self {
        Self::Known { value, error, error_from: ErrorFrom::Measured }
    }

    /// Nothing, for a reason.
    pub const fn absent(absent: &'static str) -> Self {
        Self::Absent { absent }
    }

    /// The value, where there is one.
    pub fn value(&self) -> Option<f64> {
        match self {
            Self::Known { value, .. } => Some(*value),
            _ => None,
        }
    }

    /// The error, where there is a value.
    pub fn error(&self) -> Option<f64> {
        match self {
            Self::Known { error, .. } => Some(*error),
            _ => None,
        }
    }
}
