//! A climb once a second: height, energy height and airspeed, and where there are positions, place
//! and velocity over the ground.

use super::ground::Plane;
use super::local_cubic::Samples;
use crate::recording::Recording;
use crate::recording::series::Even;
use crate::recording::track::Track;
use std::ops::Range;

/// A position with velocity is worked out from those within this, s, or within so many usual
/// intervals.
const NEAR_S: f64 = 3.0;
const NEAR_INTERVALS: f64 = 2.5;
/// Rarer positions do not show a circle.
const RAREST_S: f64 = 3.0;
/// A longer climb is looked at only so far: no flight circles longer.
const LONGEST_S: f64 = 6.0 * 3_600.0;

/// A climb, a value each second.
#[derive(Clone, Debug, Default)]
pub struct Path {
    /// Time of the first value, s.
    pub start_s: f64,
    /// Pressure altitude, m.
    pub height_m: Vec<f64>,
    /// The same with the kinetic height of the recorded airspeed, or equal to it without one.
    pub energy_m: Vec<f64>,
    /// Recorded true airspeed, m/s; empty without one.
    pub airspeed_mps: Vec<f64>,
    /// Place, m east and north of the climb's first position, and velocity over the ground, m/s;
    /// empty where the recording has no positions, or too rare ones.
    pub ground: Vec<Option<[[f64; 2]; 2]>>,
    /// Whether there are positions, but too rare to show a circle.
    pub is_rare: bool,
}

impl Path {
    /// The part of a recording from `from_s` to `to_s`; `None` where it has no two samples there.
    pub fn of(recording: &Recording, track: &Track, (from_s, to_s): (f64, f64)) -> Option<Self> {
        let to_s = to_s.min(from_s + LONGEST_S);
        let from = track.times_s.partition_point(|time| *time < from_s);
        let to = track.times_s.partition_point(|time| *time <= to_s);
        if to < from + 2 {
            return None;
        }
        let range = from..to;
        let times_s = &track.times_s[range.clone()];
        let even = |values: &[f64]| Even::of(times_s, values, 1.0).values;
        let height_m = even(&track.altitude_m[range.clone()]);
        let (mut energy_m, mut airspeed_mps) = (height_m.clone(), Vec::new());
        if !track.kinetic_m.is_empty() {
            let kinetic_m = even(&track.kinetic_m[range.clone()]);
            energy_m.iter_mut().zip(kinetic_m).for_each(|(energy, kinetic)| *energy += kinetic);
            airspeed_mps = even(&track.speed_mps[range.clone()]);
        }
        let mut path =
            Self { start_s: times_s[0], height_m, energy_m, airspeed_mps, ..Self::default() };
        path.find_places(recording, times_s, range);
        Some(path)
    }

    /// Time of a value, s.
    pub fn time_s(&self, place: usize) -> f64 {
        self.start_s + place as f64
    }

    /// How many seconds there are.
    pub fn len(&self) -> usize {
        self.height_m.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.height_m.is_empty()
    }

    fn find_places(&mut self, recording: &Recording, times_s: &[f64], range: Range<usize>) {
        let Some(positions) = recording.positions.get(range) else { return };
        let (mut known_s, mut places_m) = (Vec::new(), Vec::new());
        let (mut plane, mut last) = (None, None);
        for (time, position) in times_s.iter().zip(positions) {
            // A position that is written again with the next samples is one position.
            let Some(position) = position.filter(|_| *position != last) else { continue };
            last = Some(position);
            let plane = plane.get_or_insert_with(|| Plane::at(position));
            known_s.push(*time);
            places_m.push(plane.metres(&position));
        }
        let mut intervals: Vec<f64> = known_s.windows(2).map(|two| two[1] - two[0]).collect();
        if intervals.is_empty() {
            return;
        }
        intervals.sort_by(f64::total_cmp);
        let usual_s = intervals[intervals.len() / 2];
        self.is_rare = usual_s > RAREST_S;
        if !self.is_rare {
            let samples = Samples { times_s: &known_s, places_m: &places_m };
            let half_s = NEAR_S.max(NEAR_INTERVALS * usual_s);
            self.ground =
                (0..self.len()).map(|place| samples.at(self.time_s(place), half_s)).collect();
        }
    }
}
