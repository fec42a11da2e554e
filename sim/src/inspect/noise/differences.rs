//! White noise, and what wanders at random, from third differences.
//!
//! For a polynomial of second degree third differences are zero, and flight is one between four
//! samples at 50 Hz; at 1 Hz it is not, and the figure is noise and flight together: see
//! [`super::Noise::is_told_from_flight`]. Over a lag of m samples they have the variance
//!
//! ```text
//! v(m) = (1 + 9 + 9 + 1) s^2 + (1 + 4 + 1) m d
//! ```
//!
//! of white noise s and of a value that wanders by an independent amount of variance d from sample
//! to sample, as an airspeed does in gusts over times far below their length (a gust of first
//! order: 2 u^2 t / T). So the variances at lags of 1, 2 and 4 samples, up to 0.1 s (0.2 s at 10
//! Hz), give both, where they grow by more than chance; else the first is all white noise.
//! Sheppard's q^2 / 12 of the steps q goes off the white noise.
//!
//! A variance is taken from the median of the magnitudes, 0.6745 of the standard deviation of a
//! normal distribution (any table), so that spikes and pull-ups do not count; where steps make the
//! magnitudes few, from the mean of the smaller 98 % of the squares, 0.8736 of the variance.

use crate::recording::series::median;

const LAGS: [usize; 3] = [1, 2, 4];
const LONGEST_LAG_S: f64 = 0.1;
/// Steps above this share of the noise make the median of the magnitudes coarse (a guess).
const COARSE: f64 = 0.3;
/// The variances of so many values differ by less than this over the root of their number by
/// chance: four times their standard error (found with white noise).
const BY_CHANCE: f64 = 16.0;
const MEDIAN_OF_NORMAL: f64 = 0.6745;
const KEPT: f64 = 0.98;
const KEPT_OF_VARIANCE: f64 = 0.8736;

/// Both, in the unit of the values.
#[derive(Clone, Copy, Debug)]
pub(super) struct Differences {
    /// Standard deviation of the white noise.
    pub white: f64,
    /// How far it wanders in a second, rms.
    pub wander_1_s: f64,
}

impl Differences {
    /// Of `values` every `dt_s` with steps of `quantum`.
    pub fn of(values: &[f64], dt_s: f64, quantum: f64) -> Self {
        let longest_s = LONGEST_LAG_S.max(if dt_s <= LONGEST_LAG_S { 2.0 * dt_s } else { dt_s });
        let is_used = |lag: &&usize| {
            **lag == 1 || (**lag as f64 * dt_s <= longest_s && **lag * 8 < values.len())
        };
        let lags: Vec<f64> = LAGS.iter().filter(is_used).map(|lag| *lag as f64).collect();
        let variances: Vec<f64> =
            lags.iter().map(|lag| variance(values, *lag as usize, quantum)).collect();
        let (level, slope) = line(&lags, &variances);
        let grows = slope * (lags[lags.len() - 1] - lags[0]);
        let by_chance = BY_CHANCE / (values.len() as f64).sqrt();
        let (level, slope) =
            if grows > by_chance * variances[0] { (level, slope) } else { (variances[0], 0.0) };
        let white = (level / 20.0 - quantum * quantum / 12.0).max(0.0).sqrt();
        Self { white, wander_1_s: (slope / 6.0 / dt_s).sqrt() }
    }
}

/// Variance of the third differences over `lag` samples.
fn variance(values: &[f64], lag: usize, quantum: f64) -> f64 {
    let thirds: Vec<f64> = values
        .windows(3 * lag + 1)
        .map(|of| (of[3 * lag] - 3.0 * of[2 * lag] + 3.0 * of[lag] - of[0]).abs())
        .collect();
    let of_median = median(&thirds).unwrap_or(0.0) / MEDIAN_OF_NORMAL;
    if quantum > COARSE * of_median / 20.0_f64.sqrt() {
        let mut squares: Vec<f64> = thirds.iter().map(|third| third * third).collect();
        squares.sort_unstable_by(f64::total_cmp);
        let kept = ((KEPT * squares.len() as f64) as usize).max(1);
        return squares[..kept].iter().sum::<f64>() / kept as f64 / KEPT_OF_VARIANCE;
    }
    of_median * of_median
}

/// Level and slope of the line through the variances, neither below zero, each weighted by its own
/// size.
fn line(lags: &[f64], variances: &[f64]) -> (f64, f64) {
    let weights: Vec<f64> = variances.iter().map(|of| 1.0 / (of * of).max(1e-300)).collect();
    let sum = |of: &dyn Fn(usize) -> f64| (0..lags.len()).map(|k| weights[k] * of(k)).sum::<f64>();
    let (all, x, y) = (sum(&|_| 1.0), sum(&|k| lags[k]), sum(&|k| variances[k]));
    let (xx, xy) = (sum(&|k| lags[k] * lags[k]), sum(&|k| lags[k] * variances[k]));
    let below = all * xx - x * x;
    let slope = if below > 1e-12 * all * xx { (all * xy - x * y) / below } else { 0.0 };
    let level = (y - slope * x) / all;
    if slope <= 0.0 {
        return (y / all, 0.0);
    }
    if level < 0.0 {
        return (0.0, xy / xx);
    }
    (level, slope)
}
