//! A scripted pilot with a body: he reacts late, and holds bank and heading wrongly.

use super::aloft::Drawn;
use super::ear::STEP_S;
use super::gusts::Wandering;
use super::pilot::{AtWork, Pilot};
use crate::sensors::Noise;

/// Bank and heading are wrong by this, rms, and wander over that many seconds.
const BANK_WRONG_DEG: f64 = 2.5;
const HEADING_WRONG_DEG: f64 = 15.0;
const WRONG_OVER_S: f64 = 5.0;

/// The pilot.
#[derive(Clone, Debug)]
pub struct Scripted {
    pilot: AtWork,
    circle_rad: f64,
    bank_wrong: Wandering,
    heading_wrong: Wandering,
}

impl Scripted {
    /// The pilot in the thermal of a seed, which chooses his clumsiness too; `allowance_s` as in
    /// [`super::Trial::climb_mps`].
    pub fn new(seed: u64, pilot: Pilot, allowance_s: f64) -> Self {
        let Drawn { circle_rad, reaction_s, .. } = Drawn::of_seed(seed);
        let wrong = |stream| Wandering::new(Noise::new(seed, stream), STEP_S / WRONG_OVER_S);
        Self {
            pilot: AtWork::new(pilot, allowance_s, circle_rad, reaction_s, STEP_S),
            circle_rad,
            bank_wrong: wrong(6),
            heading_wrong: wrong(7),
        }
    }

    /// Called every [`super::STEP_US`] with the climb that sounds, m/s, and the true heading, rad:
    /// the bank that he flies, rad. While he does not correct, he listens and keeps the circle.
    pub fn bank_rad(&mut self, heard_mps: Option<f64>, heading_rad: f64, corrects: bool) -> f64 {
        let wrong_rad = (HEADING_WRONG_DEG * self.heading_wrong.next()).to_radians();
        self.pilot.note(heard_mps, heading_rad + wrong_rad);
        let wanted_rad = if corrects { self.pilot.bank_rad() } else { self.circle_rad };
        wanted_rad + (BANK_WRONG_DEG * self.bank_wrong.next()).to_radians()
    }
}
