//! Three minutes of one pilot in one thermal.

use super::circler::{Circler, SPEED_MPS};
use super::day::Day;
use super::gusts::Wandering;
use super::pilot::{AtWork, Pilot};
use super::thermal::{Moving, Thermal, between};
use crate::physics::atmosphere::GRAVITY_MPS2;
use crate::sensors::Noise;
use std::f64::consts::TAU;

/// Time between two samples, microseconds.
pub const STEP_US: i64 = 20_000;
const STEP_S: f64 = STEP_US as f64 * 1e-6;
/// The pilot circles and listens for so long before he begins; the instrument settles.
const LEAD_STEPS: i64 = 500;
/// What is measured: three minutes.
const MEASURED_STEPS: i64 = 9_000;
/// The first circle is off the thermal's middle by a distance between these, m.
const OFF_M: (f64, f64) = (30.0, 150.0);
/// Circles, degrees of bank.
const BANKS_DEG: (f64, f64) = (35.0, 45.0);
const REACTIONS_S: (f64, f64) = (0.4, 0.8);
/// Bank and heading are wrong by this, rms, and wander over that many seconds.
const BANK_WRONG_DEG: f64 = 2.5;
const HEADING_WRONG_DEG: f64 = 15.0;
const WRONG_OVER_S: f64 = 5.0;
/// Lengths of the turbulence and of the gusts, m.
const TURBULENCE_M: f64 = 100.0;
const GUST_M: f64 = 150.0;

/// What there is to hear at a moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// Time of the sample, microseconds.
    pub time_us: i64,
    /// Static pressure as its sensor gives it, Pa.
    pub static_pa: f64,
    /// Pitot less static pressure as its sensor gives it, Pa.
    pub dynamic_pa: f64,
    /// The truth: rate of the glider's inertial energy per weight, m/s.
    pub climb_mps: f64,
}

/// Whatever turns pressures into something heard.
pub trait Ear {
    /// Called every [`STEP_US`]; returns the climb that the sound of this moment means, in m/s, or
    /// `None` where nothing sounds.
    fn hear(&mut self, moment: &Moment) -> Option<f64>;
}

impl<F: FnMut(&Moment) -> Option<f64>> Ear for F {
    fn hear(&mut self, moment: &Moment) -> Option<f64> {
        self(moment)
    }
}

/// A thermal and everything random about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trial {
    /// Chooses the thermal, the gusts, the noise and the pilot's clumsiness.
    pub seed: u64,
    /// The air.
    pub day: Day,
}

impl Trial {
    /// The mean climb of the first three minutes, m/s, of a pilot who takes what he knows now for
    /// what the climb was `allowance_s` before: his reaction, the beeps and the reading together, 0
    /// to 5 s.
    pub fn climb_mps(&self, pilot: Pilot, allowance_s: f64, ear: &mut impl Ear) -> f64 {
        let mut flight = Flight::new(self, pilot, allowance_s);
        (0..LEAD_STEPS).for_each(|step| flight.advance(step, false, ear));
        let from_m = flight.circler.energy_m;
        (LEAD_STEPS..LEAD_STEPS + MEASURED_STEPS).for_each(|step| flight.advance(step, true, ear));
        (flight.circler.energy_m - from_m) / (MEASURED_STEPS as f64 * STEP_S)
    }
}

/// Everything that moves.
struct Flight {
    day: Day,
    circler: Circler,
    thermal: Moving,
    pilot: AtWork,
    circle_rad: f64,
    turbulence: Wandering,
    gusts: Wandering,
    bank_wrong: Wandering,
    heading_wrong: Wandering,
    static_noise: Noise,
    pitot_noise: Noise,
}

impl Flight {
    fn new(trial: &Trial, pilot: Pilot, allowance_s: f64) -> Self {
        let Trial { seed, day } = *trial;
        let noise = &mut Noise::new(seed, 3);
        let circle_rad = between(BANKS_DEG, noise).to_radians();
        let reaction_s = between(REACTIONS_S, noise);
        let (off_m, turn) = (between(OFF_M, noise), TAU * noise.uniform());
        let mut thermal = Moving::new(Thermal::of_seed(seed), seed, STEP_S);
        thermal.advance();
        let (east, north) = thermal.middle_m();
        let middle_m = (east + off_m * libm::sin(turn), north + off_m * libm::cos(turn));
        let flown_m = STEP_S * SPEED_MPS;
        let wandering = |stream, step| Wandering::new(Noise::new(seed, stream), step);
        Self {
            day,
            circler: Circler::new(middle_m, TAU * noise.uniform(), circle_rad),
            thermal,
            pilot: AtWork::new(pilot, allowance_s, circle_rad, reaction_s, STEP_S),
            circle_rad,
            turbulence: wandering(4, flown_m / TURBULENCE_M),
            gusts: wandering(5, flown_m / GUST_M),
            bank_wrong: wandering(6, STEP_S / WRONG_OVER_S),
            heading_wrong: wandering(7, STEP_S / WRONG_OVER_S),
            static_noise: Noise::new(seed, 8),
            pitot_noise: Noise::new(seed, 9),
        }
    }

    fn advance(&mut self, step: i64, corrects: bool, ear: &mut impl Ear) {
        let heard_mps = ear.hear(&self.moment(step));
        let wrong_rad = (HEADING_WRONG_DEG * self.heading_wrong.next()).to_radians();
        self.pilot.note(heard_mps, self.circler.heading_rad + wrong_rad);
        let wanted_rad = if corrects { self.pilot.bank_rad() } else { self.circle_rad };
        let wrong_rad = (BANK_WRONG_DEG * self.bank_wrong.next()).to_radians();
        self.thermal.advance();
        let up_mps = self.day.turbulence_mps * self.turbulence.next();
        self.circler.advance(STEP_S, wanted_rad + wrong_rad, &self.thermal, up_mps);
    }

    fn moment(&mut self, step: i64) -> Moment {
        let still = self.circler.still;
        let airspeed_mps = self.circler.speed_mps() + self.day.gusts_mps * self.gusts.next();
        let pa_a_metre = still.density_kgpm3 * GRAVITY_MPS2;
        let static_noise = self.day.static_noise_m * pa_a_metre * self.static_noise.normal();
        let pitot_noise = self.day.pitot_noise_pa * self.pitot_noise.normal();
        Moment {
            time_us: step * STEP_US,
            static_pa: still.pressure_pa + static_noise,
            dynamic_pa: still.impact_pressure_pa(airspeed_mps) + pitot_noise,
            climb_mps: self.circler.climb_mps,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::centring::best_circle_mps;

    const THERMALS: u64 = 60;

    /// Mean climb over the best circles' with an ear that is made anew for each thermal.
    fn share<E: Ear>(pilot: Pilot, allowance_s: f64, ear: impl Fn(u64) -> E) -> f64 {
        let climb_mps =
            |seed| Trial { seed, day: Day::SMOOTH }.climb_mps(pilot, allowance_s, &mut ear(seed));
        let best_mps: f64 =
            (0..THERMALS).map(|seed| best_circle_mps(&Thermal::of_seed(seed))).sum();
        (0..THERMALS).map(climb_mps).sum::<f64>() / best_mps
    }

    fn perfect(_seed: u64) -> impl Ear {
        |moment: &Moment| Some(moment.climb_mps)
    }

    #[test]
    fn who_corrects_better_climbs_better() {
        let with_perfect = |pilot| share(pilot, 1.0, perfect);
        let tightens = with_perfect(Pilot::Tightens);
        let never = with_perfect(Pilot::NeverCorrects);
        let flattens = with_perfect(Pilot::Flattens);
        let best_heading = with_perfect(Pilot::BestHeading);
        let (both, expert) = (with_perfect(Pilot::Both), with_perfect(Pilot::Expert));
        let all = format!("{tightens} {never} {flattens} {best_heading} {both} {expert}");
        assert!(tightens < never && never < flattens.min(best_heading), "{all}");
        assert!(flattens.max(best_heading) < both && both < expert && expert < 1.0, "{all}");
    }

    #[test]
    fn who_hears_nothing_of_the_climb_gains_nothing_by_correcting() {
        let noise = |seed| {
            let mut noise = Noise::new(seed, 99);
            let mut heard_mps = 0.0;
            move |moment: &Moment| {
                if moment.time_us % 500_000 == 0 {
                    heard_mps = 2.0 * noise.normal();
                }
                Some(heard_mps)
            }
        };
        for pilot in Pilot::MEASURED {
            let (deaf, hears) = (share(pilot, 1.0, noise), share(pilot, 1.0, perfect));
            assert!(deaf < 0.6 * hears, "{pilot:?}: {deaf}, {hears}");
        }
    }

    #[test]
    fn the_same_trial_gives_the_same_climb() {
        let climb_mps = || {
            let trial = Trial { seed: 5, day: Day::ROUGH };
            trial.climb_mps(Pilot::Both, 1.0, &mut perfect(0)).to_bits()
        };
        assert_eq!(climb_mps(), climb_mps());
    }
}
