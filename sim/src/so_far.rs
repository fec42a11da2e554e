//! The heights of a replay, one a second, for the account of what was flown: where the launch ends,
//! and how much plain height a climb gained.

use crate::recording::Recording;
use crate::recording::flight::Flight;
use crate::recording::track::{Filled, Track};
use crate::segments::LONGEST_GAP;
use crate::trace::Position;

/// Samples closer than this are passed over, s.
const STEP_S: f64 = 0.95;

/// A climb that ends so soon after the release is the launch's, s: speed becomes height (a guess).
const ENDS_WITHIN_S: f64 = 20.0;

/// A moment of a replay.
#[derive(Clone, Copy, Debug)]
pub struct Moment {
    /// In seconds of the trace.
    pub time_s: f64,
    /// Pressure height, m.
    pub altitude_m: f64,
    /// True airspeed, m/s.
    pub tas_mps: Option<f64>,
    /// Where it is.
    pub position: Option<Position>,
    /// Whether an engine runs.
    pub engine: Option<bool>,
}

/// The moments so far, of the present segment.
#[derive(Clone, Debug, Default)]
pub struct SoFar {
    moments: Vec<Moment>,
    /// The last, where it was passed over.
    last: Option<Moment>,
    done: Vec<Flown>,
}

/// The heights of a segment and the end of its launch.
#[derive(Clone, Debug)]
pub struct Flown {
    times_s: Vec<f64>,
    heights_m: Vec<f64>,
    /// When the launch begins and ends: no end where it is not known.
    launch: Option<(f64, Option<f64>)>,
}

impl SoFar {
    /// Takes a moment.
    pub fn take(&mut self, moment: Moment) {
        let before = self.last.as_ref().or(self.moments.last());
        let Some(before_s) = before.map(|before| before.time_s) else {
            self.moments.push(moment);
            return;
        };
        let step_s = moment.time_s - before_s;
        if step_s < 0.0 || step_s * 1e6 > LONGEST_GAP.0 as f64 {
            self.end();
        }
        let is_due = |last: &Moment| moment.time_s - last.time_s >= STEP_S;
        if self.moments.last().is_none_or(is_due) {
            self.moments.push(moment);
            self.last = None;
        } else {
            self.last = Some(moment);
        }
    }

    /// The segment is over.
    fn end(&mut self) {
        self.moments.extend(self.last.take());
        let moments = std::mem::take(&mut self.moments);
        // Two samples at one time are none.
        if moments.len() >= 2 && moments[0].time_s < moments[moments.len() - 1].time_s {
            self.done.push(Flown::of(&moments));
        }
    }

    /// What was flown, segment by segment.
    pub fn finish(&mut self) -> Vec<Flown> {
        self.end();
        std::mem::take(&mut self.done)
    }
}

impl Flown {
    fn of(moments: &[Moment]) -> Self {
        let of = |value: fn(&Moment) -> f64| moments.iter().map(value).collect();
        let mut speeds = Filled::default();
        moments.iter().for_each(|moment| speeds.take(moment.tas_mps, moments.len()));
        let track = Track {
            times_s: of(|moment| moment.time_s),
            altitude_m: of(|moment| moment.altitude_m),
            speed_mps: speeds.finish(),
            ..Track::default()
        };
        let mut recording = Recording::default();
        recording.positions = moments.iter().map(|moment| moment.position).collect();
        if moments.iter().any(|moment| moment.engine.is_some()) {
            let runs = moments.iter().map(|moment| moment.engine.unwrap_or(false));
            recording.engine = runs.collect();
        }
        let flight = Flight::of(&recording, &track);
        Self {
            launch: flight.launch.and(flight.take_off_s).map(|from_s| (from_s, flight.release_s)),
            times_s: track.times_s,
            heights_m: track.altitude_m,
        }
    }

    /// Whether it has the time.
    pub fn has(&self, time_s: f64) -> bool {
        let last_s = self.times_s[self.times_s.len() - 1];
        (self.times_s[0]..=last_s).contains(&time_s)
    }

    /// The height at `time_s`, interpolated; at the ends that of the end.
    fn height_m(&self, time_s: f64) -> f64 {
        let last = self.times_s.len() - 1;
        let after = self.times_s.partition_point(|time| *time < time_s).clamp(1, last);
        let (from_s, to_s) = (self.times_s[after - 1], self.times_s[after]);
        let share = ((time_s - from_s) / (to_s - from_s)).clamp(0.0, 1.0);
        let (from_m, to_m) = (self.heights_m[after - 1], self.heights_m[after]);
        from_m + share * (to_m - from_m)
    }

    /// When a climb from `from_s` to `to_s` begins after the launch, and what height it gains from
    /// there; `None` where it is of the launch.
    pub fn gain(&self, from_s: f64, to_s: f64) -> Option<(f64, f64)> {
        let from_s = match self.launch {
            Some((launch_s, None)) if to_s > launch_s => return None,
            Some((launch_s, Some(release_s))) if to_s > launch_s && from_s < release_s => {
                if to_s < release_s + ENDS_WITHIN_S {
                    return None;
                }
                release_s
            }
            _ => from_s,
        };
        let gain_m = self.height_m(to_s) - self.height_m(from_s);
        (to_s > from_s && gain_m > 0.0).then_some((from_s, gain_m))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// A winch launch of 360 m from 60 to 90 s, level for a minute, 120 m up until 210 s.
    fn height_m(t: f64) -> f64 {
        12.0 * (t - 60.0).clamp(0.0, 30.0) + 2.0 * (t - 150.0).clamp(0.0, 60.0)
    }

    fn flown(times_s: impl Iterator<Item = f64>) -> Vec<Flown> {
        let mut so_far = SoFar::default();
        for time_s in times_s {
            let altitude_m = height_m(time_s % 10_000.0);
            so_far.take(Moment { time_s, altitude_m, tas_mps: None, position: None, engine: None });
        }
        so_far.finish()
    }

    #[test]
    fn a_climb_counts_from_the_release_in_plain_height() {
        let flown = &flown((0..6_000).map(|step| 0.05 * f64::from(step)))[0];
        assert_eq!(flown.gain(58.0, 88.0), None, "of the launch");
        assert_eq!(flown.gain(58.0, 96.0), None, "of the launch and what follows it");
        let (from_s, gain_m) = flown.gain(58.0, 210.0).expect("it goes on after the launch");
        assert!((88.0..95.0).contains(&from_s), "{from_s}");
        assert_abs_diff_eq!(gain_m, 120.0, epsilon = 5.0);
        assert_abs_diff_eq!(flown.gain(150.0, 210.0).expect("a climb").1, 120.0, epsilon = 1.0);
    }

    #[test]
    fn a_long_gap_and_a_clock_set_back_begin_a_new_segment() {
        let day = |from_s: f64| (0..300).map(move |second| from_s + f64::from(second));
        let flown = flown(day(0.0).chain(day(1e9)).chain(day(20_000.0)));
        assert_eq!(flown.len(), 3);
        assert!(flown[1].has(1e9 + 100.0) && !flown[0].has(1e9 + 100.0));
    }
}
