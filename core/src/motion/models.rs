//! Two Kalman filters in parallel, one for steady air and one for changing air, weighted by how
//! well each predicts the measured heights (an interacting multiple model).
//!
//! Both estimate height and vertical speed, and model the vertical speed as driven by white
//! acceleration noise: the quiet filter with a density that gives the set response time, the agile
//! one with 0.3 m2/s3 or more. One cycle, for a time step dt:
//!
//! ```text
//! share       c_j = sum_i p_ij mu_i          p_ij: chance that the air changes from i to j in dt
//! mix         the states that j starts from, weighted p_ij mu_i / c_j, plus their spread
//! predict     h + v dt, and its covariance with Q = q [dt^3/3 dt^2/2; dt^2/2 dt]
//! correct     by the error e of the prediction, S = P11 + sigma^2
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

/// How fast the vertical speed of changing air changes: 0.55 m/s per square root of a second. Found
/// by measuring: with 0.3 the lag at the edge of a thermal is a third of the best fixed filter's or
/// less; larger values gain little and let more noise through.
const AGILE_M2PS3: f32 = 0.3;
/// The density of the agile filter is at least this many times that of the quiet one.
const LEAST_CONTRAST: f32 = 4.0;
/// Changes of the air per second. Found by measuring: from 0.02 downward, still air becomes quieter
/// at almost no cost in lag; below this value little is gained.
const CHANGES_PER_S: f32 = 0.005;
/// Rate at which a change ends, per second: it lasts 3 s (also measured; longer lets spikes
/// through, shorter is overconfident in turbulence).
const ENDS_PER_S: f32 = 0.3;
/// An error above three deviations is counted as three when deciding which filter is right.
const MOST_RELATIVE_ERROR: f32 = 9.0;
/// The agile filter's density grows while its squared errors average more than this many variances,
/// within about this time, up to this factor; it falls back as quickly. Found by measuring on a
/// small aircraft in rough air (tests/real_flights.rs): a quarter less error there, and no loss
/// elsewhere.
const EXPECTED_RELATIVE_ERROR: f32 = 1.1;
const TELLING_S: f32 = 0.4;
const MOST_VIOLENT: f32 = 100.0;
/// Standard deviation of the vertical speed at the start: wide enough for any glider.
const START_VARIANCE_M2PS2: f32 = 100.0;

/// One filter: its state and covariance.
#[derive(Clone, Copy, Debug, Default)]
struct Track {
    height_m: f32,
    velocity_mps: f32,
    p11: f32,
    p12: f32,
    p22: f32,
}

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

/// The pair's prediction of the next height.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Forecast {
    quiet: Track,
    agile: Track,
    agile_share: f32,
    variance_m2: f32,
    violence: f32,
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
    /// The state with one height known, of standard deviation `sigma_m`.
    pub(crate) fn start(height_m: f32, sigma_m: f32) -> Self {
        let track = Track {
            height_m,
            p11: sigma_m * sigma_m,
            p22: START_VARIANCE_M2PS2,
            ..Track::default()
        };
        Self { quiet: track, agile: track, agile_share: 0.5, violence: 1.0 }
    }

    /// The prediction `dt_s` later by filters of density `quiet_m2ps3` and at least four times
    /// that.
    pub(crate) fn forecast(&self, dt_s: f32, quiet_m2ps3: f32, sigma_m: f32) -> Forecast {
        let begins = -libm::expm1f(-CHANGES_PER_S * dt_s);
        let ends = -libm::expm1f(-ENDS_PER_S * dt_s);
        let (quiet, agile) = (1.0 - self.agile_share, self.agile_share);
        let agile_share = share(quiet * begins + agile * (1.0 - ends));
        let quiet_from_agile = agile * ends / (1.0 - agile_share);
        let agile_from_agile = agile * (1.0 - ends) / agile_share;
        let agile_m2ps3 = LEAST_CONTRAST * quiet_m2ps3;
        let violent_m2ps3 = AGILE_M2PS3 * self.violence;
        let agile_m2ps3 = if agile_m2ps3 > violent_m2ps3 { agile_m2ps3 } else { violent_m2ps3 };
        let quiet = mix(&self.quiet, &self.agile, quiet_from_agile).predict(dt_s, quiet_m2ps3);
        let agile = mix(&self.quiet, &self.agile, agile_from_agile).predict(dt_s, agile_m2ps3);
        Forecast {
            quiet,
            agile,
            agile_share,
            variance_m2: sigma_m * sigma_m,
            violence: self.violence,
            dt_s,
        }
    }

    /// The weighted result of both.
    pub(crate) fn mixed(&self) -> Mixed {
        let Track { height_m, velocity_mps, p22, .. } =
            mix(&self.quiet, &self.agile, self.agile_share);
        Mixed { height_m, velocity_mps, variance_m2ps2: p22 }
    }

    /// Measures heights from a new origin, `by_m` higher.
    pub(crate) fn shift(&mut self, by_m: f32) {
        self.quiet.height_m -= by_m;
        self.agile.height_m -= by_m;
    }
}

impl Forecast {
    /// Error of `measured_m` against the agile filter's prediction: (the error, its standard
    /// deviation).
    pub(crate) fn error_of(&self, measured_m: f32) -> (f32, f32) {
        (measured_m - self.agile.height_m, libm::sqrtf(self.agile.p11 + self.variance_m2))
    }

    /// The pair after a rejected height: the prediction unchanged.
    pub(crate) fn unconfirmed(self) -> ModelsState {
        ModelsState {
            quiet: self.quiet,
            agile: self.agile,
            agile_share: self.agile_share,
            violence: self.violence,
        }
    }

    /// The prediction after a confirmed change that makes the height wrong by `error_m` now: a step
    /// in the height itself, a change of vertical speed `before_s` ago by `most_mps` at most, or
    /// both. The agile filter gets a larger variance and more weight.
    pub(crate) fn widen(mut self, error_m: f32, before_s: f32, most_mps: f32) -> Self {
        let change_mps = limited(error_m / before_s, most_mps);
        let climbed_m = change_mps * before_s;
        self.agile.p11 += error_m * error_m + climbed_m * climbed_m;
        self.agile.p12 += climbed_m * change_mps;
        self.agile.p22 += change_mps * change_mps;
        self.agile_share = 0.9;
        self
    }

    /// The pair after `measured_m`, which may change the vertical speed by no more than `most_mps`:
    /// anything more, which no glider can do, is taken as a step of the height.
    pub(crate) fn correct(self, measured_m: f32, most_mps: f32) -> ModelsState {
        let (quiet, log_quiet) = self.quiet.correct(measured_m, self.variance_m2, most_mps);
        let (agile, log_agile) = self.agile.correct(measured_m, self.variance_m2, most_mps);
        let agile_share = self.agile_share;
        // Only the ratio of the likelihoods matters, and as a difference of logarithms it cannot
        // overflow on both sides.
        let odds = (1.0 - agile_share) * libm::expf((log_quiet - log_agile).clamp(-80.0, 80.0));
        let agile_share = share(agile_share / (agile_share + odds));
        ModelsState {
            quiet,
            agile,
            agile_share,
            violence: self.violence_after(agile_share, measured_m),
        }
    }

    /// The agile filter's prediction, compared with the measurement.
    fn violence_after(&self, agile_share: f32, measured_m: f32) -> f32 {
        let relative = self.agile.relative_error(measured_m, self.variance_m2);
        let pace = self.dt_s / (self.dt_s + TELLING_S);
        (self.violence * (1.0 + pace * (agile_share * relative - EXPECTED_RELATIVE_ERROR)))
            .clamp(1.0, MOST_VIOLENT)
    }
}

impl Track {
    /// Squared error over its variance, limited as above.
    fn relative_error(&self, measured_m: f32, variance_m2: f32) -> f32 {
        let error_m = measured_m - self.height_m;
        let relative = error_m * error_m / (self.p11 + variance_m2);
        if relative > MOST_RELATIVE_ERROR { MOST_RELATIVE_ERROR } else { relative }
    }

    fn predict(self, dt_s: f32, density_m2ps3: f32) -> Self {
        let Self { height_m, velocity_mps, p11, p12, p22 } = self;
        let spread = density_m2ps3 * dt_s;
        Self {
            height_m: height_m + velocity_mps * dt_s,
            velocity_mps,
            p11: p11 + dt_s * (2.0 * p12 + dt_s * (p22 + spread / 3.0)),
            p12: p12 + dt_s * (p22 + spread / 2.0),
            p22: p22 + spread,
        }
    }

    /// The filter after `measured_m`, and the logarithm of the likelihood of that measurement.
    fn correct(self, measured_m: f32, variance_m2: f32, most_mps: f32) -> (Self, f32) {
        let Self { height_m, velocity_mps, p11, p12, p22 } = self;
        let expected_m2 = p11 + variance_m2;
        let error_m = measured_m - height_m;
        let (k1, k2) = (p11 / expected_m2, p12 / expected_m2);
        // variance k1 = p11 - k1 p11, in a form without cancellation.
        let (q11, q12) = (variance_m2 * k1, variance_m2 * k2);
        let q22 = p22 - k2 * p12;
        // This one may cancel; the part shared by height and vertical speed is its lower limit.
        let shared = if q11 > 0.0 { q12 * q12 / q11 } else { 0.0 };
        let corrected = Self {
            height_m: height_m + k1 * error_m,
            velocity_mps: velocity_mps + limited(k2 * error_m, most_mps),
            p11: q11,
            p12: q12,
            p22: if q22 > shared { q22 } else { shared },
        };
        let relative = self.relative_error(measured_m, variance_m2);
        (corrected, -0.5 * (relative + libm::logf(expected_m2)))
    }
}

/// Steady variance of the agile filter's vertical speed: sqrt(2) w0^3 r with w0 = (q / r)^(1/4), r
/// = sigma^2 dt.
pub(crate) fn agile_variance_m2ps2(dt_s: f32, sigma_m: f32) -> f32 {
    let r = sigma_m * sigma_m * dt_s;
    let w0 = libm::sqrtf(libm::sqrtf(AGILE_M2PS3 / r));
    core::f32::consts::SQRT_2 * w0 * w0 * w0 * r
}

/// A probability kept away from 0 and 1, so that either filter can recover.
fn share(probability: f32) -> f32 {
    probability.clamp(1e-6, 1.0 - 1e-6)
}

/// `value` limited to `-most..=most`; a copy of the one in [`crate::units`], which the estimator's
/// parts do not use.
fn limited(value: f32, most: f32) -> f32 {
    if value > most {
        most
    } else if value < -most {
        -most
    } else {
        value
    }
}

/// The two combined: weighted means, and covariance including the spread between them.
fn mix(quiet: &Track, agile: &Track, agile_share: f32) -> Track {
    let blend = |quiet: f32, agile: f32| quiet + agile_share * (agile - quiet);
    let spread = agile_share * (1.0 - agile_share);
    let (dh, dv) = (agile.height_m - quiet.height_m, agile.velocity_mps - quiet.velocity_mps);
    Track {
        height_m: blend(quiet.height_m, agile.height_m),
        velocity_mps: blend(quiet.velocity_mps, agile.velocity_mps),
        p11: blend(quiet.p11, agile.p11) + spread * dh * dh,
        p12: blend(quiet.p12, agile.p12) + spread * dh * dv,
        p22: blend(quiet.p22, agile.p22) + spread * dv * dv,
    }
}
