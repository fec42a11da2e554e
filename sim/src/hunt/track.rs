//! The flight as it was while the climb counted: a point every 0.2 s.

use chirrup_flight::centring::STEP_US;

/// Every how many steps the track keeps a point.
pub const KEPT_STEPS: i64 = 10;
/// Points a second.
pub const RATE_HZ: usize = (1_000_000 / (KEPT_STEPS * STEP_US)) as usize;

/// The glider at a moment, in the frame of the air.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point {
    /// Time since the climb counts, s.
    pub time_s: f64,
    /// Where it is, m east.
    pub east_m: f64,
    /// And north.
    pub north_m: f64,
    /// Where it flies to, from north over east, rad; never wrapped.
    pub heading_rad: f64,
    /// Bank, rad, positive to the right.
    pub bank_rad: f64,
    /// Energy per weight, m.
    pub energy_m: f64,
    /// Rate of that, m/s.
    pub climb_mps: f64,
    /// Where the thermal's middle is, m east.
    pub core_east_m: f64,
    /// And north.
    pub core_north_m: f64,
}

impl Point {
    /// The glider as seen from the thermal's middle, m east and north.
    pub fn from_core_m(&self) -> (f64, f64) {
        (self.east_m - self.core_east_m, self.north_m - self.core_north_m)
    }
}

/// The points, in the order of time.
#[derive(Clone, Debug, Default)]
pub struct Track {
    points: Vec<Point>,
}

impl Track {
    pub(super) fn keep(&mut self, point: Point) {
        self.points.push(point);
    }

    /// All of them.
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// Mean climb from the first to the last point, m/s; 0 before there are two.
    pub fn climb_mps(&self) -> f64 {
        let (Some(first), Some(last)) = (self.points.first(), self.points.last()) else {
            return 0.0;
        };
        let time_s = last.time_s - first.time_s;
        if time_s > 0.0 { (last.energy_m - first.energy_m) / time_s } else { 0.0 }
    }
}
