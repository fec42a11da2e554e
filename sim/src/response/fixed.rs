//! The fixed filter in closed form: its noise, its response to waves, and the filter for a wanted
//! noise.
//!
//! With the gains alpha and beta of [`SteadyGains`], a time step dt and heights with white noise of
//! sigma,
//!
//! ```text
//! var v = sigma^2 / dt^2  2 beta^2 / (alpha (4 - 2 alpha - beta))      from noise alone
//! v(z) / h(z) = (beta / dt) (1 - 1/z) / (1 - (2 - alpha - beta) / z + (1 - alpha) / z^2)
//! ```
//!
//! For small steps the noise is sigma sqrt(dt) / delay^1.5, which is r w0^3 / (2 sqrt 2) with
//! r = sigma^2 dt and w0 = sqrt 2 / delay.
//!
//! Sources: Kalata 1984 for the tracker's gains; the variance solves the 2 x 2 Lyapunov equation of
//! the recursion driven by noise alone, the transfer function is its z-transform; both are worked
//! out here and held against runs in this file's tests.

use super::series::Sinusoid;
use chirrup_core::stages::SteadyGains;
use std::f64::consts::TAU;

/// Range of the filters considered: beyond what the settings allow on both sides.
const QUICKEST_S: f64 = 0.01;
const SLOWEST_S: f64 = 60.0;

/// A sensor and the fixed filters behind it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FixedFilters {
    /// Time between samples.
    pub step_s: f64,
    /// Standard deviation of the heights.
    pub noise_m: f64,
}

impl FixedFilters {
    /// Noise of the reading of the filter of `response_s` in still air, in m/s rms.
    pub fn noise_mps(&self, response_s: f64) -> f64 {
        let (alpha, beta) = self.gains(response_s);
        self.noise_m / self.step_s * (2.0 / (alpha * (4.0 - 2.0 * alpha - beta))).sqrt() * beta
    }

    /// The response of the filter whose reading has noise of `noise_mps`; the nearest where there
    /// is none.
    pub fn response_s(&self, noise_mps: f64) -> f64 {
        let (mut quick, mut slow) = (QUICKEST_S, SLOWEST_S);
        for _ in 0..50 {
            let middle = (quick * slow).sqrt();
            if self.noise_mps(middle) > noise_mps { quick = middle } else { slow = middle }
        }
        (quick * slow).sqrt()
    }

    /// The response to a sinusoidal vertical speed.
    pub fn sinusoid(&self, response_s: f64, frequency_hz: f64) -> Sinusoid {
        let (alpha, beta) = self.gains(response_s);
        let turn = TAU * frequency_hz * self.step_s;
        // exp(-i turn), which is 1/z.
        let back = (libm::cos(turn), -libm::sin(turn));
        let back_twice = (libm::cos(2.0 * turn), -libm::sin(2.0 * turn));
        let (b1, b2) = (2.0 - alpha - beta, 1.0 - alpha);
        let below = (1.0 - b1 * back.0 + b2 * back_twice.0, -b1 * back.1 + b2 * back_twice.1);
        // Height is vertical speed / (i w), and i w dt = i turn.
        let above = ((1.0 - back.0) * beta, -back.1 * beta);
        let above = (above.1 / turn, -above.0 / turn);
        let square = below.0 * below.0 + below.1 * below.1;
        Sinusoid::new(
            (above.0 * below.0 + above.1 * below.1) / square,
            (above.1 * below.0 - above.0 * below.1) / square,
        )
    }

    fn gains(&self, response_s: f64) -> (f64, f64) {
        let gains = SteadyGains::new(response_s as f32, self.step_s as f32);
        (f64::from(gains.alpha), f64::from(gains.beta))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const AT_50_HZ: FixedFilters = FixedFilters { step_s: 0.02, noise_m: 0.1 };

    #[test]
    fn noise_is_that_of_the_recursion_driven_by_one_error_at_a_time() {
        // The variance of a linear filter's answer to white noise is the sum of its squared answer
        // to a single error.
        for (step_s, response_s) in [(0.02, 1.0), (0.02, 0.2), (0.2, 1.0), (1.0, 3.0), (1.0, 0.4)] {
            let filters = FixedFilters { step_s, noise_m: 0.3 };
            let (alpha, beta) = filters.gains(response_s);
            let (mut height, mut speed, mut sum) = (0.0, 0.0, 0.0);
            for step in 0..20_000 {
                let measured = if step == 0 { 0.3 } else { 0.0 };
                let error = measured - height - speed * step_s;
                height += speed * step_s + alpha * error;
                speed += beta / step_s * error;
                sum += speed * speed;
            }
            assert_relative_eq!(filters.noise_mps(response_s), f64::sqrt(sum), max_relative = 1e-6);
        }
    }

    #[test]
    fn at_50_hz_noise_and_waves_are_those_of_the_continuous_filter() {
        // Noise r w0^3 / (2 sqrt 2), reading w0^2 / (s^2 + sqrt 2 w0 s + w0^2), DC delay sqrt
        // 2 / w0 (published-values, section 5): |reading| = 1 / sqrt(1 + (w / w0)^4).
        let w0 = 2.0_f64.sqrt() / 1.0;
        let noise = (0.01 * 0.02 * w0.powi(3) / (2.0 * 2.0_f64.sqrt())).sqrt();
        // A discrete filter of the same delay is quieter: its noise goes with
        // (delay + dt / 2)^-1.5, 1.5 % less here.
        assert_relative_eq!(AT_50_HZ.noise_mps(1.0), noise, max_relative = 0.02);
        for frequency_hz in [0.02, 0.1, 0.225, 0.5, 1.0] {
            let ratio = TAU * frequency_hz / w0;
            let Sinusoid { gain, phase_lag_deg } = AT_50_HZ.sinusoid(1.0, frequency_hz);
            assert_relative_eq!(gain, 1.0 / (1.0 + ratio.powi(4)).sqrt(), max_relative = 0.03);
            let lag_deg = (2.0_f64.sqrt() * ratio).atan2(1.0 - ratio * ratio).to_degrees();
            assert_relative_eq!(phase_lag_deg, lag_deg, max_relative = 0.03);
        }
    }

    /// The merit of a response to heights, at 50 Hz: (noise for noise of 1 m, squared error after a
    /// sudden climb of 1 m/s, summed over time).
    fn worth(read: impl Fn(&[f64]) -> Vec<f64>) -> (f64, f64) {
        let heights = |height: fn(f64) -> f64| {
            (-1000..1000).map(|step| height(f64::from(step) * 0.02)).collect::<Vec<_>>()
        };
        let once = read(&heights(|time| if time == 0.0 { 1.0 } else { 0.0 }));
        let climb = read(&heights(|time| time.max(0.0)));
        let squared_error = climb[1000..].iter().map(|value| (1.0 - value).powi(2) * 0.02).sum();
        (once.iter().map(|value| value * value).sum::<f64>().sqrt(), squared_error)
    }

    fn recursion((alpha, beta): (f64, f64), heights: &[f64]) -> Vec<f64> {
        let (mut height, mut speed) = (heights[0], 0.0);
        let step = |measured: &f64| {
            let error = measured - height - speed * 0.02;
            height += speed * 0.02 + alpha * error;
            speed += beta / 0.02 * error;
            speed
        };
        heights.iter().map(step).collect()
    }

    /// Slope of the straight line through the last `count` heights.
    fn line(count: usize, heights: &[f64]) -> Vec<f64> {
        let middle = 0.5 * (count as f64 - 1.0);
        let square: f64 = (0..count).map(|place| (place as f64 - middle).powi(2) * 0.02).sum();
        let slope = |window: &[f64]| {
            window
                .iter()
                .enumerate()
                .map(|(place, height)| (place as f64 - middle) * height)
                .sum::<f64>()
                / square
        };
        let start = std::iter::repeat_n(0.0, count - 1);
        start.chain(heights.windows(count).map(slope)).collect()
    }

    #[test]
    fn other_linear_filters_with_the_same_squared_error_have_more_noise() {
        let with_squared_error = |wanted: f64| {
            let (mut quick, mut slow) = (0.05_f64, 5.0_f64);
            for _ in 0..40 {
                let middle = (quick * slow).sqrt();
                let (_, squared_error) =
                    worth(|heights| recursion(AT_50_HZ.gains(middle), heights));
                if squared_error < wanted { quick = middle } else { slow = middle }
            }
            worth(|heights| recursion(AT_50_HZ.gains(quick), heights)).0
        };
        // A line through the last second or two, two equal poles, and the filter itself with gains
        // of another ratio.
        let (alpha, beta) = AT_50_HZ.gains(1.0);
        for (noise, squared_error) in [
            worth(|heights| line(50, heights)),
            worth(|heights| line(100, heights)),
            worth(|heights| recursion((1.0 - 0.97_f64.powi(2), 0.03_f64.powi(2)), heights)),
            worth(|heights| recursion((1.3 * alpha, beta), heights)),
            worth(|heights| recursion((alpha, 1.3 * beta), heights)),
        ] {
            let least = with_squared_error(squared_error);
            assert!(noise > 1.005 * least, "{noise} with {squared_error}, where {least} is enough");
        }
    }

    #[test]
    fn the_filter_of_a_noise_has_that_noise() {
        for response_s in [0.1, 0.7, 5.0] {
            let found_s = AT_50_HZ.response_s(AT_50_HZ.noise_mps(response_s));
            assert_relative_eq!(found_s, response_s, max_relative = 1e-4);
        }
    }
}
