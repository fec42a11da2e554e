//! Everything that is measured of one reading of one flight.

use super::case::{Case, Plan};
use super::circle::{Harmonic, harmonic};
use super::entry::{Entries, entries, error_before_mps};
use super::flown::Flown;
use super::heard::Heard;
use super::rise::Rise;
use super::sounds::false_climb;
use crate::false_climb::FalseClimb;

/// The first so many seconds are for the filter to settle.
pub const SETTLES_S: f64 = 40.0;

/// What one reading did in one flight.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Tally {
    /// Error of the reading against the truth, m/s rms.
    pub error_mps: f64,
    /// The largest error, m/s.
    pub worst_mps: f64,
    /// The mean error, either sign, m/s.
    pub mean_mps: f64,
    /// Error in the glides before the entries of thermals, m/s rms; `None` without entries.
    pub before_mps: Option<f64>,
    /// False climb; in a flight that leaves thermals, that of the minute after each.
    pub false_climb: FalseClimb,
    /// Entries of thermals.
    pub entries: Entries,
    /// What circles become, where there are circles.
    pub harmonic: Option<Harmonic>,
}

impl Tally {
    /// Measures a reading.
    pub fn of(case: &Case, flown: &Flown, heard: &Heard) -> Self {
        let is_counted = |place: usize| flown.times_s[place] > SETTLES_S;
        let leaves = case.plan == Plan::Leaves;
        Self {
            error_mps: error_mps(flown, heard),
            worst_mps: errors(flown, heard).fold(0.0, |worst, error| worst.max(error.abs())),
            mean_mps: mean_mps(flown, heard),
            before_mps: error_before_mps(flown, heard, case.rise),
            false_climb: false_climb(flown, heard, |place| {
                is_counted(place) && !(leaves && flown.circles[place])
            }),
            entries: entries(flown, heard, case.rise),
            harmonic: match case.rise {
                Rise::Wave { period_s, .. } => Some(harmonic(flown, heard, SETTLES_S, period_s)),
                _ => None,
            },
        }
    }
}

fn error_mps(flown: &Flown, heard: &Heard) -> f64 {
    let (sum, count) = errors(flown, heard)
        .fold((0.0, 0.0), |(sum, count), error| (sum + error * error, count + 1.0));
    (sum / f64::max(count, 1.0)).sqrt()
}

fn mean_mps(flown: &Flown, heard: &Heard) -> f64 {
    let (sum, count) =
        errors(flown, heard).fold((0.0, 0.0), |(sum, count), error| (sum + error, count + 1.0));
    sum / f64::max(count, 1.0)
}

/// Every error that counts.
fn errors<'a>(flown: &'a Flown, heard: &'a Heard) -> impl Iterator<Item = f64> + 'a {
    let all = flown.times_s.iter().zip(&flown.truth_mps).zip(&heard.reading_mps);
    all.filter(|((time_s, _), _)| **time_s > SETTLES_S)
        .filter_map(|((_, truth), reading)| Some((*reading)? - truth))
}
