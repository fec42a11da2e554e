//! The fixed filter: one filter of constant delay, the steady Kalman filter of
//! [`crate::motion::steady`].
//!
//! No linear filter has less error for its delay; with time steps that jitter by half, its error is
//! 2 % larger than that of a Kalman filter that knows every step's covariance. It begins as a
//! straight line through the first heights, which is the same filter with growing-memory gains
//! (from the normal equations of a line fit to equal steps):
//!
//! ```text
//! alpha_n = 2 (2 n - 1) / (n (n + 1))      beta_n = 6 / (n (n + 1))
//! at the n-th sample, while above the steady gains
//! ```

use crate::motion::steady::SteadyGains;
use crate::units::larger;

/// State of the fixed filter.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct FixedState {
    pub(crate) height_m: f32,
    pub(crate) velocity_mps: f32,
    samples: u16,
    /// The gains are the steady ones.
    pub(crate) settled: bool,
}

impl FixedState {
    /// The state with one height known.
    pub(crate) fn start(height_m: f32) -> Self {
        Self { height_m, samples: 1, ..Self::default() }
    }

    /// The filter that goes on from a state known otherwise.
    pub(crate) fn take_over(height_m: f32, velocity_mps: f32) -> Self {
        Self { height_m, velocity_mps, settled: true, ..Self::default() }
    }

    /// `dt_s` later, without a height.
    pub(crate) fn coast(&mut self, dt_s: f32) {
        self.height_m += self.velocity_mps * dt_s;
    }

    /// Takes a height, `dt_s` after the one before; returns the gains of the steady filter at that
    /// time step.
    pub(crate) fn step(&mut self, response_s: f32, dt_s: f32, height_m: f32) -> SteadyGains {
        let steady = SteadyGains::new(response_s, dt_s);
        self.samples = self.samples.saturating_add(1);
        self.coast(dt_s);
        let error_m = height_m - self.height_m;
        let gains = self.growing(steady);
        self.height_m += gains.alpha * error_m;
        self.velocity_mps += gains.beta / dt_s * error_m;
        steady
    }

    /// Measures heights from a new origin, `by_m` higher.
    pub(crate) fn shift(&mut self, by_m: f32) {
        self.height_m -= by_m;
    }

    /// The gains of a line through all samples until the steady gains are larger.
    fn growing(&mut self, steady: SteadyGains) -> SteadyGains {
        if self.settled {
            return steady;
        }
        let n = f32::from(self.samples);
        let pairs = n * (n + 1.0);
        let (alpha, beta) = (2.0 * (2.0 * n - 1.0) / pairs, 6.0 / pairs);
        self.settled = beta <= steady.beta || self.samples == u16::MAX;
        SteadyGains { alpha: larger(alpha, steady.alpha), beta: larger(beta, steady.beta) }
    }

    /// The variance of the vertical speed, of heights `dt_s` apart with noise `noise_m`: a line's
    /// slope while it starts, 12 sigma^2 / (dt^2 n (n^2 - 1)), then that of the steady `gains`.
    pub(crate) fn variance_m2ps2(&self, gains: SteadyGains, dt_s: f32, noise_m: f32) -> f32 {
        let steady = gains.variance_m2ps2(dt_s, noise_m);
        if self.settled {
            return steady;
        }
        let n = f32::from(self.samples);
        steady + 12.0 * noise_m * noise_m / (dt_s * dt_s * n * (n * n - 1.0))
    }
}
