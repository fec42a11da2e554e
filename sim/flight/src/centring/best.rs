//! The climb of the best circle of a thermal that stands still, without gusts.

use super::circler::{SPEED_MPS, glider, radius_m, sink_mps};
use super::thermal::Thermal;
use crate::physics::atmosphere::Atmosphere;
use std::f64::consts::TAU;

/// Banks and middles tried, and the points of a circle.
const BANKS_DEG: [f64; 8] = [22.0, 26.0, 30.0, 34.0, 38.0, 42.0, 46.0, 50.0];
const APART_M: f64 = 15.0;
const POINTS: u32 = 16;
const HEIGHT_M: f64 = 1100.0;

/// The best circle of a thermal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BestCircle {
    /// Its mean climb, m/s.
    pub climb_mps: f64,
    /// Its middle, m east and north of the thermal's.
    pub middle_m: (f64, f64),
    /// Its radius, m.
    pub radius_m: f64,
}

/// The mean climb on the best circle of a thermal, m/s.
pub fn best_circle_mps(thermal: &Thermal) -> f64 {
    BestCircle::of(thermal).climb_mps
}

impl BestCircle {
    /// The best circle of a thermal, by trying them all: 8 banks from 22 to 50 degrees, middles
    /// 15 m apart.
    pub fn of(thermal: &Thermal) -> Self {
        let places = libm::ceil(thermal.reach_m() / APART_M) as i32;
        let still = Atmosphere::STANDARD.at(HEIGHT_M);
        let glider = glider();
        let mut best = Self { climb_mps: f64::MIN, middle_m: (0.0, 0.0), radius_m: 0.0 };
        for bank_rad in BANKS_DEG.map(f64::to_radians) {
            let sink = sink_mps(&glider, SPEED_MPS, bank_rad, &still);
            let radius_m = radius_m(bank_rad);
            for (east, north) in
                (-places..=places).flat_map(|east| (-places..=places).map(move |n| (east, n)))
            {
                let middle_m = (f64::from(east) * APART_M, f64::from(north) * APART_M);
                let climb_mps = mean_rise_mps(thermal, middle_m, radius_m) - sink;
                if climb_mps > best.climb_mps {
                    best = Self { climb_mps, middle_m, radius_m };
                }
            }
        }
        best
    }
}

fn mean_rise_mps(thermal: &Thermal, middle_m: (f64, f64), radius_m: f64) -> f64 {
    let rise = |point: u32| {
        let turn = TAU * f64::from(point) / f64::from(POINTS);
        let (east, north) = (libm::sin(turn), libm::cos(turn));
        thermal.rise(middle_m.0 + radius_m * east, middle_m.1 + radius_m * north)
    };
    (0..POINTS).map(rise).sum::<f64>() / f64::from(POINTS)
}
