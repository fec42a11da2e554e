//! Gains of the steady Kalman filter in closed form, for a set delay of the reading at any time
//! step.
//!
//! The vertical speed is a random walk (its acceleration is white noise of spectral density q), and
//! the height is measured every dt with white noise of variance sigma^2. Height and vertical speed
//! are corrected by the shares alpha and beta of the prediction error:
//!
//! ```text
//! e = z - (h + v dt)        h <- h + v dt + alpha e        v <- v + (beta / dt) e
//! ```
//!
//! The Riccati equation of the steady filter, written for one time step, gives one relation between
//! the gains, and the delay at DC gives the other:
//!
//! ```text
//! alpha^2 - 2 beta + alpha beta + beta^2 / 6 = 0         delay = dt (alpha / beta - 1/2)
//! q dt^3 / sigma^2 = beta^2 / (1 - alpha)
//! var v = sigma^2 / dt^2  beta (alpha - beta / 2) / (1 - alpha)
//! ```
//!
//! With rho = delay / dt + 1/2 they are solved without a root or a power:
//!
//! ```text
//! beta = 2 / (rho^2 + rho + 1/6)        alpha = rho beta
//! ```
//!
//! In the limit of small steps this is a second-order Butterworth low-pass of w0 = sqrt(2) / delay.
//!
//! Sources: Kalata 1984 and Bar-Shalom, Li and Kirubarajan, Estimation with Applications to
//! Tracking and Navigation (2001), chapter 6, for the steady filter; the form above is derived here
//! from its Riccati equation and checked against solvers in tests/oracle.

/// The shortest delay in units of the time step: at (1 / sqrt(3)) / 2 = 0.289 alpha is 1, which is
/// a filter without memory.
const SHORTEST_DELAY_STEPS: f32 = 0.3;

/// Gains of the steady filter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SteadyGains {
    /// Share of the error that corrects the height, 0 to 1.
    pub alpha: f32,
    /// Share of the error that corrects the vertical speed times the time step.
    pub beta: f32,
}

impl SteadyGains {
    /// The gains whose delay at DC is `delay_s`, for a time step of `dt_s`; a delay too short for
    /// two samples becomes the shortest possible, 0.3 of the step.
    pub fn new(delay_s: f32, dt_s: f32) -> Self {
        let delay_steps = delay_s / dt_s;
        let rho = 0.5
            + if delay_steps > SHORTEST_DELAY_STEPS { delay_steps } else { SHORTEST_DELAY_STEPS };
        let beta = 2.0 / (rho * rho + rho + 1.0 / 6.0);
        Self { alpha: rho * beta, beta }
    }

    /// Variance of the error of the vertical speed in air of that density.
    pub(crate) fn variance_m2ps2(&self, dt_s: f32, sigma_m: f32) -> f32 {
        let per_step = self.beta * (self.alpha - 0.5 * self.beta) / (1.0 - self.alpha);
        per_step * sigma_m * sigma_m / (dt_s * dt_s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    impl SteadyGains {
        /// The spectral density in m2/s3 for which these gains are optimal.
        fn density_m2ps3(&self, dt_s: f32, sigma_m: f32) -> f32 {
            let per_step = self.beta * self.beta / (1.0 - self.alpha);
            per_step * sigma_m * sigma_m / (dt_s * dt_s * dt_s)
        }
    }

    #[test]
    fn gains_density_and_variance_are_a_fixed_point_of_the_riccati_recursion() {
        // Slow but simple reference: the covariance recursion itself, in double precision, run
        // until it converges.
        for (delay_s, dt_s, sigma_m) in
            [(1.0, 0.02, 0.1), (1.0, 1.0, 0.3), (0.5, 0.2, 0.02), (0.3, 0.01, 0.05)]
        {
            let gains = SteadyGains::new(delay_s, dt_s);
            let (q, r) =
                (f64::from(gains.density_m2ps3(dt_s, sigma_m)), f64::from(sigma_m).powi(2));
            let dt = f64::from(dt_s);
            let (mut p11, mut p12, mut p22) = (r, 0.0, 1.0);
            let (mut k1, mut k2) = (0.0, 0.0);
            for _ in 0..200_000 {
                let m11 = p11 + 2.0 * dt * p12 + dt * dt * p22 + q * dt.powi(3) / 3.0;
                let m12 = p12 + dt * p22 + q * dt * dt / 2.0;
                let m22 = p22 + q * dt;
                (k1, k2) = (m11 / (m11 + r), m12 / (m11 + r));
                (p11, p12, p22) = (m11 * (1.0 - k1), m12 * (1.0 - k1), m22 - k2 * m12);
            }
            assert_relative_eq!(f64::from(gains.alpha), k1, max_relative = 1e-4);
            assert_relative_eq!(f64::from(gains.beta), k2 * dt, max_relative = 1e-4);
            assert_relative_eq!(
                f64::from(gains.variance_m2ps2(dt_s, sigma_m)),
                p22,
                max_relative = 1e-3
            );
        }
    }
}
