//! The flight before a trial, for an instrument with an inertial sensor: three minutes of gliding
//! and turning in the day's turbulence and gusts, outside the thermal.
//!
//! After any launch a sensor's biases and mounting have been learnt. Without this the trial would
//! measure an instrument that is switched on in the middle of a steep turn. It ends where the trial
//! begins: on its heading, at its bank and height.

use super::circler::Circler;
use super::ear::{Ear, STEP_S};
use super::gusts::{Flown, wandering};
use super::pressures::Pressures;
use super::senses::Senses;

/// Whole periods of the speed, so that it goes on evenly: 184 s.
const STEPS: i64 = 9_200;
/// Pieces of it, and the bank of each in turn, seen from the end; the last one circles.
const PIECE_STEPS: i64 = 1_250;
const BANKS_DEG: [f64; 4] = [0.0, -35.0, 0.0, 35.0];
/// Turbulence and gusts end so long before the trial, whose own begin there.
const FADES_STEPS: f64 = 150.0;

/// Flies up to `end`, the beginning of a trial, whose circle has this bank. Returns the climb at
/// the end, m/s.
pub(super) fn fly(
    seed: u64,
    circle_rad: f64,
    end: &Circler,
    senses: &mut Senses<'_>,
    ear: &mut impl Ear,
) -> f64 {
    // Once without ears, to see where it must begin.
    let day = senses.day;
    let start = end.before(STEPS as f64 * STEP_S, 0.0, 0.0);
    let there = flown(seed, circle_rad, day.turbulence_mps, start.clone(), |_, _| ());
    let turned_rad = there.heading_rad - start.heading_rad;
    let start = end.before(STEPS as f64 * STEP_S, turned_rad, there.energy_m - start.energy_m);
    let mut gusts = wandering(seed, 11, Flown::Gusts);
    let hear = |step: i64, circler: &Circler| {
        let gust_mps = day.gusts_mps * faded(step) * gusts.next();
        ear.hear(&senses.moment(step, circler, gust_mps));
    };
    flown(seed, circle_rad, day.turbulence_mps, start, hear).climb_mps
}

/// The pressure sensors in it, whose noise is not that of the trial.
pub(super) fn pressures(seed: u64) -> Pressures {
    Pressures::of_streams(seed, [12, 13])
}

/// The glider at the end; `hear` is called before each step.
fn flown(
    seed: u64,
    circle_rad: f64,
    turbulence_mps: f64,
    mut circler: Circler,
    mut hear: impl FnMut(i64, &Circler),
) -> Circler {
    let mut turbulence = wandering(seed, 10, Flown::Turbulence);
    for step in -STEPS..0 {
        hear(step, &circler);
        let up_mps = turbulence_mps * faded(step) * turbulence.next();
        let wanted_rad = wanted_rad(step, circle_rad);
        circler.advance(STEP_S, wanted_rad, |_, _| up_mps);
    }
    circler
}

fn wanted_rad(step: i64, circle_rad: f64) -> f64 {
    match (-1 - step) / PIECE_STEPS {
        0 => circle_rad,
        piece => BANKS_DEG[(piece as usize - 1) % BANKS_DEG.len()].to_radians(),
    }
}

fn faded(step: i64) -> f64 {
    (-step as f64 / FADES_STEPS).min(1.0)
}
