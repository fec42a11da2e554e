//! Thermals in the frame of the air: round, elliptical, or with two cores; each drifts and wanders.
//!
//! A core is a bell, `strength exp(-(r / radius)^2)`, in air that sinks a little everywhere. Shapes
//! and sizes are guesses within what is commonly told of thermals; no source.

use super::gusts::Wandering;
use crate::sensors::Noise;
use std::f64::consts::TAU;

/// Air between thermals sinks by this, m/s.
const AROUND_MPS: f64 = -0.4;
/// Strengths and radii lie between these.
const STRENGTHS_MPS: (f64, f64) = (2.5, 5.0);
const RADII_M: (f64, f64) = (100.0, 170.0);
/// Radii of an ellipse: longer and shorter by up to this ratio.
const ELONGATION: (f64, f64) = (1.15, 1.5);
/// A second core: distance as a share of the radius, and strength as a share of the first's.
const SECOND_AT: (f64, f64) = (1.2, 1.9);
const SECOND_STRENGTH: (f64, f64) = (0.5, 0.9);
/// Drift through the air, and how far and how slowly the middle wanders.
const DRIFT_MPS: f64 = 0.5;
const WANDER_M: f64 = 12.0;
const WANDER_S: f64 = 60.0;

/// The shape of a thermal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// One round bell.
    Round,
    /// One bell, longer than wide.
    Elliptical,
    /// Two round bells, the second weaker.
    TwoCores,
}

impl Shape {
    /// Its name in words.
    pub fn name(self) -> &'static str {
        match self {
            Shape::Round => "round",
            Shape::Elliptical => "elliptical",
            Shape::TwoCores => "two cores",
        }
    }
}

/// One bell: where it stands from the thermal's middle, its axes and its strength.
#[derive(Clone, Copy, Debug)]
struct Bell {
    east_m: f64,
    north_m: f64,
    /// Direction of the long axis, as east and north.
    axis: (f64, f64),
    long_m: f64,
    short_m: f64,
    strength_mps: f64,
}

impl Bell {
    fn rise(&self, east_m: f64, north_m: f64) -> f64 {
        let (east, north) = (east_m - self.east_m, north_m - self.north_m);
        let along = (east * self.axis.0 + north * self.axis.1) / self.long_m;
        let across = (north * self.axis.0 - east * self.axis.1) / self.short_m;
        self.strength_mps * libm::exp(-(along * along + across * across))
    }
}

/// A thermal at rest in its own frame.
#[derive(Clone, Debug)]
pub struct Thermal {
    /// Its shape.
    pub shape: Shape,
    bells: Vec<Bell>,
    /// Drift through the air, m/s east and north.
    drift_mps: (f64, f64),
}

/// A number evenly spread between two.
pub(super) fn between((low, high): (f64, f64), noise: &mut Noise) -> f64 {
    low + (high - low) * noise.uniform()
}

impl Thermal {
    /// The thermal of a trial's seed; shapes take turns.
    pub fn of_seed(seed: u64) -> Self {
        let noise = &mut Noise::new(seed, 0);
        let shape = [Shape::Round, Shape::Elliptical, Shape::TwoCores][(seed % 3) as usize];
        let (strength_mps, radius_m) = (between(STRENGTHS_MPS, noise), between(RADII_M, noise));
        let (turn, drift_turn) = (TAU * noise.uniform(), TAU * noise.uniform());
        let axis = (libm::sin(turn), libm::cos(turn));
        let ratio = if shape == Shape::Elliptical { between(ELONGATION, noise) } else { 1.0 };
        let main = Bell {
            east_m: 0.0,
            north_m: 0.0,
            axis,
            long_m: radius_m * ratio,
            short_m: radius_m / ratio,
            strength_mps,
        };
        let mut bells = vec![main];
        if shape == Shape::TwoCores {
            let away_m = radius_m * between(SECOND_AT, noise);
            bells.push(Bell {
                east_m: away_m * axis.0,
                north_m: away_m * axis.1,
                strength_mps: strength_mps * between(SECOND_STRENGTH, noise),
                ..main
            });
        }
        let drift_mps = DRIFT_MPS * noise.uniform();
        let drift_mps = (drift_mps * libm::sin(drift_turn), drift_mps * libm::cos(drift_turn));
        Self { shape, bells, drift_mps }
    }

    /// Rise of the air in m/s at metres from the thermal's middle.
    pub fn rise(&self, east_m: f64, north_m: f64) -> f64 {
        AROUND_MPS + self.bells.iter().map(|bell| bell.rise(east_m, north_m)).sum::<f64>()
    }

    /// Radius that holds all of it, m.
    pub(super) fn reach_m(&self) -> f64 {
        self.bells
            .iter()
            .map(|bell| libm::hypot(bell.east_m, bell.north_m) + 0.5 * bell.long_m)
            .fold(0.0, f64::max)
    }
}

/// A thermal on its way through the air.
#[derive(Clone, Debug)]
pub(super) struct Moving {
    thermal: Thermal,
    wander: [Wandering; 2],
    step_s: f64,
    drifted_s: f64,
    middle_m: (f64, f64),
}

impl Moving {
    pub(super) fn new(thermal: Thermal, seed: u64, step_s: f64) -> Self {
        let wander =
            [1, 2].map(|stream| Wandering::new(Noise::new(seed, stream), step_s / WANDER_S));
        Self { thermal, wander, step_s, drifted_s: 0.0, middle_m: (0.0, 0.0) }
    }

    /// Moves on by a step.
    pub(super) fn advance(&mut self) {
        self.drifted_s += self.step_s;
        let drift = self.thermal.drift_mps;
        let [east, north] = &mut self.wander;
        self.middle_m = (
            drift.0 * self.drifted_s + WANDER_M * east.next(),
            drift.1 * self.drifted_s + WANDER_M * north.next(),
        );
    }

    /// Where its middle is, m east and north.
    pub(super) fn middle_m(&self) -> (f64, f64) {
        self.middle_m
    }

    /// Rise of the air at a place of the air's frame, m/s.
    pub(super) fn rise(&self, east_m: f64, north_m: f64) -> f64 {
        self.thermal.rise(east_m - self.middle_m.0, north_m - self.middle_m.1)
    }
}
