//! Values that equal the one before: because the sensor is slower than it is asked, or because its
//! steps are coarse and it changes slowly?
//!
//! ```text
//! rate      the values have no steps; or they keep a beat: 95 % of the runs of equal values have
//!           a whole multiple of the same length of two or more; or most changes are larger than
//!           one step and yet more values stay than go to the next step on either side: by chance
//!           half as many would
//! steps     else: values go to the next step about as readily as they stay
//! ```
//!
//! The shares are guesses.

use serde::Serialize;

/// Values that are equal to the one before count as repeated when they are more than this share;
/// fewer happen by chance.
const REPEATS: f64 = 0.05;
/// Runs that a beat must fit, and the longest beat looked for.
const ON_BEAT: f64 = 0.95;
const LONGEST_BEAT: usize = 20;

/// Why values equal the one before.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Repeats {
    /// Hardly any do.
    None,
    /// The steps are coarse and the value changes slowly.
    Steps,
    /// The sensor gives fewer values than it is asked for.
    Rate,
}

impl Repeats {
    /// Of values with this share of repeated ones and these steps.
    pub(super) fn of(values: &[f64], repeated_share: f64, quantum: f64) -> Self {
        if repeated_share <= REPEATS {
            return Self::None;
        }
        let has_steps = quantum > 0.0 && go_to_the_next(values, quantum);
        if has_steps && !keeps_a_beat(values) { Self::Steps } else { Self::Rate }
    }
}

/// Whether most changes are of one step, or at least as many as there are values that stay.
fn go_to_the_next(values: &[f64], quantum: f64) -> bool {
    let changes = || values.windows(2).map(|pair| (pair[1] - pair[0]).abs());
    let stay = changes().filter(|by| *by == 0.0).count();
    let of_one = changes().filter(|by| *by > 0.0 && *by < 1.5 * quantum).count();
    2 * of_one >= values.len() - 1 - stay || of_one >= stay
}

fn keeps_a_beat(values: &[f64]) -> bool {
    let mut runs = Vec::new();
    let mut length = 1;
    for pair in values.windows(2) {
        if pair[0] == pair[1] {
            length += 1;
        } else {
            runs.push(length);
            length = 1;
        }
    }
    // The first may have begun before the recording.
    let runs = runs.get(1..).unwrap_or_default();
    let on = |beat: usize| runs.iter().filter(|run| *run % beat == 0).count();
    !runs.is_empty()
        && (2..=LONGEST_BEAT).any(|beat| on(beat) as f64 >= ON_BEAT * runs.len() as f64)
}

/// The smallest step that one in two hundred of the changes makes, where all of a sample of changes
/// are whole multiples of it.
pub(in crate::inspect) fn quantum(values: &[f64]) -> f64 {
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
