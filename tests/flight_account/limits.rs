//! No flight is said to reach a limit that it does not have: flights made of straight pieces, with
//! the truth known by construction.

use super::{flight, holds_together, number, reached};
use crate::support::{folder, pressure_pa, write};
use proptest::prelude::*;
use std::fmt::Write;

/// A flight made of pieces, each of a length and a rate of climb.
#[derive(Clone, Debug)]
struct Pieces {
    launch: Launch,
    /// Length in s and climb in m/s of each, after the launch.
    legs: Vec<(f64, f64)>,
    ground_m: f64,
    step_s: f64,
    airspeed: bool,
    noise_pa: f64,
}

#[derive(Clone, Copy, Debug)]
enum Launch {
    Winch { mps: f64, s: f64 },
    Tow { mps: f64, s: f64 },
}

/// The truth of a flight and its heights and speeds, one a second.
struct Flown {
    height_m: Vec<f64>,
    speed_mps: Vec<f64>,
    release: usize,
    landing: usize,
}

const STANDS_S: usize = 90;

impl Pieces {
    fn fly(&self) -> Flown {
        let mut height_m = vec![self.ground_m; STANDS_S];
        let mut speed_mps = vec![0.0; STANDS_S];
        let mut go = |for_s: f64, climb_mps: f64, mps: f64| {
            for _ in 0..for_s as usize {
                let before = height_m[height_m.len() - 1];
                height_m.push((before + climb_mps).max(self.ground_m));
                speed_mps.push(mps);
            }
            height_m.len()
        };
        go(8.0, 0.0, 15.0);
        let release = match self.launch {
            Launch::Winch { mps, s } => go(s, mps, 27.0),
            Launch::Tow { mps, s } => go(s, mps, 34.0),
        };
        for (for_s, climb_mps) in &self.legs {
            go(*for_s, *climb_mps, if *climb_mps > 0.0 { 24.0 } else { 29.0 });
        }
        // Down to the ground, however high it is.
        let mut landing = go(1.0, -1.5, 27.0);
        while height_m[height_m.len() - 1] > self.ground_m {
            let before = height_m[height_m.len() - 1];
            height_m.push((before - 1.5).max(self.ground_m));
            speed_mps.push(27.0);
            landing = height_m.len();
        }
        height_m.extend(vec![self.ground_m; STANDS_S]);
        speed_mps.extend(vec![0.0; STANDS_S]);
        Flown { height_m, speed_mps, release, landing }
    }

    /// As a recorder writes it, all times later by `late_s`.
    fn text(&self, flown: &Flown, late_s: usize) -> String {
        let tas = if self.airspeed { ",tas_mps" } else { "" };
        let mut text = format!("time_s,static_pa{tas}\n");
        let places = (0..flown.height_m.len()).step_by(self.step_s as usize);
        for (row, place) in places.enumerate() {
            // Noise that is the same in every run.
            let noise = self.noise_pa * f64::from((row * 7_919 % 1_000) as u32) / 1_000.0;
            let pressure = pressure_pa(flown.height_m[place]) + noise;
            write!(text, "{},{pressure:.2}", place + late_s).expect("a string");
            if self.airspeed {
                write!(text, ",{:.1}", flown.speed_mps[place]).expect("a string");
            }
            text.push('\n');
        }
        text
    }
}

impl Flown {
    fn gain_m(&self) -> f64 {
        let mut low = f64::MAX;
        self.height_m[self.release..self.landing].iter().fold(0.0, |most, height| {
            low = low.min(*height);
            f64::max(most, height - low)
        })
    }

    fn lasts_s(&self) -> f64 {
        (self.landing - self.release) as f64
    }
}

fn launch() -> impl Strategy<Value = Launch> {
    prop_oneof![
        (9.0..18.0, 20.0..40.0).prop_map(|(mps, s)| Launch::Winch { mps, s }),
        (1.5..4.0, 90.0..400.0).prop_map(|(mps, s)| Launch::Tow { mps, s }),
    ]
}

/// Flights about the limits: a gain that is near 1000 m, or about 5 or 2 h.
fn pieces() -> impl Strategy<Value = Pieces> {
    let near_gain = (850.0..1_150.0, 1.0..4.0, 20.0..300.0)
        .prop_map(|(gain_m, mps, first_s)| vec![(first_s, -0.8), (gain_m / mps, mps)]);
    let steady = (1_700.0..1_900.0_f64, 1..11_usize).prop_map(|(half_s, count)| {
        // Ten minutes down at 0.5 m/s, then as much up.
        let pair = [(0.5 * half_s, -0.3), (0.5 * half_s, 0.3)];
        let mut legs = vec![(60.0, 3.0)];
        legs.extend(pair.into_iter().cycle().take(2 * count));
        legs
    });
    let any = proptest::collection::vec((20.0..600.0, -2.0..4.0), 1..12);
    let legs = prop_oneof![near_gain, steady, any];
    let recorder =
        (0.0..1_500.0, prop_oneof![Just(1.0), Just(2.0), Just(5.0)], any_bool(), 0.0..8.0);
    (launch(), legs, recorder).prop_map(|(launch, legs, (ground_m, step_s, airspeed, noise_pa))| {
        Pieces { launch, legs, ground_m, step_s, airspeed, noise_pa }
    })
}

fn any_bool() -> impl Strategy<Value = bool> {
    prop_oneof![Just(true), Just(false)]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn no_flight_is_told_that_it_has_what_it_lacks(pieces in pieces()) {
        let flown = pieces.fly();
        let folder = folder();
        let found = flight(&write(&folder, "made.csv", pieces.text(&flown, 0)), &[]);
        holds_together(&found);
        for one in found["badges"]["reached"].as_array().expect("a list") {
            let limit = number(&one["limit"]);
            let has = match one["what"].as_str() {
                Some("gain") => flown.gain_m(),
                _ => flown.lasts_s(),
            };
            prop_assert!(has >= limit, "{one}, truly {has}");
            prop_assert!(number(&one["at_least"]) <= has, "{one}, truly {has}");
        }
    }

    #[test]
    fn a_later_clock_changes_nothing_but_the_times(pieces in pieces(), late_s in 1..5_000_usize) {
        let flown = pieces.fly();
        let folder = folder();
        let now = flight(&write(&folder, "now.csv", pieces.text(&flown, 0)), &[]);
        let later = flight(&write(&folder, "later.csv", pieces.text(&flown, late_s)), &[]);
        prop_assert_eq!(reached(&now), reached(&later));
        for name in ["take_off_s", "release_s", "landing_s"] {
            prop_assert_eq!(now[name].is_null(), later[name].is_null());
            if let (Some(now), Some(later)) = (now[name].as_f64(), later[name].as_f64()) {
                let moved_s = later - now;
                prop_assert!((moved_s - late_s as f64).abs() < 1.5, "{} {} {}", name, now, later);
            }
        }
        let count = |flight: &serde_json::Value| flight["climbs"].as_array().map(Vec::len);
        prop_assert_eq!(count(&now), count(&later));
    }
}

#[test]
fn a_flight_that_has_a_limit_with_room_to_spare_is_told_so() {
    // So that the property above cannot hold because nothing is ever said.
    let legs = vec![(60.0, 3.0), (120.0, -1.0), (600.0, 2.0), (17_500.0, -0.05)];
    let pieces = Pieces {
        launch: Launch::Tow { mps: 2.5, s: 240.0 },
        legs,
        ground_m: 300.0,
        step_s: 1.0,
        airspeed: true,
        noise_pa: 2.0,
    };
    let flown = pieces.fly();
    assert!(flown.gain_m() > 1_100.0 && flown.lasts_s() > 18_500.0);
    let folder = folder();
    let found = flight(&write(&folder, "made.csv", pieces.text(&flown, 0)), &[]);
    assert_eq!(reached(&found), ["gain 1000.0", "duration 18000.0"], "{found}");
}
