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
    let value = f64::from(value);
    // Rounded it would be too: rounding keeps the order, and what is rounded stays as it is.
    if range.is_some_and(|known| (known.lowest..=known.highest).contains(&value)) {
        return;
    }
    let value = rounded(value);
    let known = range.unwrap_or(Range { lowest: value, highest: value });
    *range = Some(Range { lowest: known.lowest.min(value), highest: known.highest.max(value) });
}

/// To a thousandth: further digits are float rounding.
pub fn rounded(value: f64) -> f64 {
    // Adding zero takes the sign from a negative zero.
    (value * 1e3).round() / 1e3 + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trace::testing::seeded;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(seeded())]

        #[test]
        fn a_range_is_that_of_the_rounded_values(
            values in proptest::collection::vec(
                prop_oneof![-2.0..2.0_f32, -1e5..1e5_f32, prop::num::f32::NORMAL],
                1..40,
            ),
        ) {
            let mut range = None;
            values.iter().for_each(|value| widen(&mut range, *value));
            let all = values.iter().map(|value| rounded(f64::from(*value)));
            let lowest = all.clone().fold(f64::INFINITY, f64::min);
            let highest = all.fold(f64::NEG_INFINITY, f64::max);
            prop_assert_eq!(range, Some(Range { lowest, highest }));
        }
    }
}
