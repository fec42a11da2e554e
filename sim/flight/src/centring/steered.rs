//! A glider in the air of a seed with pressure sensors, steered by a hand.

use super::aloft::Aloft;
use super::day::Day;
use super::ear::{Moment, STEP_US};
use super::pressures::Pressures;

/// The glider, and what its sensors give.
pub struct Steered {
    day: Day,
    aloft: Aloft,
    pressures: Pressures,
}

impl Steered {
    /// In the air of a seed.
    pub fn new(seed: u64, day: Day) -> Self {
        Self { day, aloft: Aloft::new(seed, day), pressures: Pressures::new(seed) }
    }

    /// What there is to hear now. Call it once before each [`Steered::advance`].
    pub fn moment(&mut self) -> Moment {
        let gust_mps = self.aloft.next_gust_mps();
        let circler = &self.aloft.circler;
        let speed_mps = circler.speed_mps() + gust_mps;
        let [static_pa, dynamic_pa] = self.pressures.read(self.day, circler.still, speed_mps);
        Moment {
            time_us: self.aloft.step() * STEP_US,
            static_pa,
            dynamic_pa,
            felt: None,
            over_ground: None,
            climb_mps: circler.climb_mps,
        }
    }

    /// Flies on by a step: [`Aloft::advance`].
    pub fn advance(&mut self, wanted_rad: f64) {
        self.aloft.advance(wanted_rad);
    }

    /// The glider and the air.
    pub fn aloft(&self) -> &Aloft {
        &self.aloft
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::centring::{LEAD_STEPS, MEASURED_STEPS, Pilot, Scripted, Trial};

    /// The climb that a reading of the pressures would give: enough to be heard by a pilot.
    fn heard_mps(moment: &Moment) -> Option<f64> {
        Some(moment.climb_mps + 1e-3 * (moment.static_pa + moment.dynamic_pa - 9e4))
    }

    #[test]
    fn a_trials_pilot_flies_here_as_there_to_the_bit() {
        let (seed, day) = (4, Day::ROUGH);
        let trial = Trial { seed, day, has_motion_sensors: false };
        let there = trial.climb_mps(Pilot::Both, 1.5, &mut heard_mps);
        let mut steered = Steered::new(seed, day);
        let mut pilot = Scripted::new(seed, Pilot::Both, 1.5);
        let mut from_m = 0.0;
        for step in 0..LEAD_STEPS + MEASURED_STEPS {
            let heard_mps = heard_mps(&steered.moment());
            let heading_rad = steered.aloft().heading_rad();
            let wanted_rad = pilot.bank_rad(heard_mps, heading_rad, step >= LEAD_STEPS);
            steered.advance(wanted_rad);
            if step < LEAD_STEPS {
                from_m = steered.aloft().energy_m();
            }
        }
        let gained_m = steered.aloft().energy_m() - from_m;
        let here = gained_m / (MEASURED_STEPS as f64 * STEP_US as f64 * 1e-6);
        assert_eq!(here.to_bits(), there.to_bits());
    }
}
