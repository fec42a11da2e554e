//! What is said without positions, against the true energy.

use super::judged::{self, Judged};
use super::made::{Logger, Made};
use super::table::quantile;

/// Standard gravity, m/s2.
const G: f64 = 9.806_65;
const STEPS: usize = 50;

/// Errors of the time to 90 % of the best 40 s, s: median, and the share of more than 10 s.
pub fn errors(seeds: std::ops::Range<u64>) -> (f64, f64) {
    let error = |seed| {
        let made = Made::of_seed(seed);
        let said = judged::said(&made.igc(Logger { airspeed: false, late_s: 0.0 }));
        Some((said.to_90_percent_s.value()? - true_s(&made)).abs())
    };
    let errors: Vec<f64> = seeds.filter_map(error).collect();
    let wrong = errors.iter().filter(|error| **error > 10.0).count() as f64;
    (quantile(errors.iter().copied(), 0.5), wrong / errors.len() as f64)
}

fn true_s(made: &Made) -> f64 {
    let energy = |step: usize| {
        let seen = &made.seen[step];
        seen.height_m + seen.speed_mps * seen.speed_mps / (2.0 * G)
    };
    let last = made.seen.len() - 40 * STEPS;
    let gains: Vec<f64> = (0..last).map(|step| energy(step + 40 * STEPS) - energy(step)).collect();
    let best = gains.iter().copied().fold(f64::MIN, f64::max);
    let first = gains.iter().position(|gain| *gain >= 0.9 * best).expect("the best is one");
    first as f64 / STEPS as f64
}

#[test]
fn with_positions_the_time_is_said_as_well() {
    let judged = Judged::of(&Made::of_seed(1_001));
    assert!(judged.said.to_90_percent_s.value().is_some());
}
