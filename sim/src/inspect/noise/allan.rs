//! Allan deviation, and what it shows of a sensor at rest.
//!
//! The root of half the mean square of the differences between neighbouring means over a time tau.
//! White noise falls by 1 / sqrt(tau); flicker of spectrum B^2 / (2 pi f), over both signs of
//! frequency, stays at 0.664 B; a drift rises with tau. In the air the differences are flight, and
//! only a stretch at rest shows the sensor. Source: IEEE Std 1139 and IEEE Std 952 (the
//! definitions, from memory); the deviation is checked against allantools.
//!
//! ```text
//! drift      slope of a straight line through the stretch, where over the whole of it it is more
//!            than four times what means of a quarter of the stretch, without the line, differ by
//! flicker    the middle of the deviations beyond the white noise, without the line, where white
//!            noise makes less than half of their squares and sixteen means or more are compared;
//!            three of them at least, the largest 1.5 times the smallest
//! ```
//!
//! Four, a half, sixteen, three and 1.5 are guesses.

use serde::Serialize;

/// Shorter stretches show nothing, s (a guess).
const SHORTEST_S: f64 = 20.0;
const FLICKER_OF_DEVIATION: f64 = 0.664;
const WHITE_SHARE: f64 = 0.5;
const FLAT: f64 = 1.5;
const MEANS: f64 = 16.0;
const FEWEST: usize = 3;
const DRIFT_SHOWS: f64 = 4.0;

/// What a stretch at rest shows of a channel.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AtRest {
    /// When it begins, s.
    pub from_s: f64,
    /// How long it lasts, s.
    pub for_s: f64,
    /// Allan deviation by averaging time in seconds.
    pub allan: Vec<(f64, f64)>,
    /// Flicker B, in the channel's unit; absent where none shows above the white noise.
    pub flicker: Option<f64>,
    /// Drift a minute, in the channel's unit; absent where none shows.
    pub drift_per_min: Option<f64>,
}

impl AtRest {
    /// Of the values every `dt_s` between two times; `None` where they are too few.
    pub(super) fn of(
        times_s: &[f64],
        values: &[f64],
        dt_s: f64,
        (from_s, to_s): (f64, f64),
    ) -> Option<Self> {
        let first = times_s.partition_point(|time| *time < from_s);
        let end = times_s.partition_point(|time| *time <= to_s);
        let (times, values) = (times_s.get(first..end)?, values.get(first..end)?);
        let lasts_s = times.last()? - times.first()?;
        if lasts_s < SHORTEST_S || values.len() < 8 {
            return None;
        }
        let (slope_per_s, straight) = without_line(times, values);
        let without = allan(&straight, dt_s, lasts_s);
        let last = without.last().map_or(0.0, |point| point.1);
        let drifts = (slope_per_s * lasts_s).abs() > DRIFT_SHOWS * last;
        Some(Self {
            from_s: times[0],
            for_s: lasts_s,
            allan: allan(values, dt_s, lasts_s),
            flicker: flicker(&without, lasts_s),
            drift_per_min: drifts.then_some(60.0 * slope_per_s),
        })
    }
}

/// The slope of the straight line and the values without it.
fn without_line(times: &[f64], values: &[f64]) -> (f64, Vec<f64>) {
    let count = values.len() as f64;
    let (t, v) = (times.iter().sum::<f64>() / count, values.iter().sum::<f64>() / count);
    let (xy, xx) = times.iter().zip(values).fold((0.0, 0.0), |(xy, xx), (time, value)| {
        (xy + (time - t) * (value - v), xx + (time - t) * (time - t))
    });
    let slope = xy / xx;
    (slope, times.iter().zip(values).map(|(time, value)| value - slope * (time - t)).collect())
}

fn flicker(allan: &[(f64, f64)], lasts_s: f64) -> Option<f64> {
    let (first_s, first) = *allan.first()?;
    let white = |tau_s: f64| first * (first_s / tau_s).sqrt();
    let mut beyond: Vec<f64> = allan
        .iter()
        .filter(|(tau_s, _)| MEANS * tau_s <= lasts_s)
        .filter(|(tau_s, deviation)| white(*tau_s).powi(2) < WHITE_SHARE * deviation * deviation)
        .map(|(tau_s, deviation)| (deviation * deviation - white(*tau_s).powi(2)).sqrt())
        .collect();
    beyond.sort_unstable_by(f64::total_cmp);
    let is_flat = beyond.len() >= FEWEST && beyond[beyond.len() - 1] <= FLAT * beyond[0];
    is_flat.then(|| beyond[beyond.len() / 2] / FLICKER_OF_DEVIATION)
}

/// Allan deviation at averaging times of 1, 2, 4.. samples, up to a quarter of the whole.
pub(super) fn allan(values: &[f64], dt_s: f64, lasts_s: f64) -> Vec<(f64, f64)> {
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
