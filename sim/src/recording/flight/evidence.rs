//! What a flight is read from: height, speed, course and engine, one value a second.

use super::gaps::{self, Gap};
use crate::recording::Recording;
use crate::recording::height_source::{Source, height_source};
use crate::recording::series::Even;
use crate::recording::track::Track;
use crate::time::LocalClock;
use crate::trace::Position;
use std::f64::consts::{PI, TAU};
use std::ops::Range;

/// Heights are smoothed over this, s.
const SMOOTHED_S: f64 = 3.0;
/// Speed and course over the ground are smoothed over this, s.
const GROUND_S: f64 = 6.0;
/// A degree of latitude, m, on a sphere of 6371 km.
const DEGREE_M: f64 = 111_195.0;
/// A course is read only above this speed, m/s.
const MOVES_MPS: f64 = 3.0;
/// Fewer positions than this share of the samples are none.
const LEAST_SHARE: f64 = 0.5;
/// Standard gravity, m/s2.
const GRAVITY_MPS2: f64 = 9.806_65;
/// Heights within this are one height; the second is for a satellite receiver's.
const STAYS_M: f64 = 2.5;
const STAYS_BY_SATELLITES_M: f64 = 8.0;

/// A recording on a grid of one second.
pub(super) struct Evidence {
    /// Time of the first value.
    pub start_s: f64,
    /// Time between two samples of the recording, s.
    pub interval_s: f64,
    /// The longest time between two, s.
    pub longest_gap_s: f64,
    /// Intervals without samples.
    pub gaps: Vec<Gap>,
    /// What the clock shows.
    pub clock: LocalClock,
    /// Altitude from satellites, m, where there is one beside a barometer.
    pub satellites_m: Option<Vec<f64>>,
    /// Pressure height of the standard atmosphere, m.
    pub height_m: Vec<f64>,
    /// True airspeed, m/s, where the recording has it.
    pub air_mps: Option<Vec<f64>>,
    /// The way over the ground, where there are positions.
    pub ground: Option<Ground>,
    /// Whether an engine runs, where the recording says that.
    pub engine: Option<Vec<bool>>,
    /// Whether the heights are a barometer's and not a satellite receiver's.
    pub has_barometer: bool,
}

/// The way over the ground.
pub(super) struct Ground {
    /// East and north of the first position, m.
    pub place_m: Vec<[f64; 2]>,
    /// Speed, m/s.
    pub speed_mps: Vec<f64>,
    /// Course, clockwise from north, rad, without jumps.
    pub course_rad: Vec<f64>,
}

impl Evidence {
    /// Of a recording and its track.
    pub fn of(recording: &Recording, track: &Track) -> Self {
        let height = Even::of(&track.times_s, &track.altitude_m, 1.0).smoothed(SMOOTHED_S);
        let air = (!track.speed_mps.is_empty())
            .then(|| Even::of(&track.times_s, &track.speed_mps, 1.0).values);
        let last = track.times_s.len() - 1;
        let has_barometer = height_source(recording) != Source::Satellites;
        let intervals_s = track.times_s.windows(2).map(|pair| pair[1] - pair[0]);
        Self {
            start_s: height.start_s,
            interval_s: (track.times_s[last] - track.times_s[0]) / last.max(1) as f64,
            longest_gap_s: intervals_s.fold(0.0, f64::max),
            gaps: gaps::of(&track.times_s),
            clock: recording.clock(),
            satellites_m: satellites_m(recording, track).filter(|_| has_barometer),
            height_m: height.values,
            air_mps: air,
            ground: Ground::of(recording, track),
            engine: engine(recording, track),
            has_barometer,
        }
    }

    /// The number of values.
    pub fn len(&self) -> usize {
        self.height_m.len()
    }

    /// Time of value `place`.
    pub fn time_s(&self, place: usize) -> f64 {
        self.start_s + place as f64
    }

    /// Whether each place is in a gap of which nothing is known.
    pub fn in_gaps(&self) -> Vec<bool> {
        let mut in_gaps = vec![false; self.len()];
        for gap in self.gaps.iter().filter(|gap| gap.is_blind()) {
            let place = |time_s: f64| (time_s - self.start_s).max(0.0);
            let from = place(gap.from_s).floor() as usize + 1;
            let to = (place(gap.to_s).ceil() as usize).min(self.len());
            in_gaps[from.min(to)..to].fill(true);
        }
        in_gaps
    }

    /// Whether the height stays from one place to another, and no second of it is in one of the
    /// gaps `in_gaps` ([`Self::in_gaps`]).
    pub fn is_level(&self, in_gaps: &[bool], from: usize, to: usize) -> bool {
        let tolerance_m = if self.has_barometer { STAYS_M } else { STAYS_BY_SATELLITES_M };
        let (low, high) = extremes(&self.height_m[from..=to]);
        high - low <= tolerance_m && in_gaps[from..=to].iter().all(|in_gap| !in_gap)
    }

    /// Mean climb from `from` to `to`, m/s.
    pub fn climb_mps(&self, from: usize, to: usize) -> f64 {
        let to = to.min(self.len() - 1);
        (self.height_m[to] - self.height_m[from.min(to)]) / (to.saturating_sub(from)).max(1) as f64
    }

    /// Speed through the air, else over the ground, m/s.
    pub fn speed_mps(&self) -> Option<&[f64]> {
        let over_ground = || self.ground.as_ref().map(|ground| ground.speed_mps.as_slice());
        self.air_mps.as_deref().or_else(over_ground)
    }

    /// Height and kinetic height together, m; the height alone without airspeed.
    pub fn energy_m(&self, place: usize) -> f64 {
        let kinetic = |speeds: &Vec<f64>| {
            let speed = speeds[place.min(speeds.len() - 1)];
            0.5 * speed * speed / GRAVITY_MPS2
        };
        self.height_m[place] + self.air_mps.as_ref().map_or(0.0, kinetic)
    }
}

impl Ground {
    /// The way that the positions of `recording` show; `None` where it has too few.
    fn of(recording: &Recording, track: &Track) -> Option<Self> {
        let there = || {
            let pairs = track.times_s.iter().zip(&recording.positions);
            pairs.filter_map(|(time, position)| Some((*time, (*position)?)))
        };
        let count = there().count();
        if count < 2 || (count as f64) < LEAST_SHARE * track.times_s.len() as f64 {
            return None;
        }
        let first = there().next()?.1;
        let shrink = first.latitude_deg.to_radians().cos();
        let times_s: Vec<f64> = there().map(|(time, _)| time).collect();
        let axis = |of: &dyn Fn(Position) -> f64| {
            let values: Vec<f64> = there().map(|(_, position)| DEGREE_M * of(position)).collect();
            let even = Even::of(&times_s, &values, 1.0);
            // On the grid of the heights, which begins with the first sample.
            let at = |place: usize| even.at(track.times_s[0] + place as f64);
            let last = track.times_s[track.times_s.len() - 1];
            let places = (last - track.times_s[0]) as usize + 1;
            Even { start_s: track.times_s[0], step_s: 1.0, values: (0..places).map(at).collect() }
        };
        let east = axis(&|position| {
            let apart = position.longitude_deg - first.longitude_deg;
            (apart + 540.0).rem_euclid(360.0).mul_add(shrink, -180.0 * shrink)
        });
        let north = axis(&|position| position.latitude_deg - first.latitude_deg);
        let rate = |even: &Even| even.rate().smoothed(GROUND_S).values;
        let (east_mps, north_mps) = (rate(&east), rate(&north));
        let speeds = east_mps.iter().zip(&north_mps);
        Some(Self {
            speed_mps: speeds.map(|(east, north)| east.hypot(*north)).collect(),
            course_rad: course(&east_mps, &north_mps),
            place_m: east.values.into_iter().zip(north.values).map(|(x, y)| [x, y]).collect(),
        })
    }
}

/// The altitude from satellites on the grid of the heights; `None` where it is in too few samples.
fn satellites_m(recording: &Recording, track: &Track) -> Option<Vec<f64>> {
    let altitude =
        |(time, position): (&f64, &Option<Position>)| Some((*time, (*position)?.gnss_altitude_m?));
    let pairs = track.times_s.iter().zip(&recording.positions);
    let (times_s, altitudes_m): (Vec<f64>, Vec<f64>) = pairs.filter_map(altitude).unzip();
    let is_there =
        times_s.len() >= 2 && times_s.len() as f64 >= LEAST_SHARE * track.times_s.len() as f64;
    is_there.then(|| {
        let even = Even::of(&times_s, &altitudes_m, 1.0).smoothed(SMOOTHED_S);
        let (first_s, last_s) = (track.times_s[0], track.times_s[track.times_s.len() - 1]);
        (0..=(last_s - first_s) as usize).map(|place| even.at(first_s + place as f64)).collect()
    })
}

/// Whether an engine runs, second by second: where the last sample before says so.
fn engine(recording: &Recording, track: &Track) -> Option<Vec<bool>> {
    if recording.engine.len() != track.times_s.len() {
        return None;
    }
    let (first_s, last_s) = (track.times_s[0], track.times_s[track.times_s.len() - 1]);
    let runs = |place: usize| {
        let after = track.times_s.partition_point(|time| *time <= first_s + place as f64);
        recording.engine[after.saturating_sub(1)]
    };
    Some((0..=(last_s - first_s) as usize).map(runs).collect())
}

/// The course without jumps; where it hardly moves, that of before.
fn course(east_mps: &[f64], north_mps: &[f64]) -> Vec<f64> {
    let mut last = 0.0;
    let next = |(east, north): (&f64, &f64)| {
        if east.hypot(*north) > MOVES_MPS {
            let turn = east.atan2(*north) - last;
            last += (turn + PI).rem_euclid(TAU) - PI;
        }
        last
    };
    east_mps.iter().zip(north_mps).map(next).collect()
}

/// The mean of `values` from `from` to `to`, both within.
pub(super) fn mean(values: &[f64], from: usize, to: usize) -> f64 {
    let to = to.min(values.len() - 1);
    let from = from.min(to);
    values[from..=to].iter().sum::<f64>() / (to - from + 1) as f64
}

/// Where `for_s` seconds can begin that end at `to` at the latest; nowhere in a shorter piece.
pub(super) fn beginnings(from: usize, to: usize, for_s: usize) -> Range<usize> {
    from..(to + 1).saturating_sub(for_s)
}

/// Lowest and highest.
pub(super) fn extremes(values: &[f64]) -> (f64, f64) {
    values
        .iter()
        .fold((f64::MAX, f64::MIN), |(least, most), value| (least.min(*value), most.max(*value)))
}
