//! What the recorder's own vario read, and how well an estimated climb agrees with it.
//!
//! A flight log may carry the recorder's total-energy vertical speed (IGC extension VAT). It is
//! late and smooth in a way that nobody states: a delay and a time constant are fitted, then slope
//! and correlation are measured.

use super::series::Even;
use serde::Serialize;

/// Fewer readings than these say nothing.
const FEWEST: usize = 120;
/// Delays and time constants that are tried, s.
const STEP_S: f64 = 0.5;
const MOST_STEPS: usize = 10;

/// How an estimated climb agrees with the recorder's own reading.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Agreement {
    /// Their correlation, with the recorder's delay and time constant taken into account.
    pub correlation: f64,
    /// The recorder's reading per reading of ours.
    pub slope: f64,
    /// What remains between them, m/s rms.
    pub rms_mps: f64,
    /// The recorder's delay, s.
    pub delay_s: f64,
    /// Its time constant, s.
    pub time_constant_s: f64,
}

/// The agreement of `rate_mps` with `recorded_mps`, the recorder's readings at `times_s` (NaN where
/// it gave none); `None` where it has too few.
pub fn agreement(times_s: &[f64], recorded_mps: &[f64], rate_mps: &Even) -> Option<Agreement> {
    let there: Vec<(f64, f64)> = times_s
        .iter()
        .zip(recorded_mps)
        .filter(|(_, value)| value.is_finite())
        .map(|(time, value)| (*time, *value))
        .collect();
    if there.len() < FEWEST {
        return None;
    }
    let steps = || (0..=MOST_STEPS).map(|step| step as f64 * STEP_S);
    steps()
        .flat_map(|time_constant_s| {
            let followed = followed(rate_mps, time_constant_s);
            let there = &there;
            steps().map(move |delay_s| {
                let pair = |(time, value): &(f64, f64)| (followed.at(time - delay_s), *value);
                let fit = fit(there.iter().map(pair));
                Agreement { delay_s, time_constant_s, ..fit }
            })
        })
        .max_by(|a, b| a.correlation.total_cmp(&b.correlation))
}

/// What a first-order instrument makes of it.
fn followed(rate_mps: &Even, time_constant_s: f64) -> Even {
    let share = 1.0 - (-rate_mps.step_s / time_constant_s.max(1e-9)).exp();
    let mut state = rate_mps.values.first().copied().unwrap_or(0.0);
    let values = rate_mps.values.iter().map(|value| {
        state += share * (value - state);
        state
    });
    Even { values: values.collect(), ..*rate_mps }
}

fn fit(pairs: impl Iterator<Item = (f64, f64)> + Clone) -> Agreement {
    let count = pairs.clone().count() as f64;
    let mean = |of: fn((f64, f64)) -> f64| pairs.clone().map(of).sum::<f64>() / count;
    let (x, y) = (mean(|(x, _)| x), mean(|(_, y)| y));
    let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
    for (at_x, at_y) in pairs {
        let (dx, dy) = (at_x - x, at_y - y);
        (xx, yy, xy) = (xx + dx * dx, yy + dy * dy, xy + dx * dy);
    }
    let slope = xy / xx;
    Agreement {
        correlation: if xx * yy > 0.0 { xy / (xx * yy).sqrt() } else { 0.0 },
        slope,
        rms_mps: ((yy - slope * xy).max(0.0) / count).sqrt(),
        delay_s: 0.0,
        time_constant_s: 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_late_and_slow_recorder_is_recognised() {
        let climb = |t: f64| 2.0 * (t / 7.0).sin() + (t / 3.0).cos();
        let values = (0..5_000).map(|place| climb(0.2 * f64::from(place))).collect();
        let rate = Even { start_s: 0.0, step_s: 0.2, values };
        let slow = followed(&rate, 2.5);
        let times: Vec<f64> = (10..900).map(f64::from).collect();
        let said: Vec<f64> = times.iter().map(|time| 0.9 * slow.at(time - 2.0)).collect();
        let found = agreement(&times, &said, &rate).expect("there are enough");
        assert_eq!((found.delay_s, found.time_constant_s), (2.0, 2.5));
        assert_abs_diff_eq!(found.slope, 0.9, epsilon = 0.01);
        assert!(found.correlation > 0.999 && found.rms_mps < 0.02, "{found:?}");
        assert_eq!(agreement(&times[..50], &said[..50], &rate), None);
    }
}
