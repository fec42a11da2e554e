//! Where samples are missing, or the clock jumps: time that nothing shows was flown.
//!
//! ```text
//! gap   an interval between two samples that is longer than three of the usual, the longer of
//!       the medians of the ten before and of the ten after, and longer than 6 s
//! ```
//!
//! The figures are guesses.

use crate::recording::series::median;

const USUAL: f64 = 3.0;
const ABOUT: usize = 10;
const LEAST_S: f64 = 6.0;
/// Over a longer gap the heights and speeds between are not known.
const BLIND_S: f64 = 10.0;
/// In a longer gap it may have landed and been launched again.
const LANDS_WITHIN_S: f64 = 20.0;

/// An interval without samples, s.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Gap {
    /// The last sample before.
    pub from_s: f64,
    /// The first sample after.
    pub to_s: f64,
    /// How much longer than the usual it is.
    pub more_s: f64,
}

impl Gap {
    /// Whether what is in it is unknown, and not only interpolated.
    pub fn is_blind(&self) -> bool {
        self.to_s - self.from_s > BLIND_S
    }

    /// Whether a landing and a launch may be in it, by its length alone.
    pub fn may_hide(&self) -> bool {
        self.to_s - self.from_s > LANDS_WITHIN_S
    }

    /// Whether a descent from `from_m` above the ground, a launch and a climb to `to_m` have room
    /// in it: 6 m/s down, 45 s on the ground, 15 m/s up.
    pub fn has_room(&self, from_m: f64, to_m: f64) -> bool {
        self.to_s - self.from_s > from_m.max(0.0) / 6.0 + 45.0 + to_m.max(0.0) / 15.0
    }
}

/// The gaps between `times_s`.
pub(super) fn of(times_s: &[f64]) -> Vec<Gap> {
    let lasts_s: Vec<f64> = times_s.windows(2).map(|pair| pair[1] - pair[0]).collect();
    // Before and after: a recorder may change its rate.
    let usual_s = |place: usize| {
        let before = median(&lasts_s[place.saturating_sub(ABOUT)..place]);
        let after = median(&lasts_s[place + 1..(place + 1 + ABOUT).min(lasts_s.len())]);
        before.into_iter().chain(after).fold(0.0, f64::max)
    };
    let gap = |(place, lasts_s): (usize, &f64)| {
        let usual_s = (*lasts_s > LEAST_S).then(|| usual_s(place))?;
        let gap =
            Gap { from_s: times_s[place], to_s: times_s[place + 1], more_s: lasts_s - usual_s };
        (*lasts_s > USUAL * usual_s).then_some(gap)
    };
    lasts_s.iter().enumerate().filter_map(gap).collect()
}
