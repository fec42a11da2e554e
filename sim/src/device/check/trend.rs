//! The straight line through a pressure that is held: how fast it falls, and how well that is
//! known.
//!
//! ```text
//! means of 12 blocks -> least squares -> slope b, with s^2 = residuals / (12 - 2)
//! uncertainty^2 = (2.23 s / |t|)^2 + ((b of the second half - b of the first) / 2)^2
//! ```
//!
//! Block means, since a sensor's noise of one sample says little about what it does in a minute.
//! 2.23 is Student's t for 95 % and ten degrees of freedom. The halves differ where the line is
//! bent: while the gas still gives off the heat of being compressed, or the hose creeps.

/// Blocks of a trend.
const BLOCKS: usize = 12;
/// Student's t, 95 % on two sides, ten degrees of freedom (Fisher and Yates, from memory).
const STUDENT_T: f64 = 2.228;

/// A pressure's mean and its change.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trend {
    /// Mean, Pa.
    pub mean_pa: f64,
    /// Change in a minute, Pa.
    pub pa_per_min: f64,
    /// Half the width of the interval that holds the change 19 times in 20, Pa in a minute.
    pub uncertainty_pa_per_min: f64,
    /// How much faster it rises in the second half minute than in the first, Pa in a minute.
    pub bend_pa_per_min: f64,
}

/// The trend of times in s with pressures in Pa, in the order of time; `None` of fewer than three a
/// block.
pub fn of(samples: &[(f64, f64)]) -> Option<Trend> {
    if samples.len() < 3 * BLOCKS {
        return None;
    }
    let blocks: Vec<(f64, f64)> = (0..BLOCKS)
        .map(|block| {
            let place = |block: usize| block * samples.len() / BLOCKS;
            mean(&samples[place(block)..place(block + 1)])
        })
        .collect();
    let (slope, error) = slope(&blocks)?;
    let (first, second) = blocks.split_at(BLOCKS / 2);
    let bend = self::slope(second)?.0 - self::slope(first)?.0;
    Some(Trend {
        mean_pa: mean(&blocks).1,
        pa_per_min: 60.0 * slope,
        uncertainty_pa_per_min: 60.0 * (STUDENT_T * error).hypot(bend / 2.0),
        bend_pa_per_min: 60.0 * bend,
    })
}

fn mean(samples: &[(f64, f64)]) -> (f64, f64) {
    let count = samples.len() as f64;
    let sum = samples.iter().fold((0.0, 0.0), |sum, one| (sum.0 + one.0, sum.1 + one.1));
    (sum.0 / count, sum.1 / count)
}

/// Slope and its standard error; `None` where all are at one time.
fn slope(points: &[(f64, f64)]) -> Option<(f64, f64)> {
    let (time, value) = mean(points);
    let spread: f64 = points.iter().map(|(t, _)| (t - time).powi(2)).sum();
    let together: f64 = points.iter().map(|(t, v)| (t - time) * (v - value)).sum();
    let slope = Some(together / spread).filter(|slope| slope.is_finite())?;
    let rest = |(t, v): &(f64, f64)| (v - value - slope * (t - time)).powi(2);
    let variance = points.iter().map(rest).sum::<f64>() / (points.len() as f64 - 2.0);
    Some((slope, (variance / spread).sqrt()))
}
