//! Continuous turbulence with the Dryden spectra of MIL-F-8785C (section 3.7, from memory).
//!
//! One-sided spectra over the spatial frequency Omega in rad/m, each with the variance sigma^2:
//!
//! ```text
//! along          2 sigma^2 L / pi   1 / (1 + (L Omega)^2)
//! across, up       sigma^2 L / pi   (1 + 3 (L Omega)^2) / (1 + (L Omega)^2)^2
//! ```
//!
//! The turbulence is frozen: what lies L ahead is reached after L / V. In units of that time, white
//! noise through 1 / (1 + s) and (1 + sqrt(3) s) / (1 + s)^2 gives these spectra. Both are advanced
//! exactly: the states by the exponential of the system, the noise by the Cholesky factor of its
//! covariance over the step (P - F P F', P the stationary covariance, which is 1/2, 1/4, 1/4 for
//! the two states of the second). So variance and correlation are right at any step.
//!
//! Scales and strengths, h above the ground in feet:
//!
//! ```text
//! up to 1000 ft     L_up = h    L_along = L_across = h / (0.177 + 0.000823 h)^1.2
//!                   sigma_up = 0.1 x wind at 20 ft
//!                   sigma_along = sigma_across = sigma_up / (0.177 + 0.000823 h)^0.4
//! from 2000 ft on   L = 1750 ft    sigma from the scenario
//! between           linear in h
//! ```
//!
//! A scenario may give the horizontal or the vertical gusts a scale and a strength of their own,
//! which then hold at every height.

use super::Wind;
use super::settings::TurbulenceSettings;
use crate::physics::vector::Vector;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

const METRES_PER_FOOT: f64 = 0.3048;
const LOW_FT: f64 = 1000.0;
const HIGH_FT: f64 = 2000.0;
const HIGH_SCALE_M: f64 = 1750.0 * METRES_PER_FOOT;
/// Scale length of gusts that are the same at every height (a guess).
const USUAL_SCALE_M: f64 = 150.0;
/// The law gives no scale at the ground itself.
const LEAST_FT: f64 = 10.0;

/// Scale length and strength of the turbulence along (and across) and up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strength {
    /// Scale along and across, m.
    pub level_scale_m: f64,
    /// Scale upward, m.
    pub up_scale_m: f64,
    /// Strength along and across, m/s rms.
    pub level_mps: f64,
    /// Strength upward, m/s rms.
    pub up_mps: f64,
}

/// Scale length, m, and strength, m/s rms, of a component that is the same at every height.
#[derive(Clone, Copy, Debug)]
struct Everywhere {
    scale_m: f64,
    rms_mps: f64,
}

impl Everywhere {
    fn of(rms_mps: Option<f64>, scale_m: Option<f64>) -> Option<Self> {
        Some(Self { rms_mps: rms_mps?, scale_m: scale_m.unwrap_or(USUAL_SCALE_M) })
    }
}

/// The law by height, and what replaces it.
#[derive(Clone, Copy, Debug)]
pub struct Law {
    high_mps: f64,
    low_mps: f64,
    level: Option<Everywhere>,
    up: Option<Everywhere>,
}

impl Law {
    /// The law of checked settings in the given wind.
    pub fn new(settings: &TurbulenceSettings, wind: &Wind) -> Self {
        let by_wind = || 0.1 * wind.speed(20.0 * METRES_PER_FOOT);
        Self {
            high_mps: settings.rms_mps.unwrap_or(0.0),
            low_mps: settings.rms_mps.map_or(0.0, |_| settings.low_rms_mps.unwrap_or_else(by_wind)),
            level: Everywhere::of(settings.gust_rms_mps, settings.gust_length_m),
            up: Everywhere::of(settings.up_rms_mps, settings.up_length_m),
        }
    }

    /// Scale and strength `above_m` above the ground.
    pub fn at(&self, above_m: f64) -> Strength {
        let mut strength = self.by_height(above_m);
        if let Some(Everywhere { scale_m, rms_mps }) = self.level {
            (strength.level_scale_m, strength.level_mps) = (scale_m, rms_mps);
        }
        if let Some(Everywhere { scale_m, rms_mps }) = self.up {
            (strength.up_scale_m, strength.up_mps) = (scale_m, rms_mps);
        }
        strength
    }

    fn by_height(&self, above_m: f64) -> Strength {
        let feet = (above_m / METRES_PER_FOOT).max(LEAST_FT);
        let high = Strength {
            level_scale_m: HIGH_SCALE_M,
            up_scale_m: HIGH_SCALE_M,
            level_mps: self.high_mps,
            up_mps: self.high_mps,
        };
        if feet >= HIGH_FT {
            return high;
        }
        let low = self.low(feet.min(LOW_FT));
        let share = ((feet - LOW_FT) / (HIGH_FT - LOW_FT)).max(0.0);
        let between = |low: f64, high: f64| low + share * (high - low);
        Strength {
            level_scale_m: between(low.level_scale_m, high.level_scale_m),
            up_scale_m: between(low.up_scale_m, high.up_scale_m),
            level_mps: between(low.level_mps, high.level_mps),
            up_mps: between(low.up_mps, high.up_mps),
        }
    }

    fn low(&self, feet: f64) -> Strength {
        let base = 0.177 + 0.000823 * feet;
        Strength {
            level_scale_m: feet * METRES_PER_FOOT / libm::pow(base, 1.2),
            up_scale_m: feet * METRES_PER_FOOT,
            level_mps: self.low_mps / libm::pow(base, 0.4),
            up_mps: self.low_mps,
        }
    }
}

/// The first-order component, of variance 1.
#[derive(Clone, Copy, Debug)]
struct Along(f64);

impl Along {
    fn advance(&mut self, step: f64, rng: &mut ChaCha8Rng) -> f64 {
        let kept = libm::exp(-step);
        self.0 = kept * self.0 + (1.0 - kept * kept).max(0.0).sqrt() * normal(rng);
        self.0
    }
}

/// The second-order component, of variance 1: two first-order lags in a row.
#[derive(Clone, Copy, Debug)]
struct Across(f64, f64);

impl Across {
    /// From its stationary distribution: covariance 1/2, 1/4, 1/4.
    fn new(rng: &mut ChaCha8Rng) -> Self {
        let first = 0.5_f64.sqrt() * normal(rng);
        Self(first, 0.5 * first + 0.125_f64.sqrt() * normal(rng))
    }

    fn advance(&mut self, step: f64, rng: &mut ChaCha8Rng) -> f64 {
        let kept = libm::exp(-step);
        let squared = kept * kept;
        let covariance = [
            0.5 * (1.0 - squared),
            0.25 - squared * (0.25 + 0.5 * step),
            0.25 - squared * (0.25 + 0.5 * step + 0.5 * step * step),
        ];
        let first = covariance[0].max(0.0).sqrt();
        let shared = if first > 0.0 { covariance[1] / first } else { 0.0 };
        let own = (covariance[2] - shared * shared).max(0.0).sqrt();
        let noise = [normal(rng), normal(rng)];
        self.1 = kept * (self.1 + step * self.0) + shared * noise[0] + own * noise[1];
        self.0 = kept * self.0 + first * noise[0];
        self.value()
    }

    fn value(self) -> f64 {
        let root = 3.0_f64.sqrt();
        root * self.0 + (1.0 - root) * self.1
    }
}

fn normal(rng: &mut ChaCha8Rng) -> f64 {
    StandardNormal.sample(rng)
}

/// The turbulence along one flight.
#[derive(Clone, Debug)]
pub struct Turbulence {
    law: Law,
    rng: ChaCha8Rng,
    along: Along,
    across: Across,
    up: Across,
}

impl Turbulence {
    /// Turbulence in its steady state.
    pub fn new(law: Law, seed: u64) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let along = Along(normal(&mut rng));
        let (across, up) = (Across::new(&mut rng), Across::new(&mut rng));
        Self { law, rng, along, across, up }
    }

    /// Advances by `distance_m` through the air, `above_m` above the ground on `course`, a level
    /// vector of length 1, and returns the air motion there in m/s.
    pub fn advance(&mut self, distance_m: f64, above_m: f64, course: Vector) -> Vector {
        let Strength { level_scale_m, up_scale_m, level_mps, up_mps } = self.law.at(above_m);
        let along = level_mps * self.along.advance(distance_m / level_scale_m, &mut self.rng);
        let across = level_mps * self.across.advance(distance_m / level_scale_m, &mut self.rng);
        let up = up_mps * self.up.advance(distance_m / up_scale_m, &mut self.rng);
        course * along + course.cross(Vector::UP) * across + Vector::UP * up
    }
}
