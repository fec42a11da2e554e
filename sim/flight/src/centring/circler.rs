//! A glider that circles: bank with a limit of roll rate, turn, sink by its drag law, energy.

use crate::physics::atmosphere::{Atmosphere, GRAVITY_MPS2, StillAir};
use crate::physics::drag_law::PolarPoint;
use crate::physics::glider::{Configuration, Glider, GliderSettings};
use std::f64::consts::TAU;

/// Speed of all circles, m/s.
pub(super) const SPEED_MPS: f64 = 25.0;
/// Quickest roll, and how the last degrees are approached (guesses for a training two-seater).
const ROLL_RADPS: f64 = 0.35;
const ROLL_S: f64 = 0.4;
/// The speed is held within this, over a period of that.
const SPEED_HELD_MPS: f64 = 0.7;
const SPEED_PERIOD_S: f64 = 23.0;
/// Height of the beginning.
const START_M: f64 = 1000.0;

/// The glider.
#[derive(Clone, Debug)]
pub(super) struct Circler {
    pub(super) glider: Glider,
    pub(super) east_m: f64,
    pub(super) north_m: f64,
    /// Where it flies to, from north over east, rad; never wrapped.
    pub(super) heading_rad: f64,
    pub(super) bank_rad: f64,
    /// Inertial energy per weight, m.
    pub(super) energy_m: f64,
    /// Rate of that, m/s: what a perfect tone sounds.
    pub(super) climb_mps: f64,
    /// The air's rise that the glider has taken up.
    pub(super) heaved_mps: f64,
    /// The air round it, at rest.
    pub(super) still: StillAir,
    time_s: f64,
}

/// A glider of our own: a training two-seater.
pub(super) fn glider() -> Glider {
    let points = [(20.0, 0.67), (27.0, 0.74), (42.0, 1.85)];
    let points = points.map(|(speed_mps, sink_mps)| PolarPoint { speed_mps, sink_mps });
    let settings = GliderSettings {
        name: "circler".into(),
        points: points.to_vec(),
        reference_mass_kg: 400.0,
        empty_mass_kg: None,
        ballast_kg: 0.0,
        contamination_percent: 0.0,
        stall_mps: 17.0,
        airbrake_glide_ratio: 6.0,
        frictionless: false,
    };
    Glider::new(&settings).expect("the points lie on a drag law")
}

/// Sink of a steady turn in m/s, at a true airspeed.
pub(super) fn sink_mps(glider: &Glider, speed_mps: f64, bank_rad: f64, still: &StillAir) -> f64 {
    let equivalent = speed_mps / still.speed_ratio();
    let load = 1.0 / libm::cos(bank_rad);
    let drag = glider.drag_mps2(equivalent * equivalent, load, Configuration::default());
    speed_mps * drag / GRAVITY_MPS2
}

/// Radius of a circle at a bank, m.
pub(super) fn radius_m(bank_rad: f64) -> f64 {
    SPEED_MPS * SPEED_MPS / (GRAVITY_MPS2 * libm::tan(bank_rad))
}

impl Circler {
    /// On a steady circle to the right round a middle, on a heading.
    pub(super) fn new(middle_m: (f64, f64), heading_rad: f64, bank_rad: f64) -> Self {
        let radius_m = radius_m(bank_rad);
        Self {
            glider: glider(),
            // The middle lies to the right.
            east_m: middle_m.0 - radius_m * libm::cos(heading_rad),
            north_m: middle_m.1 + radius_m * libm::sin(heading_rad),
            heading_rad,
            bank_rad,
            energy_m: START_M + 0.5 * SPEED_MPS * SPEED_MPS / GRAVITY_MPS2,
            climb_mps: 0.0,
            heaved_mps: 0.0,
            still: Atmosphere::STANDARD.at(START_M),
            time_s: 0.0,
        }
    }

    /// Inertial speed relative to the mean air, m/s.
    pub(super) fn speed_mps(&self) -> f64 {
        let turn = TAU * self.time_s / SPEED_PERIOD_S;
        SPEED_MPS + SPEED_HELD_MPS * libm::sin(turn)
    }

    /// Rate of the height, m/s.
    pub(super) fn rises_mps(&self) -> f64 {
        let turn = TAU * self.time_s / SPEED_PERIOD_S;
        let quickens = SPEED_HELD_MPS * TAU / SPEED_PERIOD_S * libm::cos(turn);
        self.climb_mps - self.speed_mps() * quickens / GRAVITY_MPS2
    }

    /// Time constant with which it takes up the air's rise, s.
    pub(super) fn heave_s(&self) -> f64 {
        let ratio = self.still.speed_ratio();
        self.glider.heave_s(self.speed_mps() / ratio, ratio)
    }

    /// Height, m.
    pub(super) fn height_m(&self) -> f64 {
        let speed = self.speed_mps();
        self.energy_m - 0.5 * speed * speed / GRAVITY_MPS2
    }

    /// The same wings level `ago_s` before, when it had not turned and gained so much yet.
    pub(super) fn before(&self, ago_s: f64, turned_rad: f64, gained_m: f64) -> Self {
        Self {
            heading_rad: self.heading_rad - turned_rad,
            bank_rad: 0.0,
            energy_m: self.energy_m - gained_m,
            time_s: self.time_s - ago_s,
            ..self.clone()
        }
    }

    /// Flies on by a step, towards a bank, in air that rises by `rise` at metres east and north,
    /// m/s.
    pub(super) fn advance(&mut self, step_s: f64, wanted_rad: f64, rise: impl Fn(f64, f64) -> f64) {
        let still = self.still;
        let roll = ((wanted_rad - self.bank_rad) / ROLL_S).clamp(-ROLL_RADPS, ROLL_RADPS);
        self.bank_rad += roll * step_s;
        let speed = self.speed_mps();
        self.heading_rad += GRAVITY_MPS2 * libm::tan(self.bank_rad) / speed * step_s;
        self.east_m += speed * libm::sin(self.heading_rad) * step_s;
        self.north_m += speed * libm::cos(self.heading_rad) * step_s;
        let heave_s = self.heave_s();
        let rise = rise(self.east_m, self.north_m);
        self.heaved_mps += (rise - self.heaved_mps) * (1.0 - libm::exp(-step_s / heave_s));
        self.climb_mps = self.heaved_mps - sink_mps(&self.glider, speed, self.bank_rad, &still);
        self.energy_m += self.climb_mps * step_s;
        self.time_s += step_s;
        self.still = Atmosphere::STANDARD.at(self.height_m());
    }
}
