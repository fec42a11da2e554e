//! What a cost is made of.

use crate::tune::score::{Score, Weights};

/// A part of a cost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// What it is from.
    pub name: &'static str,
    /// How much it is, m/s.
    pub mps: f64,
}

/// The parts of a score's cost, which add up to it: the error that remains without the lag, what
/// the lag adds to the error, false beeps, missed climbs.
pub fn parts(score: &Score) -> [Part; 4] {
    let [error, false_beeps, missed] = score.parts_mps(&Weights::default());
    let noise = score.noise_mps.min(error);
    [
        Part { name: "noise", mps: noise },
        Part { name: "lag", mps: error - noise },
        Part { name: "false beeps", mps: false_beeps },
        Part { name: "missed climbs", mps: missed },
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn what_lag_adds_to_the_noise_is_a_part_of_its_own() {
        let score = Score {
            error_mps: 0.5,
            noise_mps: 0.3,
            false_beeps_per_min: 2.0,
            missed_share: 0.25,
            ..Score::default()
        };
        let parts = parts(&score).map(|part| part.mps);
        let expected = [0.3, 0.2, 0.02 * 2.0, 0.5 * 0.25];
        for (part, expected) in parts.into_iter().zip(expected) {
            assert_abs_diff_eq!(part, expected, epsilon = 1e-12);
        }
    }
}
