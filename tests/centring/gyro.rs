//! What is said with an inertial sensor and no positions: turns, no directions.

use super::judged::read;
use super::made::Made;
use super::truth::Truth;
use crate::support::{folder, write};
use chirrup::circling::climb::KnownFrom;
use chirrup::circling::{Circling, Said};
use chirrup::recording::track::Track;
use chirrup_flight::centring::{Day, Moment, Pilot, Trial};
use std::fmt::Write as _;
use std::path::Path;

/// A sample in five is written: 10 a second.
const EVERY: usize = 5;

/// The trace of a pilot with an inertial sensor, from its last `seconds`.
fn trace(seed: u64, pilot: Pilot, seconds: usize) -> String {
    let trial = Trial { seed, day: Day::SMOOTH, has_motion_sensors: true };
    let mut moments: Vec<Moment> = Vec::new();
    trial.climb_mps(pilot, 1.5, &mut |moment: &Moment| {
        moments.push(*moment);
        Some(moment.climb_mps)
    });
    let mut text = String::from(
        "time_s,static_pa,dynamic_pa,accel_x_mps2,accel_y_mps2,accel_z_mps2,gyro_x_radps,\
         gyro_y_radps,gyro_z_radps\n",
    );
    let first = moments.len() - 50 * seconds;
    for (place, moment) in moments[first..].iter().enumerate().step_by(EVERY) {
        let felt = moment.felt.expect("it has the sensor");
        let _ = write!(text, "{},{},{}", place as f64 / 50.0, moment.static_pa, moment.dynamic_pa);
        for value in felt.force_mps2.iter().chain(&felt.turn_rps) {
            let _ = write!(text, ",{value:.5}");
        }
        text.push('\n');
    }
    text
}

#[test]
fn a_gyro_knows_the_turns_and_no_direction() {
    for seed in [1_000, 1_001, 1_002] {
        let folder = folder();
        let path = write(&folder, "gyro.csv", trace(seed, Pilot::NeverCorrects, 180));
        let recording = read(Path::new(&path));
        let track = Track::of(&recording);
        let said = Circling::of(&recording, &track, &[(0.0, 180.0)]).climbs.remove(0);
        assert_eq!(said.known_from, KnownFrom::TurnRate);
        let circles = said.circles().expect("it circles");
        let truth = Truth::of(&Made::flown_by(Pilot::NeverCorrects, seed));
        let (first, last) = (truth.turns[0], truth.turns[truth.turns.len() - 1]);
        let period_s = (last.to_s - first.from_s) / truth.turns.len() as f64;
        let found_s = circles.period_s.value().expect("it is said");
        let error_s = circles.period_s.error().expect("it is said");
        assert!((found_s - period_s).abs() < error_s, "{seed}: {found_s} {period_s}");
        assert!(circles.technique.is_some() && circles.wind.is_none());
        for said in [circles.off_centre_m, circles.lost_mps, circles.better_side_deg] {
            assert!(matches!(said, Said::Absent { .. }), "{said:?}");
        }
        assert!(circles.turns.iter().all(|turn| turn.better_side_deg.is_none()));
    }
}
