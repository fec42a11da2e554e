//! What plain means miss of a body that turns to and fro within a frame, against closed forms.
//!
//! ```text
//! coning     turn rate (a cos wt, a sin wt, 0); the attitude is exactly
//!            exp(t [a, 0, w]) Rz(-w t)
//! sculling   pitch p sin wt and a force f sin wt forward; the mean of its vertical part is exactly
//!            -f J1(p), J1 being Bessel's function
//! ```
//!
//! Sources: the attitude by seeing the turn from axes that rotate with it, where it is constant;
//! J1 by its integral, Abramowitz and Stegun 9.1.20 (from memory).

use super::average::Averaged;
use chirrup_sensors::inertial::batch::Scale;
use chirrup_sensors::inertial::icm42688;
use chirrup_sensors::inertial::sums::Sums;
use core::f64::consts::TAU;
use std::vec::Vec;

const FRAME_S: f64 = 0.02;
const READINGS: usize = 4;

/// Frequency, amplitude in degrees, acceleration in m/s2: to and fro with the stick, a Dutch roll,
/// a wing that bends, an engine.
const MOTIONS: [(f64, f64, f64); 5] =
    [(0.5, 15.0, 3.0), (1.0, 5.0, 3.0), (2.0, 2.0, 5.0), (5.0, 0.3, 5.0), (15.0, 0.05, 10.0)];

type Quaternion = [f64; 4];

fn product(a: Quaternion, b: Quaternion) -> Quaternion {
    let [aw, ax, ay, az] = a;
    let [bw, bx, by, bz] = b;
    [
        aw * bw - ax * bx - ay * by - az * bz,
        aw * bx + ax * bw + ay * bz - az * by,
        aw * by - ax * bz + ay * bw + az * bx,
        aw * bz + ax * by - ay * bx + az * bw,
    ]
}

/// The turn by a rotation vector.
fn turned(vector: [f64; 3]) -> Quaternion {
    let angle = vector.iter().map(|axis| axis * axis).sum::<f64>().sqrt();
    let share = if angle > 0.0 { (angle / 2.0).sin() / angle } else { 0.5 };
    let [x, y, z] = vector.map(|axis| axis * share);
    [(angle / 2.0).cos(), x, y, z]
}

/// The angle between two attitudes.
fn between(a: Quaternion, [w, x, y, z]: Quaternion) -> f64 {
    let [_, x, y, z] = product(a, [w, -x, -y, -z]);
    2.0 * (x * x + y * y + z * z).sqrt().asin()
}

/// Readings in the middle of each quarter of a frame, in counts, as the sensor rounds them.
fn averaged(frame: usize, felt: impl Fn(f64) -> ([f64; 3], [f64; 3])) -> Averaged {
    let scale: Scale = icm42688::CHIP.scale;
    let per_force = 1e4 * f64::from(1 << 26) / f64::from(scale.force);
    let per_turn = 1e5 * f64::from(1 << 26) / f64::from(scale.turn);
    let (mut force, mut turn) = (Sums::default(), Sums::default());
    for reading in 0..READINGS {
        let at = FRAME_S * (frame as f64 + (reading as f64 + 0.5) / READINGS as f64);
        let (forces, turns) = felt(at);
        force.add(forces.map(|axis| (axis * per_force).round() as i16));
        turn.add(turns.map(|axis| (axis * per_turn).round() as i16));
    }
    Averaged::of(&force, &turn, scale).expect("there are readings")
}

#[test]
fn what_coning_adds_within_a_frame_is_below_any_gyros_own_drift() {
    let seconds = 20;
    let worst: Vec<f64> = MOTIONS
        .iter()
        .map(|(hz, degrees, _)| {
            let w = TAU * hz;
            let a = degrees.to_radians() * w;
            let mut attitude = [1.0, 0.0, 0.0, 0.0];
            for frame in 0..50 * seconds {
                let mean =
                    averaged(frame, |t| ([0.0; 3], [a * (w * t).cos(), a * (w * t).sin(), 0.0]));
                let by = mean.turn.map(|steps| f64::from(steps) / 100_000.0 * FRAME_S);
                attitude = product(attitude, turned(by));
            }
            let t = seconds as f64;
            let exact = product(turned([a * t, 0.0, w * t]), turned([0.0, 0.0, -w * t]));
            (between(attitude, exact) / t).to_degrees()
        })
        .collect();
    assert!(worst.iter().all(|drift| *drift < 0.006), "degrees a second: {worst:?}");
    // It is measured, not rounding: what is missed is the most of it where it is largest.
    assert!(worst.iter().any(|drift| *drift > 0.003), "degrees a second: {worst:?}");
}

#[test]
fn what_sculling_adds_within_a_frame_is_below_any_accelerometers_own_error() {
    for (hz, degrees, f) in MOTIONS {
        let (w, p) = (TAU * hz, f64::to_radians(degrees));
        let frames = (50.0 * 20.0 / hz) as usize;
        let mean = (0..frames).map(|frame| {
            let mean = averaged(frame, |t| {
                ([f * (w * t).sin(), 0.0, 0.0], [0.0, p * w * (w * t).cos(), 0.0])
            });
            // The filter's attitude in the middle of the frame.
            let middle = p * (w * FRAME_S * (frame as f64 + 0.5)).sin();
            -f64::from(mean.force[0]) / 10_000.0 * middle.sin()
        });
        let found = mean.sum::<f64>() / frames as f64;
        let exact = -f * (p / 2.0 - p.powi(3) / 16.0 + p.powi(5) / 384.0);
        assert!((found - exact).abs() < 0.0015, "{hz} Hz: {found} and {exact} m/s2");
    }
}
