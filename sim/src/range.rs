//! Lowest and highest values for the summary, to a thousandth.

use serde::Serialize;

/// Lowest and highest.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Range {
    /// The lowest.
    pub lowest: f64,
    /// The highest.
    pub highest: f64,
}

/// Takes a value into a range.
pub fn widen(range: &mut Option<Range>, value: f32) {
    let value = rounded(f64::from(value));
    let known = range.unwrap_or(Range { lowest: value, highest: value });
    *range = Some(Range { lowest: known.lowest.min(value), highest: known.highest.max(value) });
}

/// To a thousandth: further digits are float rounding.
pub fn rounded(value: f64) -> f64 {
    // Adding zero takes the sign from a negative zero.
    (value * 1e3).round() / 1e3 + 0.0
}
