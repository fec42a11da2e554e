//! Two Kalman filters in parallel, one for steady air and one for changing air, weighted by how
//! well each predicts the measured heights (an interacting multiple model).
//!
//! Both are filters of [`crate::motion::track`]: a height that may wander, and a vertical speed
//! driven by white acceleration noise, of low density in the quiet filter and of a higher one in
//! the agile filter. One cycle, for a time step dt:
//!
//! ```text
//! share       c_j = sum_i p_ij mu_i          p_ij: chance that the air changes from i to j in dt
//! mix         the states that j starts from, weighted p_ij mu_i / c_j, plus their spread
//! predict     each by its own process
//! correct     by the error e of the prediction, S = P11 + R
//! weigh       mu_j = c_j exp(-e^2 / 2 S) / sqrt(S), scaled to a sum of one
//! ```
//!
//! Air can be rougher than the edge of a thermal: while the errors of even the agile filter stay
//! larger than expected, its density grows.
//!
//! The reading is the weighted vertical speed; its variance is the weighted covariance plus the
//! spread between the two.
//!
//! Source: Blom and Bar-Shalom 1988, "The interacting multiple model algorithm for systems with
//! Markovian switching coefficients"; the algorithm is theirs, the numbers are ours and given
//! below.

use crate::motion::track::{Process, Track, mix, relative_error};
use crate::units::{larger, limited, smaller};

/// Changes of the air per second. Found by measuring: from 0.02 downward, still air becomes quieter
/// at almost no cost in lag; below this value little is gained.
const CHANGES_PER_S: f32 = 0.0076;
/// Rate at which a change ends, per second: it lasts 2 s (also measured; longer lets spikes
/// through, shorter is overconfident in turbulence).
const ENDS_PER_S: f32 = 0.45;
/// The agile filter's density grows while its squared errors average more than this many variances,
/// within about this time; it falls back as quickly.
const EXPECTED_RELATIVE_ERROR: f32 = 1.05;
const TELLING_S: f32 = 0.4;
/// Density of the acceleration that is enough for a start.
const START_M2PS3: f32 = 0.3;
/// Variance of the vertical speed at the start: wide enough for any glider.
const START_VARIANCE_M2PS2: f32 = 100.0;

/// State of the pair.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct ModelsState {
    quiet: Track,
    agile: Track,
    /// Probability that the air is changing.
    agile_share: f32,
    /// Factor by which the air changes faster than expected.
    violence: f32,
}

/// What the pair expects of the air and of the sensor in the next time step.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Expected {
    /// Density of the acceleration in steady air, m2/s3.
    pub(crate) quiet_m2ps3: f32,
    /// The same in changing air, before it grows with the violence.
    pub(crate) agile_m2ps3: f32,
    /// Density of the height's walk, m2/s.
    pub(crate) walk_m2ps: f32,
    /// Variance of a measured height, m2.
    pub(crate) measured_m2: f32,
    /// How far the agile density may grow.
    pub(crate) most_violent: f32,
}

impl Expected {
    /// Steady variance of the vertical speed in the air of a start, of density 0.3 m2/s3, where the
    /// height does not walk: sqrt(2) w0^3 r with w0 = (q / r)^(1/4), r = R dt.
    pub(crate) fn start_variance_m2ps2(&self, dt_s: f32) -> f32 {
        let r = self.measured_m2 * dt_s;
        let w0 = libm::sqrtf(libm::sqrtf(START_M2PS3 / r));
        core::f32::consts::SQRT_2 * w0 * w0 * w0 * r
    }
}

/// The pair's prediction of the next height.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Forecast {
    state: ModelsState,
    measured_m2: f32,
    most_violent: f32,
    dt_s: f32,
}

/// The pair's result.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Mixed {
    /// Height above the origin of the measurements.
    pub(crate) height_m: f32,
    /// Vertical speed.
    pub(crate) velocity_mps: f32,
    /// Its variance.
    pub(crate) variance_m2ps2: f32,
}

impl ModelsState {
    /// The state with one height known, of variance `measured_m2`.
    pub(crate) fn start(height_m: f32, measured_m2: f32) -> Self {
        let track =
            Track { height_m, p11: measured_m2, p22: START_VARIANCE_M2PS2, ..Track::default() };
        Self { quiet: track, agile: track, agile_share: 0.5, violence: 1.0 }
    }

    /// The prediction `dt_s` later.
    pub(crate) fn forecast(&self, dt_s: f32, expected: &Expected) -> Forecast {
        let (begins, ends) = (within(CHANGES_PER_S * dt_s), within(ENDS_PER_S * dt_s));
        let (quiet, agile) = (1.0 - self.agile_share, self.agile_share);
        let agile_share = share(quiet * begins + agile * (1.0 - ends));
        let quiet_from_agile = agile * ends / (1.0 - agile_share);
        let agile_from_agile = agile * (1.0 - ends) / agile_share;
        let least_m2ps3 = 4.0 * expected.quiet_m2ps3;
        let violent_m2ps3 = expected.agile_m2ps3 * self.violence;
        let agile_m2ps3 = larger(least_m2ps3, violent_m2ps3);
        let process =
            |acceleration_m2ps3: f32| Process { acceleration_m2ps3, walk_m2ps: expected.walk_m2ps };
        Forecast {
            state: ModelsState {
                quiet: mix(&self.quiet, &self.agile, quiet_from_agile)
                    .predict(dt_s, process(expected.quiet_m2ps3)),
                agile: mix(&self.quiet, &self.agile, agile_from_agile)
                    .predict(dt_s, process(agile_m2ps3)),
                agile_share,
                violence: self.violence,
            },
            measured_m2: expected.measured_m2,
            most_violent: expected.most_violent,
            dt_s,
        }
    }

    /// The weighted result of both.
    pub(crate) fn mixed(&self) -> Mixed {
        let Track { height_m, velocity_mps, p22, .. } = self.both();
        Mixed { height_m, velocity_mps, variance_m2ps2: p22 }
    }

    fn both(&self) -> Track {
        mix(&self.quiet, &self.agile, self.agile_share)
    }

    /// Whether either filter's vertical speed is beyond `most_mps`, up or down.
    pub(crate) fn is_faster(&self, most_mps: f32) -> bool {
        [self.quiet, self.agile].iter().any(|track| libm::fabsf(track.velocity_mps) > most_mps)
    }

    /// Measures heights from a new origin, `by_m` higher.
    pub(crate) fn shift(&mut self, by_m: f32) {
        self.quiet.height_m -= by_m;
        self.agile.height_m -= by_m;
    }

    /// Both vertical speeds fade to this share of them.
    pub(super) fn fade(&mut self, share: f32) {
        self.quiet.velocity_mps *= share;
        self.agile.velocity_mps *= share;
    }

    /// The same knowledge of the vertical speed, at the height `height_m`; the agile filter's may
    /// be wrong by `doubt_mps`.
    pub(crate) fn moved_to(mut self, height_m: f32, doubt_mps: f32) -> Self {
        self.quiet.height_m = height_m;
        self.agile.height_m = height_m;
        self.agile.p22 += doubt_mps * doubt_mps;
        self.agile.p12 = 0.0;
        self
    }
}

impl Forecast {
    /// Error of `measured_m` against the agile filter's prediction, and its variance.
    pub(crate) fn agile_error(&self, measured_m: f32) -> (f32, f32) {
        let agile = &self.state.agile;
        (measured_m - agile.height_m, agile.p11 + self.measured_m2)
    }

    /// Error of `measured_m` against the weighted prediction, and its variance.
    pub(crate) fn error(&self, measured_m: f32) -> (f32, f32) {
        let both = self.state.both();
        (measured_m - both.height_m, both.p11 + self.measured_m2)
    }

    /// The pair after a height that was not used: the prediction unchanged.
    pub(crate) fn unconfirmed(self) -> ModelsState {
        self.state
    }

    /// The prediction after a step of the height itself, which has been taken off the measurements:
    /// less sure of the height, and of the vertical speed by `doubt_mps`.
    pub(crate) fn stepped(mut self, doubt_mps: f32) -> Self {
        for track in [&mut self.state.quiet, &mut self.state.agile] {
            track.p11 += self.measured_m2;
            track.p22 += doubt_mps * doubt_mps;
        }
        self
    }

    /// The prediction after a confirmed change that makes the height wrong by `error_m` now: a step
    /// in the height itself, a change of vertical speed `before_s` ago by `most_mps` at most, or
    /// both. The agile filter gets a larger variance and more weight.
    pub(crate) fn widen(mut self, error_m: f32, before_s: f32, most_mps: f32) -> Self {
        let change_mps = limited(error_m / before_s, most_mps);
        let climbed_m = change_mps * before_s;
        self.state.agile.p11 += error_m * error_m + climbed_m * climbed_m;
        self.state.agile.p12 += climbed_m * change_mps;
        self.state.agile.p22 += change_mps * change_mps;
        self.state.agile_share = 0.9;
        self
    }

    /// The pair after `measured_m`.
    pub(crate) fn correct(self, measured_m: f32) -> ModelsState {
        let Self { state: ModelsState { quiet, agile, agile_share, violence }, .. } = self;
        let quiet_m2 = quiet.p11 + self.measured_m2;
        let agile_m2 = agile.p11 + self.measured_m2;
        let (quiet_m, agile_m) = (measured_m - quiet.height_m, measured_m - agile.height_m);
        let quiet_relative = relative_error(quiet_m, quiet_m2);
        let agile_relative = relative_error(agile_m, agile_m2);
        // Only the ratio of the likelihoods matters.
        let odds = (1.0 - agile_share)
            * libm::sqrtf(agile_m2 / quiet_m2)
            * libm::expf(0.5 * (agile_relative - quiet_relative));
        let agile_share = share(agile_share / (agile_share + odds));
        let pace = self.dt_s / (self.dt_s + TELLING_S);
        let surprise = agile_share * agile_relative - EXPECTED_RELATIVE_ERROR;
        ModelsState {
            quiet: quiet.correct(quiet_m, quiet_m2, self.measured_m2),
            agile: agile.correct(agile_m, agile_m2, self.measured_m2),
            agile_share,
            violence: larger(smaller(violence * (1.0 + pace * surprise), self.most_violent), 1.0),
        }
    }
}

/// The probability of an event in a time in which `expected` of them are expected, 1 - exp(-x), by
/// the exponential's first five terms, which cost less than the exponential: within 0.3 % of it up
/// to x = 1 and within 1.2 % beyond.
fn within(expected: f32) -> f32 {
    let most = 0.5 + expected * (1.0 / 6.0 + expected * (1.0 / 24.0));
    let grown = expected * (1.0 + expected * most);
    grown / (1.0 + grown)
}

/// A probability kept away from 0 and 1, so that either filter can recover.
fn share(probability: f32) -> f32 {
    probability.clamp(1e-6, 1.0 - 1e-6)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_probability_of_a_change_is_that_of_the_exponential_law() {
        for step in 1..=3000_u16 {
            let expected = 0.01 * f32::from(step);
            let exact = -libm::expm1(-f64::from(expected));
            let most = if expected <= 1.0 { 0.003 } else { 0.012 };
            assert_relative_eq!(f64::from(within(expected)), exact, max_relative = most);
        }
    }
}
