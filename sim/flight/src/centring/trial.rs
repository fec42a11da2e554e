//! Three minutes of one pilot in one thermal.

use super::aloft::Aloft;
use super::body::Body;
use super::day::Day;
use super::ear::{Ear, STEP_S};
use super::lead;
use super::motion_sensors::{self, MotionSensors};
use super::pilot::Pilot;
use super::pressures::Pressures;
use super::scripted::Scripted;
use super::seen::Seen;
use super::senses::Senses;
use crate::sensors::settings::SensorSettings;

/// The pilot circles and listens for so long before he begins; the instrument settles.
pub const LEAD_STEPS: i64 = 500;
/// What is measured: three minutes.
pub const MEASURED_STEPS: i64 = 9_000;
/// A thermal and everything random about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trial {
    /// Chooses the thermal, the gusts, the noise and the pilot's clumsiness.
    pub seed: u64,
    /// The air.
    pub day: Day,
    /// Whether the glider has an inertial sensor and a satellite receiver. Then the ear hears three
    /// minutes of flight before, and the glider is moved by level gusts as well, by some
    /// decimetres; its energy and its true climb stay the same.
    pub has_motion_sensors: bool,
}

impl Trial {
    /// The mean climb of the first three minutes, m/s, of a pilot who takes what he knows now for
    /// what the climb was `allowance_s` before: his reaction, the beeps and the reading together, 0
    /// to 5 s.
    pub fn climb_mps(&self, pilot: Pilot, allowance_s: f64, ear: &mut impl Ear) -> f64 {
        let (mut from_m, mut to_m) = (0.0, 0.0);
        self.watch(pilot, allowance_s, ear, |step, flight| {
            to_m = flight.aloft.energy_m();
            if step < LEAD_STEPS {
                from_m = to_m;
            }
        });
        (to_m - from_m) / (MEASURED_STEPS as f64 * STEP_S)
    }

    /// The same flight as it was, from the beginning of its first circle to the end of the three
    /// minutes, in steps of [`super::STEP_US`].
    pub fn seen(&self, pilot: Pilot, allowance_s: f64, ear: &mut impl Ear) -> Vec<Seen> {
        let mut all = Vec::new();
        self.watch(pilot, allowance_s, ear, |_, flight| all.push(flight.aloft.seen()));
        all
    }

    /// Flies it, and calls `look` after each step.
    fn watch(
        &self,
        pilot: Pilot,
        allowance_s: f64,
        ear: &mut impl Ear,
        mut look: impl FnMut(i64, &Flight<'_>),
    ) {
        let settings = motion_sensors::settings(STEP_S);
        let mut flight = Flight::new(self, &settings, pilot, allowance_s);
        flight.lead_in(self.seed, ear);
        for step in 0..LEAD_STEPS + MEASURED_STEPS {
            flight.advance(step >= LEAD_STEPS, ear);
            look(step, &flight);
        }
    }
}

/// Everything that moves.
struct Flight<'a> {
    aloft: Aloft,
    senses: Senses<'a>,
    pilot: Scripted,
}

impl<'a> Flight<'a> {
    fn new(trial: &Trial, settings: &'a SensorSettings, pilot: Pilot, allowance_s: f64) -> Self {
        let Trial { seed, day, has_motion_sensors } = *trial;
        let motion = || (Body::default(), MotionSensors::new(settings, seed));
        Self {
            aloft: Aloft::new(seed, day),
            senses: Senses {
                day,
                pressures: Pressures::new(seed),
                motion: has_motion_sensors.then(motion),
            },
            pilot: Scripted::new(seed, pilot, allowance_s),
        }
    }

    /// The flight before it, where there are motion sensors.
    fn lead_in(&mut self, seed: u64, ear: &mut impl Ear) {
        if self.senses.motion.is_none() {
            return;
        }
        let motion = self.senses.motion.take();
        let mut senses = Senses { day: self.senses.day, pressures: lead::pressures(seed), motion };
        let circle_rad = self.aloft.circle_rad();
        let climb_mps = lead::fly(seed, circle_rad, &self.aloft.circler, &mut senses, ear);
        self.senses.motion = senses.motion;
        // Its own is known after the first step only.
        self.aloft.circler.climb_mps = climb_mps;
    }

    fn advance(&mut self, corrects: bool, ear: &mut impl Ear) {
        let gust_mps = self.aloft.next_gust_mps();
        let moment = self.senses.moment(self.aloft.step(), &self.aloft.circler, gust_mps);
        let heard_mps = ear.hear(&moment);
        let wanted_rad = self.pilot.bank_rad(heard_mps, self.aloft.heading_rad(), corrects);
        self.aloft.advance(wanted_rad);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::centring::Moment;
    use crate::centring::best_circle_mps;
    use crate::centring::thermal::Thermal;
    use crate::physics::atmosphere::GRAVITY_MPS2;
    use crate::sensors::Noise;
    use crate::sensors::inertial_settings::{GnssSettings, InertialSettings};

    const THERMALS: u64 = 60;

    /// Mean climb over the best circles' with an ear that is made anew for each thermal.
    fn share<E: Ear>(pilot: Pilot, allowance_s: f64, ear: impl Fn(u64) -> E) -> f64 {
        let climb_mps = |seed| {
            let trial = Trial { seed, day: Day::SMOOTH, has_motion_sensors: false };
            trial.climb_mps(pilot, allowance_s, &mut ear(seed))
        };
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
            let trial = Trial { seed: 5, day: Day::ROUGH, has_motion_sensors: false };
            trial.climb_mps(Pilot::Both, 1.0, &mut perfect(0)).to_bits()
        };
        assert_eq!(climb_mps(), climb_mps());
    }

    /// A flight with sensors without errors, a moment every 20 ms.
    fn felt(day: Day) -> Vec<Moment> {
        let trial = Trial { seed: 5, day, has_motion_sensors: true };
        let mut settings = motion_sensors::settings(STEP_S);
        settings.inertial = Some(InertialSettings::perfect());
        settings.gnss = Some(GnssSettings {
            delay_s: 0.0,
            noise_mps: 0.0,
            rate_hz: 50.0,
            ..Default::default()
        });
        let mut flight = Flight::new(&trial, &settings, Pilot::NeverCorrects, 1.0);
        let mut moments = Vec::new();
        for _ in 0..3_000 {
            let mut ear = |moment: &Moment| {
                moments.push(*moment);
                None
            };
            flight.advance(false, &mut ear);
        }
        moments.split_off(100)
    }

    #[test]
    fn the_force_along_the_path_is_the_true_climb_and_no_wing_feels_a_side_force() {
        // The same again from what the sensors read: f.v is v.dv/dt + g dh/dt, so that the climb is
        // the rate of v.v / 2g + h; v of the receiver without errors.
        let moments = felt(Day::GUSTY);
        let (mut square, mut side, mut count) = (0.0, 0.0, 0.0);
        for pair in moments.windows(2) {
            let [before, now] = [0, 1].map(|place: usize| {
                pair[place].over_ground.expect("50 a second").north_east_down_mps
            });
            let height_m = -0.5 * (before[2] + now[2]) * STEP_S;
            let square_of = |v: [f64; 3]| v.iter().map(|v| v * v).sum::<f64>();
            let kinetic_m = (square_of(now) - square_of(before)) / (2.0 * GRAVITY_MPS2);
            square += ((height_m + kinetic_m) / STEP_S - pair[1].climb_mps).powi(2);
            let force = pair[1].felt.expect("a sample each step").force_mps2;
            let carried = libm::hypot(force[1], force[2]);
            assert!((5.0..25.0).contains(&carried), "{force:?}");
            side += force[1].powi(2);
            count += 1.0;
        }
        let (error_mps, side_mps2) = ((square / count).sqrt(), (side / count).sqrt());
        assert!(error_mps < 0.02, "{error_mps} m/s");
        assert!(side_mps2 < 0.4, "{side_mps2} m/s2");
    }

    #[test]
    fn gusts_are_felt_and_the_sensors_change_no_climb() {
        let deviation = |day: Day| {
            let forces: Vec<f64> =
                felt(day).iter().filter_map(|m| Some(m.felt?.force_mps2[2])).collect();
            let mean = forces.iter().sum::<f64>() / forces.len() as f64;
            (forces.iter().map(|f| (f - mean).powi(2)).sum::<f64>() / forces.len() as f64).sqrt()
        };
        // The lift of a level gust of 0.9 m/s is 2 L / V of it, 0.9 m/s2, less what the heave takes
        // off and the pilot has noticed.
        let without_mps2 = deviation(Day { turbulence_mps: 0.0, gusts_mps: 0.0, ..Day::GUSTY });
        let with_mps2 = deviation(Day { turbulence_mps: 0.0, ..Day::GUSTY });
        let of_gusts_mps2 = (with_mps2.powi(2) - without_mps2.powi(2)).sqrt();
        assert!((0.1..0.9).contains(&of_gusts_mps2), "{with_mps2} {without_mps2} {of_gusts_mps2}");
        let climb_mps = |has_motion_sensors| {
            let trial = Trial { seed: 5, day: Day::GUSTY, has_motion_sensors };
            trial.climb_mps(Pilot::Both, 1.0, &mut perfect(0)).to_bits()
        };
        assert_eq!(climb_mps(true), climb_mps(false));
    }
}
