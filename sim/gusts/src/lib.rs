//! What the air did during a recorded flight: the climb of the glider's energy over time, with the
//! gusts told apart.
//!
//! A recording has no truth. Its energy height, differentiated, counts every horizontal gust as a
//! climb: the airspeed V changes by u at once, and V^2/2g by V u / g, while the glider has gained
//! nothing. A smoother of that height keeps the gusts of more than a few seconds. Here the height h
//! and what stands beside it, the kinetic height of the airspeed or the energy height of a probe,
//! are taken apart by a model of how each part moves (`model`), with everything before and after
//! each moment (`passes`).
//!
//! ```text
//! samples on an even grid -> likeliest strengths (likeliest) -> filter forward, smoother back
//!                         -> climb, its deviation, and climbs that could have been (draws)
//! ```
//!
//! **Draws.** The climb is known to within a deviation, and false beeps and missed climbs are
//! counted over a threshold: counted against the likeliest climb alone they are wrong, because that
//! one is too smooth. So several climbs that are as likely as the true one are drawn from what the
//! recording leaves open, and the counts are means over them.
//!
//! This crate knows neither the core nor the simulated flights: it cannot repeat their errors.

#![allow(clippy::disallowed_methods, reason = "an estimate may differ in the last bit")]

mod flight;
mod likeliest;
mod model;
mod passes;

pub use flight::{Beside, Flight};
pub use model::Strengths;

use model::Model;
use passes::{Heights, Loads};

/// How much wider than the model's own the stated deviation is, and the scatter of the draws. The
/// model knows gusts of one strength; in real ones, and with a pilot who answers them, the climb is
/// off by more than it says. Measured on 20 planted flights with gusts of 0 to 1 m/s: the error was
/// 0.9 times the model's deviation without gusts, 1.4 times where the gust height changes by 0.5 m
/// in the root of a second, 1.7 times in the strongest. `chirrup response --only tuning` measures
/// it again, on other flights.
fn wider(strengths: &Strengths) -> f64 {
    let changes = strengths.gusts_m * (2.0 / strengths.gusts_last_s).sqrt();
    (0.9 + 0.95 * changes).min(1.7)
}

/// The climb at each moment of the grid.
#[derive(Clone, Debug, Default)]
pub struct Climb {
    /// The likeliest, m/s.
    pub climb_mps: Vec<f64>,
    /// Its standard deviation, m/s, widened as measured.
    pub deviation_mps: Vec<f64>,
    /// Climbs that could as well have been the true one, m/s.
    pub draws_mps: Vec<Vec<f64>>,
    /// Strengths of what moved.
    pub strengths: Strengths,
}

/// Takes a recording apart; `draws` climbs are drawn, with the random numbers of `seed`.
///
/// The result is empty where there are fewer than two values.
pub fn climb_of(flight: &Flight<'_>, draws: usize, seed: u64) -> Climb {
    let heights = Heights::of(flight);
    if heights.count() < 2 {
        return Climb::default();
    }
    // Pilots pull hard for seconds and fly straight for minutes: a first pass with one strength of
    // the stick over the whole flight finds when they did which.
    let loads = Loads::even(heights.count());
    let first = likeliest::find(&heights, &loads, Strengths::default());
    let passed = passes::smooth(&heights, &Model::of(&first, flight.step_s), &loads);
    let (loads, stick_mps) = passed.loads(flight.step_s);
    let strengths = likeliest::find(&heights, &loads, Strengths { stick_mps, ..first });
    let model = Model::of(&strengths, flight.step_s);
    let passed = passes::smooth(&heights, &model, &loads);
    let climb_mps = passed.climb_mps();
    let wider = wider(&strengths);
    let widened = |draw: Vec<f64>| {
        draw.iter().zip(&climb_mps).map(|(drawn, mean)| mean + wider * (drawn - mean)).collect()
    };
    let draws_mps = passed.draws(&model, draws, seed).into_iter().map(widened).collect();
    let deviation_mps = passed.climb_deviation_mps().map(|deviation| wider * deviation).collect();
    Climb { climb_mps, deviation_mps, draws_mps, strengths }
}

#[cfg(test)]
mod tests;
