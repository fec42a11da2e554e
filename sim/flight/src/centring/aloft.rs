//! The glider in the air of a seed, steered from outside: by a scripted pilot, or by a hand.

use super::circler::Circler;
use super::day::Day;
use super::ear::STEP_S;
use super::gusts::{Flown, Wandering, wandering};
use super::seen::Seen;
use super::thermal::{Moving, Thermal, between};
use crate::sensors::Noise;
use std::f64::consts::TAU;

/// The first circle is off the thermal's middle by a distance between these, m.
const OFF_M: (f64, f64) = (30.0, 150.0);
/// Circles, degrees of bank.
const BANKS_DEG: (f64, f64) = (35.0, 45.0);
const REACTIONS_S: (f64, f64) = (0.4, 0.8);

/// What is drawn once for a seed, in this order.
#[derive(Clone, Copy, Debug)]
pub(super) struct Drawn {
    pub(super) circle_rad: f64,
    pub(super) reaction_s: f64,
    off_m: f64,
    off_turn_rad: f64,
    heading_rad: f64,
}

impl Drawn {
    pub(super) fn of_seed(seed: u64) -> Self {
        let noise = &mut Noise::new(seed, 3);
        Self {
            circle_rad: between(BANKS_DEG, noise).to_radians(),
            reaction_s: between(REACTIONS_S, noise),
            off_m: between(OFF_M, noise),
            off_turn_rad: TAU * noise.uniform(),
            heading_rad: TAU * noise.uniform(),
        }
    }
}

/// The glider and the air. At first it circles to the right, beside the thermal's middle.
pub struct Aloft {
    day: Day,
    pub(super) circler: Circler,
    thermal: Moving,
    circle_rad: f64,
    turbulence: Wandering,
    gusts: Wandering,
    gust_mps: f64,
    step: i64,
}

impl Aloft {
    /// In the air of a seed. The same seed and the same banks give the same flight, bit for bit.
    pub fn new(seed: u64, day: Day) -> Self {
        let Drawn { circle_rad, off_m, off_turn_rad: turn, heading_rad, .. } = Drawn::of_seed(seed);
        let mut thermal = Moving::new(Thermal::of_seed(seed), seed, STEP_S);
        thermal.advance();
        let (east, north) = thermal.middle_m();
        let middle_m = (east + off_m * libm::sin(turn), north + off_m * libm::cos(turn));
        Self {
            day,
            circler: Circler::new(middle_m, heading_rad, circle_rad),
            thermal,
            circle_rad,
            turbulence: wandering(seed, 4, Flown::Turbulence),
            gusts: wandering(seed, 5, Flown::Gusts),
            gust_mps: 0.0,
            step: 0,
        }
    }

    /// The next level gust from ahead, m/s. Call it once before each [`Aloft::advance`].
    pub(super) fn next_gust_mps(&mut self) -> f64 {
        self.gust_mps = self.day.gusts_mps * self.gusts.next();
        self.gust_mps
    }

    /// Steps flown.
    pub(super) fn step(&self) -> i64 {
        self.step
    }

    /// Flies on by [`super::STEP_US`] towards a bank, rad, -1.3 to 1.3, positive to the right.
    pub fn advance(&mut self, wanted_rad: f64) {
        self.thermal.advance();
        let up_mps = self.day.turbulence_mps * self.turbulence.next();
        let thermal = &self.thermal;
        let rise = |east_m, north_m| thermal.rise(east_m, north_m) + up_mps;
        self.circler.advance(STEP_S, wanted_rad, rise);
        self.step += 1;
    }

    /// Bank of the first circle, rad.
    pub fn circle_rad(&self) -> f64 {
        self.circle_rad
    }

    /// Bank, rad, positive to the right.
    pub fn bank_rad(&self) -> f64 {
        self.circler.bank_rad
    }

    /// Where it flies to, from north over east, rad; never wrapped.
    pub fn heading_rad(&self) -> f64 {
        self.circler.heading_rad
    }

    /// Energy per weight, m: its rate is the climb.
    pub fn energy_m(&self) -> f64 {
        self.circler.energy_m
    }

    /// Rate of that, m/s: what a perfect tone sounds.
    pub fn climb_mps(&self) -> f64 {
        self.circler.climb_mps
    }

    /// The flight as it was after the last step.
    pub fn seen(&self) -> Seen {
        Seen::of(self.step - 1, &self.circler, self.thermal.middle_m(), self.gust_mps)
    }
}
