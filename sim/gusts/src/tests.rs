//! The passes against the dense problem that they solve, and what becomes of a gust.

use super::*;
use crate::model::{E, GUST, K, QUICK, SLOW, STATES};
use approx::assert_abs_diff_eq;
use nalgebra::{DMatrix, DVector};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

/// Heights and kinetic heights of a flight that is short enough to be solved as a whole.
fn short() -> (Vec<f64>, Vec<f64>) {
    let at = |place: usize| place as f64;
    let height = (0..12).map(|place| 500.0 + 1.3 * at(place) + (at(place) * 0.9).sin()).collect();
    let kinetic =
        (0..12).map(|place| 40.0 - (at(place) * 0.9).sin() + 0.3 * (at(place) * 2.1).cos());
    (height, kinetic.collect())
}

/// Mean and variance of the climb by conditioning the joint distribution of all states of all
/// moments on all measurements at once: no filter, no smoother.
fn dense(flight: &Flight<'_>, kinetic_m: &[f64], model: &Model) -> (Vec<f64>, Vec<f64>) {
    let count = flight.height_m.len();
    let size = count * STATES;
    let (mut mean, mut spread) = (DVector::zeros(size), DMatrix::zeros(size, size));
    let mut first = DVector::<f64>::zeros(STATES);
    (first[E], first[K]) = (flight.height_m[0] + kinetic_m[0], kinetic_m[0]);
    let step = DMatrix::from_fn(STATES, STATES, |a, b| model.step[(a, b)]);
    let noise = DMatrix::from_fn(STATES, STATES, |a, b| model.noise[(a, b)] + model.stick[(a, b)]);
    let pull = DVector::from_fn(STATES, |a, _| model.pull[a]);
    let heights = Heights::of(flight);
    let trimmed_m = heights.trimmed();
    let mut own = DMatrix::from_fn(STATES, STATES, |a, b| model.first[(a, b)]);
    let mut expected = first;
    for (place, trimmed_m) in trimmed_m.iter().enumerate() {
        if place > 0 {
            expected = &step * &expected + &pull * *trimmed_m;
            own = &step * &own * step.transpose() + &noise;
        }
        mean.rows_mut(place * STATES, STATES).copy_from(&expected);
        // The covariance with a later moment is carried there by the step.
        let mut with = own.clone();
        for later in place..count {
            spread.view_mut((later * STATES, place * STATES), (STATES, STATES)).copy_from(&with);
            spread
                .view_mut((place * STATES, later * STATES), (STATES, STATES))
                .copy_from(&with.transpose());
            with = &step * with;
        }
    }
    let mut reads = DMatrix::zeros(2 * count, size);
    for place in 0..count {
        (reads[(2 * place, place * STATES + E)], reads[(2 * place, place * STATES + K)]) =
            (1.0, -1.0);
        let beside = if matches!(flight.beside, Beside::Energy(_)) { E } else { K };
        reads[(2 * place + 1, place * STATES + beside)] = 1.0;
        reads[(2 * place + 1, place * STATES + GUST)] = 1.0;
    }
    let (Beside::Kinetic(beside) | Beside::Energy(beside)) = flight.beside;
    let measured = DVector::from_fn(2 * count, |row, _| {
        if row % 2 == 0 { flight.height_m[row / 2] } else { beside[row / 2] }
    });
    let sensors = DMatrix::from_fn(2 * count, 2 * count, |a, b| {
        if a == b { flight.noise_m[a % 2].powi(2) } else { 0.0 }
    });
    let variance = &reads * &spread * reads.transpose() + sensors;
    let gain = &spread * reads.transpose() * variance.try_inverse().expect("it is positive");
    let after = &mean + &gain * (measured - &reads * &mean);
    let left = &spread - &gain * &reads * &spread;
    let climb = |place: usize| after[place * STATES + SLOW] + after[place * STATES + QUICK];
    let open = |place: usize| {
        let at = |a: usize, b: usize| left[(place * STATES + a, place * STATES + b)];
        at(SLOW, SLOW) + at(QUICK, QUICK) + 2.0 * at(SLOW, QUICK)
    };
    ((0..count).map(climb).collect(), (0..count).map(open).collect())
}

#[test]
fn the_passes_solve_the_whole_problem_at_once() {
    let (height, kinetic) = short();
    let energy: Vec<f64> = height.iter().zip(&kinetic).map(|(h, k)| h + k).collect();
    for beside in [Beside::Kinetic(&kinetic), Beside::Energy(&energy)] {
        let flight = Flight { step_s: 1.0, height_m: &height, beside, noise_m: [0.05, 0.1] };
        let model = Model::of(&Strengths::default(), 1.0);
        let passed = passes::smooth(&Heights::of(&flight), &model, &Loads::even(height.len()));
        let (climb, variance) = dense(&flight, &kinetic, &model);
        let found = passed.climb_mps();
        for (place, deviation) in passed.climb_deviation_mps().enumerate() {
            assert_abs_diff_eq!(found[place], climb[place], epsilon = 1e-6);
            assert_abs_diff_eq!(deviation, variance[place].sqrt(), epsilon = 1e-6);
        }
    }
}

#[test]
fn the_draws_scatter_as_the_passes_say() {
    let (height, kinetic) = short();
    let flight = Flight {
        step_s: 1.0,
        height_m: &height,
        beside: Beside::Kinetic(&kinetic),
        noise_m: [0.05, 0.1],
    };
    let model = Model::of(&Strengths::default(), 1.0);
    let passed = passes::smooth(&Heights::of(&flight), &model, &Loads::even(height.len()));
    let draws = passed.draws(&model, 4_000, 7);
    let means = passed.climb_mps();
    for (place, deviation) in passed.climb_deviation_mps().enumerate() {
        let mean = draws.iter().map(|draw| draw[place]).sum::<f64>() / 4_000.0;
        let square = draws.iter().map(|draw| (draw[place] - mean).powi(2)).sum::<f64>() / 4_000.0;
        assert_abs_diff_eq!(mean, means[place], epsilon = 4.0 * deviation / 4_000.0_f64.sqrt());
        assert_abs_diff_eq!(square.sqrt(), deviation, epsilon = 0.05 * deviation);
    }
}

/// Twenty minutes straight on in air that does not move up or down, with first-order gusts of 1 m/s
/// for 6 s at 28 m/s, and a thermal of two minutes.
#[test]
fn gusts_are_no_climb_and_a_thermal_is_one() {
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
    let keeps = (-1.0_f64 / 6.0).exp();
    let (mut gust, mut height) = (0.0, 1_500.0);
    let (mut heights, mut kinetics, mut truths) = (Vec::new(), Vec::new(), Vec::new());
    for second in 0..1_200 {
        gust = keeps * gust + 2.85 * (1.0 - keeps * keeps).sqrt() * normal();
        let truth = if (600..720).contains(&second) { 2.0 } else { -0.8 };
        height += truth;
        truths.push(truth);
        heights.push(height + 0.03 * normal());
        kinetics.push(40.0 + gust + 0.05 * normal());
    }
    let flight = Flight {
        step_s: 1.0,
        height_m: &heights,
        beside: Beside::Kinetic(&kinetics),
        noise_m: [0.05, 0.1],
    };
    let climb = climb_of(&flight, 4, 1);
    let away = |place: &usize| !(590..730).contains(place);
    let rms = |places: &mut dyn Iterator<Item = usize>| {
        let squares: Vec<f64> =
            places.map(|place| (climb.climb_mps[place] - truths[place]).powi(2)).collect();
        (squares.iter().sum::<f64>() / squares.len() as f64).sqrt()
    };
    // The energy height's own rate is off by 1.6 m/s in such gusts.
    let straight = rms(&mut (0..1_200).filter(away));
    assert!(straight < 0.15, "{straight} m/s straight on");
    let inside = rms(&mut (605..715));
    assert!(inside < 0.3, "{inside} m/s in the thermal");
    assert_eq!((climb.draws_mps.len(), climb.draws_mps[0].len()), (4, 1_200));
}

#[test]
fn a_flight_of_a_moment_has_no_climb() {
    let flight = Flight {
        step_s: 1.0,
        height_m: &[100.0],
        beside: Beside::Kinetic(&[40.0]),
        noise_m: [0.05, 0.1],
    };
    assert!(climb_of(&flight, 4, 1).climb_mps.is_empty());
}
