//! One Kalman filter of height and vertical speed, whose height itself may wander.
//!
//! ```text
//! h' = v + white noise of density r        v' = white noise of density q        z = h + noise
//!
//! predict     h + v dt            P11 + 2 dt P12 + dt^2 P22 + q dt^3 / 3 + r dt
//!             v                   P12 + dt P22 + q dt^2 / 2,   P22 + q dt
//! correct     by the error e of the prediction, S = P11 + R
//! ```
//!
//! The wandering height is what a horizontal gust does to the energy height: it steps up by V u / g
//! when the gust `u` arrives at the pitot, and the glider has gained nothing. With r = 0 this is
//! the ordinary filter of a climb that varies.

use crate::units::{larger, smaller};

/// An error above three deviations counts as three where filters are compared.
pub(super) const MOST_RELATIVE_ERROR: f32 = 9.0;

/// The state and its covariance, upper triangle.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Track {
    pub(super) height_m: f32,
    pub(super) velocity_mps: f32,
    pub(super) p11: f32,
    pub(super) p12: f32,
    pub(super) p22: f32,
}

/// What happens to the state in a time step.
#[derive(Clone, Copy, Debug)]
pub(super) struct Process {
    /// Density of the acceleration, m2/s3.
    pub(super) acceleration_m2ps3: f32,
    /// Density of the height's own walk, m2/s.
    pub(super) walk_m2ps: f32,
}

impl Track {
    /// The state `dt_s` later.
    pub(super) fn predict(self, dt_s: f32, process: Process) -> Self {
        let Self { height_m, velocity_mps, p11, p12, p22 } = self;
        let spread = process.acceleration_m2ps3 * dt_s;
        Self {
            height_m: height_m + velocity_mps * dt_s,
            velocity_mps,
            p11: p11 + dt_s * (2.0 * p12 + dt_s * (p22 + spread * (1.0 / 3.0)) + process.walk_m2ps),
            p12: p12 + dt_s * (p22 + 0.5 * spread),
            p22: p22 + spread,
        }
    }

    /// The state corrected by a prediction error of `error_m`, where errors have the variance
    /// `expected_m2` in all and `measured_m2` from the measurement.
    pub(super) fn correct(self, error_m: f32, expected_m2: f32, measured_m2: f32) -> Self {
        let Self { height_m, velocity_mps, p11, p12, p22 } = self;
        let per_m2 = 1.0 / expected_m2;
        let (k1, k2) = (p11 * per_m2, p12 * per_m2);
        // p11 - k1 p11 in a form without cancellation.
        let (q11, q12) = (measured_m2 * k1, measured_m2 * k2);
        let q22 = p22 - k2 * p12;
        // This one may cancel; the part shared by height and vertical speed is its lower limit.
        let shared = if q11 > 0.0 { q12 * q12 / q11 } else { 0.0 };
        Self {
            height_m: height_m + k1 * error_m,
            velocity_mps: velocity_mps + k2 * error_m,
            p11: q11,
            p12: q12,
            p22: larger(q22, shared),
        }
    }
}

/// Both combined: weighted means, and covariance including the spread between them.
pub(super) fn mix(one: &Track, other: &Track, other_share: f32) -> Track {
    let blend = |one: f32, other: f32| one + other_share * (other - one);
    let spread = other_share * (1.0 - other_share);
    let (dh, dv) = (other.height_m - one.height_m, other.velocity_mps - one.velocity_mps);
    Track {
        height_m: blend(one.height_m, other.height_m),
        velocity_mps: blend(one.velocity_mps, other.velocity_mps),
        p11: blend(one.p11, other.p11) + spread * dh * dh,
        p12: blend(one.p12, other.p12) + spread * dh * dv,
        p22: blend(one.p22, other.p22) + spread * dv * dv,
    }
}

/// Squared error over its variance, limited.
pub(super) fn relative_error(error_m: f32, expected_m2: f32) -> f32 {
    smaller(error_m * error_m / expected_m2, MOST_RELATIVE_ERROR)
}
