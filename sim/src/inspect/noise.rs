//! How noisy, how coarse and how fresh one channel of a recording is.
//!
//! **White noise** from third differences: for a polynomial of second degree they are zero, for
//! white noise of variance s^2 they have the variance (1 + 9 + 9 + 1) s^2. At 50 Hz flight is a
//! parabola between four samples; at 1 Hz it is not, and the figure is noise and flight together;
//! see [`Noise::is_told_from_flight`]. The median of the magnitudes is used, so that spikes and
//! gusts do not count: 0.6745 of the standard deviation of a normal distribution (any table).
//!
//! **Above 1 Hz**: the rest of the new values after a second-order Butterworth high-pass at 1 Hz,
//! run forward and back. They are first interpolated linearly on an even grid, which removes up to
//! a third of white noise.
//!
//! **Allan deviation**: the root of half the mean square of the differences between neighbouring
//! means over a time tau; white noise falls by 1 / sqrt(tau), a drift rises with tau. Source: IEEE
//! Std 1139 (the definition); checked against allantools.

use super::timing::median;
use serde::Serialize;

/// Values that are equal to the one before count as repeated when they are more than this share;
/// fewer happen by chance.
const REPEATS: f64 = 0.05;
/// At a lower rate than this there is no figure above 1 Hz.
const SLOWEST_ABOVE_1_HZ: f64 = 5.0;
/// Slower than this, noise and flight cannot be told apart (a guess: at 10 Hz four samples last
/// 0.3 s).
const SLOWEST_TOLD_APART: f64 = 10.0;

/// The noise of a channel, in its own unit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Noise {
    /// Share of the values that equal the one before.
    pub repeated_share: f64,
    /// New values a second.
    pub fresh_rate_hz: f64,
    /// The smallest step between values that occurs more than by chance; zero where there is none.
    pub quantum: f64,
    /// Standard deviation of the white noise.
    pub white: f64,
    /// Root mean square of what is above 1 Hz; absent below 5 values a second.
    pub above_1_hz: Option<f64>,
    /// Root mean square of everything, about the mean.
    pub about_mean: f64,
    /// Allan deviation by averaging time in seconds.
    pub allan: Vec<(f64, f64)>,
}

impl Noise {
    /// Analyses `values` at increasing `times_s`, four at least.
    pub fn of(times_s: &[f64], values: &[f64], rate_hz: f64) -> Option<Self> {
        if values.len() < 8 {
            return None;
        }
        let repeated = values.windows(2).filter(|pair| pair[0] == pair[1]).count();
        let repeated_share = repeated as f64 / (values.len() - 1) as f64;
        let (times, fresh) = if repeated_share > REPEATS {
            without_repeats(times_s, values)
        } else {
            (times_s.to_vec(), values.to_vec())
        };
        let fresh_rate_hz = rate_hz * fresh.len() as f64 / values.len() as f64;
        if fresh.len() < 8 {
            return None;
        }
        let lasts_s = times_s[times_s.len() - 1] - times_s[0];
        Some(Self {
            repeated_share,
            fresh_rate_hz,
            quantum: quantum(&fresh),
            white: white(&fresh),
            above_1_hz: (fresh_rate_hz >= SLOWEST_ABOVE_1_HZ)
                .then(|| above_1_hz(&times, &fresh, fresh_rate_hz)),
            about_mean: about_mean(&fresh),
            allan: allan(&fresh, 1.0 / fresh_rate_hz, lasts_s),
        })
    }

    /// Whether the white noise is noise: samples come fast enough that flight is a parabola between
    /// four of them.
    pub fn is_told_from_flight(&self) -> bool {
        self.fresh_rate_hz >= SLOWEST_TOLD_APART
    }
}

fn without_repeats(times_s: &[f64], values: &[f64]) -> (Vec<f64>, Vec<f64>) {
    let fresh = (0..values.len()).filter(|&place| place == 0 || values[place] != values[place - 1]);
    fresh.map(|place| (times_s[place], values[place])).unzip()
}

fn white(values: &[f64]) -> f64 {
    let thirds: Vec<f64> = values
        .windows(4)
        .map(|four| (four[3] - 3.0 * four[2] + 3.0 * four[1] - four[0]).abs())
        .collect();
    median(&thirds) / (0.6745 * 20.0_f64.sqrt())
}

fn about_mean(values: &[f64]) -> f64 {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    (values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / values.len() as f64).sqrt()
}

/// The smallest step that one in two hundred of the changes makes, where all of a sample of changes
/// are whole multiples of it.
fn quantum(values: &[f64]) -> f64 {
    let mut steps: Vec<f64> = values
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).abs())
        .filter(|step| *step > 0.0)
        .collect();
    if steps.len() < 20 {
        return 0.0;
    }
    steps.sort_unstable_by(f64::total_cmp);
    let candidate = steps[steps.len() / 200];
    let is_multiple = |step: &&f64| {
        let times = **step / candidate;
        (times - times.round()).abs() < 0.02 * times.clamp(1.0, 4.0)
    };
    let near = &steps[..steps.len().div_ceil(2)];
    let multiples = near.iter().filter(is_multiple).count();
    if multiples as f64 > 0.95 * near.len() as f64 { candidate } else { 0.0 }
}

/// The output of a zero-phase high-pass at 1 Hz.
fn above_1_hz(times_s: &[f64], values: &[f64], rate_hz: f64) -> f64 {
    let first = values[0];
    let even = interpolated(times_s, values, 1.0 / rate_hz);
    let mut filtered: Vec<f64> = even.iter().map(|value| value - first).collect();
    for _ in 0..2 {
        high_pass(&mut filtered, 1.0 / rate_hz);
        filtered.reverse();
    }
    // The filter's transients at both ends are not noise.
    let edge = ((2.0 * rate_hz) as usize).min(filtered.len() / 4);
    let inside = &filtered[edge..filtered.len() - edge];
    (inside.iter().map(|value| value * value).sum::<f64>() / inside.len() as f64).sqrt()
}

/// Values every `step_s`, by linear interpolation.
fn interpolated(times_s: &[f64], values: &[f64], step_s: f64) -> Vec<f64> {
    let mut place = 0;
    let count = ((times_s[times_s.len() - 1] - times_s[0]) / step_s) as usize;
    (0..count)
        .map(|k| {
            let time_s = times_s[0] + k as f64 * step_s;
            while place + 2 < times_s.len() && times_s[place + 1] <= time_s {
                place += 1;
            }
            let share = (time_s - times_s[place]) / (times_s[place + 1] - times_s[place]);
            values[place] + share * (values[place + 1] - values[place])
        })
        .collect()
}

/// A second-order Butterworth high-pass at 1 Hz, by the bilinear transform.
fn high_pass(values: &mut [f64], dt_s: f64) {
    let k = (std::f64::consts::PI * dt_s).tan();
    let q = std::f64::consts::FRAC_1_SQRT_2;
    let norm = 1.0 / (1.0 + k / q + k * k);
    let (a1, a2) = (2.0 * (k * k - 1.0) * norm, (1.0 - k / q + k * k) * norm);
    let (mut x1, mut x2, mut y1, mut y2) = (0.0, 0.0, 0.0, 0.0);
    for value in values {
        let x = *value;
        let y = norm * (x - 2.0 * x1 + x2) - a1 * y1 - a2 * y2;
        (x2, x1, y2, y1) = (x1, x, y1, y);
        *value = y;
    }
}

/// Allan deviation at averaging times of 1, 2, 4.. samples, up to a quarter of the whole.
fn allan(values: &[f64], dt_s: f64, lasts_s: f64) -> Vec<(f64, f64)> {
    let mut sums = Vec::with_capacity(values.len() + 1);
    let (first, mut sum) = (values[0], 0.0);
    sums.push(0.0);
    for value in values {
        sum += value - first;
        sums.push(sum);
    }
    let mut points = Vec::new();
    let mut count = 1_usize;
    while 4 * count <= values.len() && count as f64 * dt_s <= lasts_s / 4.0 {
        let differences = sums
            .windows(2 * count + 1)
            .map(|window| window[2 * count] - 2.0 * window[count] + window[0]);
        let (total, number) =
            differences.fold((0.0, 0.0), |(total, number), d| (total + d * d, number + 1.0));
        points.push((count as f64 * dt_s, (total / (2.0 * number)).sqrt() / count as f64));
        count *= 2;
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use rand_chacha::ChaCha8Rng;
    use rand_chacha::rand_core::SeedableRng;
    use rand_distr::{Distribution, StandardNormal};

    fn noisy(count: usize, sigma: f64, truth: impl Fn(f64) -> f64) -> (Vec<f64>, Vec<f64>) {
        let mut rng = ChaCha8Rng::seed_from_u64(3);
        let times: Vec<f64> = (0..count).map(|step| step as f64 * 0.02).collect();
        let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
        let values = times.iter().map(|time| truth(*time) + sigma * normal()).collect();
        (times, values)
    }

    #[test]
    fn white_noise_is_found_in_the_middle_of_a_flight() {
        for sigma in [0.3, 1.2, 2.5] {
            let (times, values) =
                noisy(30_000, sigma, |t| 90_000.0 + 400.0 * (t / 5.0).sin() - 20.0 * t);
            let noise = Noise::of(&times, &values, 50.0).unwrap();
            assert_relative_eq!(noise.white, sigma, max_relative = 0.03);
            assert_eq!(noise.quantum, 0.0);
            // White noise up to 25 Hz, of which 24 are above 1 Hz.
            assert_relative_eq!(
                noise.above_1_hz.unwrap(),
                sigma * (24.0_f64 / 25.0).sqrt(),
                max_relative = 0.03
            );
        }
    }

    #[test]
    fn the_allan_deviation_of_white_noise_falls_with_the_root_of_the_time() {
        let (times, values) = noisy(60_000, 1.0, |_| 0.0);
        for (tau, deviation) in &Noise::of(&times, &values, 50.0).unwrap().allan[..8] {
            assert_relative_eq!(*deviation, (0.02 / tau).sqrt(), max_relative = 0.1);
        }
    }

    #[test]
    fn a_coarse_and_slow_sensor_is_known_by_its_steps_and_its_repeats() {
        let (times, values) = noisy(20_000, 3.0, |t| 90_000.0 + 30.0 * (t / 5.0).sin());
        // A new value every second poll, in whole pascals.
        let held: Vec<f64> =
            (0..values.len()).map(|place| values[place - place % 2].round()).collect();
        let noise = Noise::of(&times, &held, 50.0).unwrap();
        assert_eq!(noise.quantum, 1.0);
        assert_relative_eq!(noise.repeated_share, 0.55, max_relative = 0.05);
        assert_relative_eq!(noise.fresh_rate_hz, 22.5, max_relative = 0.05);
    }
}
