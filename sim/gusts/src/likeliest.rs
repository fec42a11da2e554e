//! The strengths with which a recording is likeliest: Nelder and Mead's search (Computer Journal 7,
//! 1965), by the crate `argmin`, over their logarithms.
//!
//! Each is drawn to that of an ordinary day, the times more than the rest: a flight without gusts
//! does not say how long its gusts last.

use crate::model::{Model, Strengths};
use crate::passes::{Heights, Loads, log_likelihood};
use argmin::core::{CostFunction, Error, Executor, State};
use argmin::solver::neldermead::NelderMead;
use std::ops::Range;

/// Standard deviations of the logarithms about those of an ordinary day (guesses).
const DRAWN_WITHIN: [f64; Strengths::COUNT] = [1.0, 1.0, 0.3, 1.0, 0.4, 1.0, 0.5, 1.0];
/// Step of the first simplex.
const FIRST_STEP: f64 = 0.25;
/// It ends after so many steps, or where the likelihoods of the simplex agree.
const MOST_STEPS: u64 = 250;
const AGREES_TO: f64 = 0.05;
/// Of a longer recording, so many parts of so many seconds are enough.
const PARTS: usize = 4;
const PART_S: f64 = 300.0;

/// Finds them, beginning from `start`.
pub fn find(heights: &Heights, loads: &Loads, start: Strengths) -> Strengths {
    let search = Search { heights, loads, parts: parts(heights) };
    let first = start.logarithms().to_vec();
    let mut simplex = vec![first.clone()];
    for place in 0..first.len() {
        let mut corner = first.clone();
        corner[place] += FIRST_STEP;
        simplex.push(corner);
    }
    let found = NelderMead::new(simplex).with_sd_tolerance(AGREES_TO).and_then(|solver| {
        Executor::new(search, solver).configure(|state| state.max_iters(MOST_STEPS)).run()
    });
    // The search has no error of its own, and the cost has none.
    let best = found.ok().and_then(|found| found.state().get_best_param().cloned());
    best.map_or(start, |logarithms| Strengths::from_logarithms(&logarithms))
}

fn parts(heights: &Heights) -> Vec<Range<usize>> {
    let (count, part) = (heights.count(), (PART_S / heights.step_s) as usize);
    if count <= PARTS * part {
        return std::iter::once(0..count).collect();
    }
    let between = (count - part) / (PARTS - 1);
    (0..PARTS).map(|place| place * between..place * between + part).collect()
}

struct Search<'a> {
    heights: &'a Heights,
    loads: &'a Loads,
    parts: Vec<Range<usize>>,
}

impl CostFunction for Search<'_> {
    type Param = Vec<f64>;
    type Output = f64;

    fn cost(&self, logarithms: &Vec<f64>) -> Result<f64, Error> {
        let model = Model::of(&Strengths::from_logarithms(logarithms), self.heights.step_s);
        let likelihood: f64 = self
            .parts
            .iter()
            .map(|part| log_likelihood(self.heights, &model, self.loads, part.clone()))
            .sum();
        let ordinary = Strengths::default().logarithms();
        let drawn: f64 = logarithms
            .iter()
            .zip(ordinary)
            .zip(DRAWN_WITHIN)
            .map(|((value, ordinary), within)| 0.5 * ((value - ordinary) / within).powi(2))
            .sum();
        let cost = drawn - likelihood;
        Ok(if cost.is_finite() { cost } else { f64::MAX })
    }
}
