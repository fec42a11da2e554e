//! How regularly the samples come.

use crate::recording::series::median;
use serde::Serialize;

/// The histogram goes from zero to this many times the median; longer intervals count in the last
/// bin.
const BINS: usize = 25;
const BINS_PER_MEDIAN: f64 = 8.0;
/// An interval longer than this many medians is a gap (a guess, the same as the core's).
const GAP_MEDIANS: f64 = 5.0;
/// Gaps that are listed one by one.
const MOST_GAPS: usize = 20;

/// Intervals between samples.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Timing {
    /// Samples in all.
    pub samples: usize,
    /// From the first to the last.
    pub duration_s: f64,
    /// Samples a second, from the mean of the intervals that are not gaps.
    pub rate_hz: f64,
    /// The interval that half of them exceed.
    pub median_interval_s: f64,
    /// Standard deviation of the intervals that are not gaps.
    pub jitter_s: f64,
    /// The shortest interval.
    pub shortest_s: f64,
    /// The longest interval, gaps included.
    pub longest_s: f64,
    /// Gaps in all.
    pub gaps: usize,
    /// The first of them.
    pub first_gaps: Vec<Gap>,
    /// How many intervals are nearest to each eighth of the median, from none of it on; the last
    /// counts all that are longer too.
    pub histogram: Vec<usize>,
}

/// A pause.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Gap {
    /// Time of the sample before it.
    pub at_s: f64,
    /// How long it lasts.
    pub lasts_s: f64,
}

impl Timing {
    /// Analyses increasing `times_s`, two at least.
    pub fn of(times_s: &[f64]) -> Self {
        let intervals: Vec<f64> = times_s.windows(2).map(|pair| pair[1] - pair[0]).collect();
        let median_s = median(&intervals).unwrap_or(0.0);
        let is_gap = |interval: &f64| *interval > GAP_MEDIANS * median_s;
        let regular: Vec<f64> =
            intervals.iter().copied().filter(|interval| !is_gap(interval)).collect();
        let mean_s = regular.iter().sum::<f64>() / regular.len() as f64;
        let variance = regular.iter().map(|interval| (interval - mean_s).powi(2)).sum::<f64>()
            / regular.len() as f64;
        let gaps: Vec<Gap> = times_s
            .iter()
            .zip(&intervals)
            .filter(|(_, interval)| is_gap(interval))
            .map(|(at_s, lasts_s)| Gap { at_s: *at_s, lasts_s: *lasts_s })
            .collect();
        Self {
            samples: times_s.len(),
            duration_s: times_s[times_s.len() - 1] - times_s[0],
            rate_hz: 1.0 / mean_s,
            median_interval_s: median_s,
            jitter_s: variance.sqrt(),
            shortest_s: intervals.iter().copied().fold(f64::INFINITY, f64::min),
            longest_s: intervals.iter().copied().fold(0.0, f64::max),
            gaps: gaps.len(),
            first_gaps: gaps.into_iter().take(MOST_GAPS).collect(),
            histogram: histogram(&intervals, median_s / BINS_PER_MEDIAN),
        }
    }

    /// Width of a bin of the histogram.
    pub fn bin_s(&self) -> f64 {
        self.median_interval_s / BINS_PER_MEDIAN
    }
}

fn histogram(intervals: &[f64], width_s: f64) -> Vec<usize> {
    let mut counts = vec![0; BINS];
    for interval in intervals {
        counts[((interval / width_s).round() as usize).min(BINS - 1)] += 1;
    }
    counts
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_gap_is_told_apart_and_spoils_no_figure() {
        let mut times: Vec<f64> = (0..100).map(|step| f64::from(step) * 0.02).collect();
        times.extend((0..100).map(|step| 10.0 + f64::from(step) * 0.02));
        let timing = Timing::of(&times);
        assert_abs_diff_eq!(timing.rate_hz, 50.0, epsilon = 1e-6);
        assert_abs_diff_eq!(timing.jitter_s, 0.0, epsilon = 1e-9);
        assert_eq!(timing.gaps, 1);
        assert_abs_diff_eq!(timing.first_gaps[0].at_s, 1.98, epsilon = 1e-9);
        assert_abs_diff_eq!(timing.first_gaps[0].lasts_s, 8.02, epsilon = 1e-9);
        assert_eq!(timing.histogram.iter().sum::<usize>(), 199);
    }

    #[test]
    fn jitter_is_the_standard_deviation_of_the_intervals() {
        // Alternating intervals of 15 and 25 ms.
        let times: Vec<f64> = (0..1001)
            .map(|step| f64::from(step / 2) * 0.04 + f64::from(step % 2) * 0.015)
            .collect();
        assert_abs_diff_eq!(Timing::of(&times).jitter_s, 0.005, epsilon = 1e-6);
    }
}
