//! Steps of the measured height that no glider flies, taken off the heights: a sensor that jumps
//! by 340 m and stays there is no launch and no gain.
//!
//! ```text
//! flyable     a change from the sample before, against the line through the three samples before
//!             it, of at most 40 m/s over the interval and the sensor's noise
//! step        a change that is not flyable from the line before it nor from the line through the
//!             three samples after it, in the same direction, where these three lie together; so a
//!             launch or a dive, which the samples after it carry on, stays as it is
//! wrong       a sample after such a change that the next two do not follow, or before three lie
//!             together for the first time; its height is taken from the samples beside it
//! gap         after more than 10 s everything is flyable: the glider may have climbed
//! noise       five times what half of all samples are off from going on as the two before them,
//!             5 m at least: no noise and no coarse resolution is a step
//! ```
//!
//! A winch gives up to 30 m/s between samples, and a dive at the limit of speed some 40 m/s
//! (common practice, no source), so no interval gains more than that; the other figures are
//! guesses. A dive of up to 80 m/s is flyable once it is in the line. A step goes off the heights
//! after it: which side of it was right, the pressure alone does not show.

use crate::recording::series::median;
use crate::recording::track::Track;
use serde::Serialize;

const FLYABLE_MPS: f64 = 40.0;
const GAP_S: f64 = 10.0;
const NOISE_M: f64 = 5.0;
const NOISE_BENDS: f64 = 5.0;
/// With fewer bends than this their median says nothing about noise.
const FEW_BENDS: usize = 20;
/// As many samples make a line, and lie together after a step.
const TOGETHER: usize = 3;
/// Steps that are listed one by one.
const MOST_STEPS: usize = 20;

/// What was taken off a recording's heights.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Steps {
    /// Steps in all.
    pub count: usize,
    /// The first of them.
    pub first: Vec<Step>,
    /// Samples whose height was taken from the samples beside them.
    pub wrong_samples: usize,
}

/// A step of the measured height.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Step {
    /// Time of the first sample after it.
    pub at_s: f64,
    /// How far it went up, in metres.
    pub size_m: f64,
}

impl Steps {
    /// `track` without the steps of its pressure altitudes and without its wrong samples, and what
    /// they were. Where no three samples lie together, nothing is changed.
    pub fn off(mut track: Track) -> (Track, Self) {
        let heights = Heights::of(&track.times_s, &track.altitude_m);
        let mut steps = Self::default();
        let Some(start) = (0..track.times_s.len()).find(|&place| heights.lie_together(place))
        else {
            return (track, steps);
        };
        let mut taken_m = 0.0;
        // Place and height of the samples that are believed; those since the last gap make a line.
        let mut believed = vec![(start, track.altitude_m[start])];
        let mut line_from = 0;
        for place in start + 1..track.times_s.len() {
            let line = &believed[line_from.max(believed.len().saturating_sub(TOGETHER))..];
            match heights.change(line, place, taken_m) {
                Change::Flown => {}
                Change::Gap => line_from = believed.len(),
                Change::Wrong => continue,
                Change::Step(size_m) => {
                    taken_m += size_m;
                    steps.add(Step { at_s: track.times_s[place], size_m });
                }
            }
            believed.push((place, track.altitude_m[place] - taken_m));
        }
        steps.wrong_samples = track.times_s.len() - believed.len();
        track.altitude_m = filled(&track.times_s, &believed);
        (track, steps)
    }

    fn add(&mut self, step: Step) {
        self.count += 1;
        if self.first.len() < MOST_STEPS {
            self.first.push(step);
        }
    }
}

/// What the height does from the last believed sample to the next one.
enum Change {
    Flown,
    Gap,
    Wrong,
    Step(f64),
}

/// Heights as they were measured.
struct Heights<'a> {
    times_s: &'a [f64],
    measured_m: &'a [f64],
    noise_m: f64,
}

impl<'a> Heights<'a> {
    fn of(times_s: &'a [f64], measured_m: &'a [f64]) -> Self {
        let bends: Vec<f64> = measured_m
            .windows(3)
            .map(|of| (of[2] - 2.0 * of[1] + of[0]).abs())
            .filter(|bend| *bend > 0.0)
            .collect();
        let usual_m = if bends.len() < FEW_BENDS { 0.0 } else { median(&bends).unwrap_or(0.0) };
        Self { times_s, measured_m, noise_m: NOISE_M.max(NOISE_BENDS * usual_m) }
    }

    /// The change to the sample at `place` from the last of `line`: places and heights without
    /// the `taken_m` of the steps before.
    fn change(&self, line: &[(usize, f64)], place: usize, taken_m: f64) -> Change {
        let (last, height_m) = line[line.len() - 1];
        let lasts_s = self.times_s[place] - self.times_s[last];
        if lasts_s > GAP_S {
            return Change::Gap;
        }
        let jump_m = self.measured_m[place] - taken_m - height_m;
        let carried_m = |speed_mps: f64| speed_mps.clamp(-FLYABLE_MPS, FLYABLE_MPS) * lasts_s;
        let before_m = carried_m(self.speed(line[0], (last, height_m)));
        if (jump_m - before_m).abs() <= self.flyable_m(lasts_s) {
            return Change::Flown;
        }
        if !self.lie_together(place) {
            return Change::Wrong;
        }
        let end = place + TOGETHER - 1;
        let after_m =
            carried_m(self.speed((place, self.measured_m[place]), (end, self.measured_m[end])));
        let is_one_way = (jump_m - before_m) * (jump_m - after_m) > 0.0;
        if is_one_way && (jump_m - after_m).abs() > self.flyable_m(lasts_s) {
            Change::Step(jump_m - 0.5 * (before_m + after_m))
        } else {
            Change::Flown
        }
    }

    fn flyable_m(&self, lasts_s: f64) -> f64 {
        FLYABLE_MPS * lasts_s + self.noise_m
    }

    /// Whether the sample at `place` and those after it are a glider's, one after another.
    fn lie_together(&self, place: usize) -> bool {
        let end = place + TOGETHER;
        end <= self.times_s.len()
            && (place + 1..end).all(|next| {
                let lasts_s = self.times_s[next] - self.times_s[next - 1];
                let change_m = self.measured_m[next] - self.measured_m[next - 1];
                lasts_s > GAP_S || change_m.abs() <= self.flyable_m(lasts_s)
            })
    }

    /// Vertical speed between two places with their heights; zero for one and the same.
    fn speed(&self, (from, from_m): (usize, f64), (to, to_m): (usize, f64)) -> f64 {
        if to == from {
            return 0.0;
        }
        (to_m - from_m) / (self.times_s[to] - self.times_s[from])
    }
}

/// The believed heights, with those between them interpolated and those outside held.
fn filled(times_s: &[f64], believed: &[(usize, f64)]) -> Vec<f64> {
    let mut heights_m = vec![believed[0].1; believed[0].0];
    for pair in believed.windows(2) {
        let [(from, from_m), (to, to_m)] = [pair[0], pair[1]];
        let slope = (to_m - from_m) / (times_s[to] - times_s[from]);
        heights_m.push(from_m);
        heights_m.extend(
            times_s[from + 1..to].iter().map(|time_s| from_m + slope * (time_s - times_s[from])),
        );
    }
    heights_m.resize(times_s.len(), believed[believed.len() - 1].1);
    heights_m
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn track(interval_s: f64, count: u32, height: impl Fn(f64) -> f64) -> Track {
        let times_s: Vec<f64> = (0..count).map(|k| f64::from(k) * interval_s).collect();
        let altitude_m = times_s.iter().map(|time| height(*time)).collect();
        Track { times_s, altitude_m, ..Track::default() }
    }

    /// A glide with a slow wave in it and 0.3 m of what looks like noise.
    fn glide(t: f64) -> f64 {
        1500.0 - 0.7 * t + 5.0 * (0.3 * t).sin() + 0.3 * (1e4 * t).sin()
    }

    fn is_left_alone(track: Track) -> bool {
        let before = track.altitude_m.clone();
        let (after, steps) = Steps::off(track);
        steps == Steps::default() && after.altitude_m == before
    }

    #[test]
    fn a_step_of_either_sign_is_taken_off_at_every_rate() {
        for interval_s in [0.02, 0.25, 1.0, 4.0] {
            for size_m in [340.0, -340.0, 1100.0] {
                let stepped = |t: f64| glide(t) + if t >= 100.0 { size_m } else { 0.0 };
                let of = track(interval_s, (240.0 / interval_s) as u32, stepped);
                let (track, steps) = Steps::off(of);
                assert_eq!((steps.count, steps.wrong_samples), (1, 0), "{interval_s} s");
                assert_abs_diff_eq!(steps.first[0].at_s, 100.0, epsilon = 1e-6);
                assert_abs_diff_eq!(steps.first[0].size_m, size_m, epsilon = 6.0);
                for (time, height) in track.times_s.iter().zip(&track.altitude_m) {
                    assert_abs_diff_eq!(*height, glide(*time), epsilon = 6.0);
                }
            }
        }
    }

    #[test]
    fn a_step_that_goes_back_and_one_that_follows_at_once_leave_nothing() {
        let stepped = |t: f64| {
            glide(t)
                + if (60.0..64.0).contains(&t) { 200.0 } else { 0.0 }
                + if t >= 100.0 { 300.0 } else { 0.0 }
                + if t >= 103.0 { 300.0 } else { 0.0 }
        };
        let (track, steps) = Steps::off(track(1.0, 240, stepped));
        assert_eq!(steps.count, 4);
        for (time, height) in track.times_s.iter().zip(&track.altitude_m) {
            assert_abs_diff_eq!(*height, glide(*time), epsilon = 10.0);
        }
    }

    #[test]
    fn wrong_samples_and_a_bad_start_are_undone_and_are_no_steps() {
        for interval_s in [0.02, 1.0, 4.0] {
            let mut track = track(interval_s, 200, glide);
            for place in [0, 1, 50, 80, 81, 199] {
                track.altitude_m[place] -= 600.0;
            }
            let (track, steps) = Steps::off(track);
            assert_eq!((steps.count, steps.wrong_samples), (0, 6), "{interval_s} s");
            for (time, height) in track.times_s.iter().zip(&track.altitude_m) {
                assert_abs_diff_eq!(*height, glide(*time), epsilon = 15.0);
            }
        }
    }

    #[test]
    fn launches_dives_gaps_and_coarse_heights_are_left_alone() {
        let winch = |t: f64| 200.0 + 28.0 * (t - 60.0).clamp(0.0, 20.0);
        // From level into a dive of so many m/s within 6 s, and out of it.
        let dive = |most_mps: f64, t: f64| {
            let s = (t - 50.0).clamp(0.0, 12.0);
            let rate = std::f64::consts::PI / 6.0;
            3000.0 - 0.7 * t - 0.5 * most_mps * (s - (rate * s).sin() / rate)
        };
        for interval_s in [1.0, 2.0, 4.0] {
            assert!(is_left_alone(track(interval_s, 100, winch)), "winch, {interval_s} s");
            // The mean over 4 s is what such a log shows.
            let most_mps = if interval_s > 2.0 { 45.0 } else { 60.0 };
            let dives = track(interval_s, 100, |t| dive(most_mps, t));
            assert!(is_left_alone(dives), "dive, {interval_s} s");
        }
        let coarse = |t: f64| (glide(t) / 10.0).round() * 10.0;
        assert!(is_left_alone(track(0.05, 4000, coarse)), "in steps of 10 m");
        let mut gap = track(1.0, 100, glide);
        for place in 50..100 {
            gap.times_s[place] += 120.0;
            gap.altitude_m[place] += 900.0;
        }
        assert!(is_left_alone(gap), "900 m in two minutes without a sample");
        assert!(is_left_alone(track(1.0, 2, |t| 900.0 * t)), "two samples");
    }
}
