//! Turning as a gyro feels it, for recordings with an inertial sensor and no positions.
//!
//! In a steady turn all that a gyro feels is the turn about the vertical, whichever way the sensor
//! is mounted. What the force says is down gives its sense. The heading is relative: no direction
//! over the ground is known from it.

use crate::recording::Recording;
use chirrup_core::Inertial;
use std::ops::Range;

/// The turn rate is the mean over as many seconds on both sides: rolling and gusts go out.
const HALF: usize = 1;

/// Relative headings in rad, right turns positive, one a second from `start_s` on; `None` where no
/// sample has the sensor. Empty without one.
pub(super) fn headings(
    recording: &Recording,
    samples: Range<usize>,
    (start_s, seconds): (f64, usize),
) -> Vec<Option<f64>> {
    if !recording.samples.has_inertial() {
        return Vec::new();
    }
    let mut sums = vec![[0.0_f64; 7]; seconds];
    for sample in samples.filter_map(|place| recording.samples.get(place)) {
        let at = (sample.time.0 as f64 * 1e-6 - start_s + 0.5).max(0.0) as usize;
        let felt = sample.usable_inertial().map(felt);
        let (Some(felt), Some(sum)) = (felt, sums.get_mut(at)) else { continue };
        sum.iter_mut().zip(felt).for_each(|(sum, value)| *sum += value);
    }
    let mut heading = 0.0;
    let headings = (0..seconds).map(|second| {
        let near = second.saturating_sub(HALF)..(second + HALF + 1).min(seconds);
        let mut sum = [0.0; 7];
        for one in &sums[near] {
            sum.iter_mut().zip(one).for_each(|(sum, value)| *sum += value);
        }
        (sum[6] > 0.0).then(|| {
            heading += turn_rate(sum.map(|value| value / sum[6]));
            heading
        })
    });
    headings.collect()
}

/// Turn rate and force of a sample, and 1 to count it.
fn felt(inertial: &Inertial) -> [f64; 7] {
    let (turn, force) = (&inertial.turn_rate, &inertial.specific_force);
    let felt = [turn.x.0, turn.y.0, turn.z.0, force.x.0, force.y.0, force.z.0, 1.0];
    felt.map(f64::from)
}

/// About what the force says is down, rad/s.
fn turn_rate([x, y, z, along, across, down, _]: [f64; 7]) -> f64 {
    // At rest the force points up.
    let sense = -(x * along + y * across + z * down).signum();
    sense * (x * x + y * y + z * z).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{Axes, MetrePerSecond2, Micros, Pascal, RadianPerSecond, Sample};

    /// A turn of 0.3 rad/s for a minute, with one turn rate that no gyro can measure.
    fn turn(impossible_radps: f32) -> Recording {
        let mut recording = Recording::default();
        recording.samples.extend((0..600).map(|step: i64| {
            let radps = if step == 300 { impossible_radps } else { 0.3 };
            let [still, z] = [0.0, radps].map(RadianPerSecond);
            let turn_rate = Axes { x: still, y: still, z };
            let [level, z] = [0.0, -10.0].map(MetrePerSecond2);
            let specific_force = Axes { x: level, y: level, z };
            let inertial = Some(Inertial { specific_force, turn_rate, spread: None });
            Sample { inertial, ..Sample::of_static(Micros(100_000 * step), Pascal(90_000.0)) }
        }));
        recording
    }

    #[test]
    fn a_turn_rate_that_no_gyro_measures_turns_nothing() {
        for impossible_radps in [40.0, 1e20, f32::MAX, f32::INFINITY, f32::NAN] {
            let headings = headings(&turn(impossible_radps), 0..600, (0.0, 60));
            let last = headings.last().copied().flatten().expect("the sensor is there");
            assert!((last - 18.0).abs() < 0.1, "{impossible_radps}: {last} rad");
        }
    }
}
