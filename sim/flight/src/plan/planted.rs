//! Flights to try a tuning on: 20 minutes each, with gusts from 0 to 1 m/s, on days that differ in
//! everything else as well. What is true in them is known.
//!
//! Every flight is drawn from its own random numbers: how long gusts are, how rough the air is, how
//! strong, wide and sharp the thermals are, whether they are crossed or circled in, when the pilot
//! pulls up, and how noisy the sensors are. Glider and place are invented.

use super::scenario::Scenario;
use super::{Wrong, check};
use crate::physics::glider::Glider;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use std::fmt::Write as _;

const LASTS_S: f64 = 1_200.0;
/// The plan is laid out with about this speed over the ground.
const SPEED_MPS: f64 = 26.0;

/// The flight `number` of `count`: the first without gusts, the last with 1 m/s rms.
///
/// # Errors
/// A scenario that is wrong, which a test excludes.
pub fn flight(number: u32, count: u32) -> Result<(Scenario, Glider), Wrong> {
    let text = text(number, count);
    check::read("planted", &text)
}

/// Strength of the gusts along and across each, m/s rms.
pub fn gusts_mps(number: u32, count: u32) -> f64 {
    f64::from(number) / f64::from(count.max(2) - 1)
}

fn text(number: u32, count: u32) -> String {
    let mut day = Day(ChaCha8Rng::seed_from_u64(u64::from(number)));
    let mut plan = Plan::default();
    while plan.lasts_s < LASTS_S {
        plan.glide(&mut day);
        if day.between(0.0, 1.0) < 0.5 {
            plan.pull_up();
        }
        if day.between(0.0, 1.0) < 0.5 {
            plan.cross(&mut day);
        } else {
            plan.circle(&mut day);
        }
    }
    let [gusts_last_m, turbulence_mps, turbulence_lasts_m] =
        [(60.0, 400.0), (0.1, 0.5), (60.0, 300.0)].map(|(from, to)| day.between(from, to));
    let [static_pa, dynamic_pa] = [0, 1].map(|_| day.between(0.5, 2.0));
    format!(
        "name = \"Planted {number}\"\nabout = \"A day to try a tuning on.\"\n\
         [glider]\nname = \"Halda 2\"\npoints = [\n\
         {{ speed_mps = 18, sink_mps = 0.88 }},\n{{ speed_mps = 24, sink_mps = 0.91 }},\n\
         {{ speed_mps = 35, sink_mps = 1.89 }},\n]\nreference_mass_kg = 480\nstall_mps = 16\n\
         [start]\nheight_m = 1500\nspeed_mps = {SPEED_MPS}\n\
         [turbulence]\ngust_rms_mps = {:.3}\ngust_length_m = {gusts_last_m:.0}\n\
         up_rms_mps = {turbulence_mps:.2}\nup_length_m = {turbulence_lasts_m:.0}\n\
         {}{}[sensors]\nrate_hz = 50\n[sensors.static]\nnoise_pa = {static_pa:.2}\n\
         [sensors.dynamic]\nnoise_pa = {dynamic_pa:.2}\n",
        gusts_mps(number, count),
        plan.thermals,
        plan.legs
    )
}

/// The random numbers of a day.
struct Day(ChaCha8Rng);

impl Day {
    fn between(&mut self, from: f64, to: f64) -> f64 {
        let share = f64::from(self.0.next_u32()) / f64::from(u32::MAX);
        from + share * (to - from)
    }
}

/// Legs and thermals, as they are written.
#[derive(Default)]
struct Plan {
    legs: String,
    thermals: String,
    count: u32,
    lasts_s: f64,
    north_m: f64,
}

impl Plan {
    fn leg(&mut self, phase: &str, for_s: f64, speed_mps: f64, more: &str) {
        let for_s = for_s.round();
        // Writing to a string cannot fail.
        let _ = write!(
            self.legs,
            "[[leg]]\nphase = \"{phase}\"\nfor_s = {for_s}\nspeed_mps = {speed_mps:.1}\n{more}\n"
        );
        self.lasts_s += for_s;
    }

    fn glide(&mut self, day: &mut Day) {
        let (for_s, speed_mps) = (day.between(30.0, 90.0), day.between(22.0, 34.0));
        self.leg("glide", for_s, speed_mps, "heading_deg = 0");
        self.north_m += for_s * speed_mps;
    }

    fn pull_up(&mut self) {
        const HOW: &str = "acceleration_mps2 = 1.5\nheading_deg = 0";
        self.leg("push-over", 8.0, 34.0, HOW);
        self.leg("pull-up", 8.0, 22.0, HOW);
        self.north_m += 16.0 * 28.0;
    }

    fn thermal(&mut self, ahead_m: f64, strength_mps: f64, radius_m: f64, edge_m: Option<f64>) {
        self.count += 1;
        let edge = edge_m.map_or(String::new(), |edge_m| format!("edge_m = {edge_m:.0}\n"));
        let _ = write!(
            self.thermals,
            "[[thermal]]\nname = \"no-{}\"\neast_m = 0\nnorth_m = {:.0}\n\
             strength_mps = {strength_mps:.1}\nradius_m = {radius_m:.0}\ntop_m = 6000\n{edge}",
            self.count,
            self.north_m + ahead_m
        );
    }

    /// A thermal crossed straight on.
    fn cross(&mut self, day: &mut Day) {
        let [strength_mps, radius_m, edge_m] =
            [(1.0, 4.0), (90.0, 200.0), (30.0, 90.0)].map(|(from, to)| day.between(from, to));
        self.thermal(200.0, strength_mps, radius_m, Some(edge_m));
        self.leg("cross", 30.0, 24.0, "heading_deg = 0");
        self.north_m += 30.0 * 25.0;
    }

    /// A thermal circled in, near its core or off it.
    fn circle(&mut self, day: &mut Day) {
        let [strength_mps, radius_m, for_s, bank_deg, off_m, speed_mps] =
            [(2.0, 5.0), (130.0, 220.0), (50.0, 120.0), (28.0, 45.0), (-40.0, 60.0), (22.5, 25.0)]
                .map(|(from, to)| day.between(from, to));
        self.thermal(300.0, strength_mps, radius_m, None);
        let how = format!(
            "circle = \"no-{}\"\nbank_deg = {bank_deg:.0}\noff_centre_m = {off_m:.0}",
            self.count
        );
        self.leg("circle", for_s, speed_mps, &how);
        self.north_m += 300.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::flight::Flight;

    #[test]
    fn every_flight_is_flown_to_its_end_and_no_two_are_alike() {
        let mut ends = Vec::new();
        for number in 0..20 {
            let (scenario, glider) = flight(number, 20).expect("it is right");
            let mut flight = Flight::new(&scenario, glider, 1);
            while flight.advance().expect("it stays in the air") {}
            let moment = flight.moment();
            assert!(moment.time_s >= LASTS_S, "{number} lasts {} s", moment.time_s);
            ends.push(moment.place.up.to_bits());
        }
        ends.sort_unstable();
        ends.dedup();
        assert_eq!(ends.len(), 20);
        assert_eq!([0, 19].map(|number| gusts_mps(number, 20)), [0.0, 1.0]);
    }
}
