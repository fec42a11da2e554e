//! What a cost is made of.

use crate::tune::score::Score;

/// The weights of the cost, which is defined in `tune::score`; the test below fails when they
/// differ from those.
const FALSE_BEEP_MPS: f64 = 0.02;
const MISSED_MPS: f64 = 0.5;

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
    let noise = score.noise_mps.min(score.error_mps);
    [
        Part { name: "noise", mps: noise },
        Part { name: "lag", mps: score.error_mps - noise },
        Part { name: "false beeps", mps: FALSE_BEEP_MPS * score.false_beeps_per_min },
        Part { name: "missed climbs", mps: MISSED_MPS * score.missed_share },
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::recording::series::Even;
    use crate::recording::truth::{GRID_S, Truth};
    use crate::tune::score::Sums;
    use approx::assert_abs_diff_eq;

    #[test]
    fn the_parts_of_a_score_add_up_to_its_cost() {
        let at = |place: usize| place as f64 * GRID_S;
        let truth: Vec<f64> =
            (0..9_000).map(|place| 2.0 * (at(place) / 20.0).sin() - 0.5).collect();
        // Late, and it beeps now and then where there is no climb, and misses a third of them.
        let reading = |place: usize| {
            let late = truth[place.saturating_sub(12)];
            let misses = at(place) % 377.0 < 125.7;
            Some(if place % 500 < 5 {
                1.0
            } else if misses {
                late.min(0.0)
            } else {
                late
            } as f32)
        };
        let readings: Vec<_> = (0..truth.len()).map(reading).collect();
        let rate_mps = Even { start_s: 0.0, step_s: GRID_S, values: truth.clone() };
        let truth = Truth { rate_mps, from: "recorded" };
        let score = Sums::of(&truth, &readings, (0, readings.len()), 0.2).score();
        let parts = parts(&score);
        assert!(parts.iter().all(|part| part.mps > 0.001), "{parts:?}");
        let sum: f64 = parts.iter().map(|part| part.mps).sum();
        assert_abs_diff_eq!(sum, score.cost_mps, epsilon = 1e-9);
    }
}
