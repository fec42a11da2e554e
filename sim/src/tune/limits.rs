//! What the recommended settings must not exceed.

use super::score::Score;
use serde::Serialize;

/// Limits; absent ones do not count.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Limits {
    /// False beeps a minute of air that does not climb.
    pub false_beeps_per_min: Option<f64>,
    /// Lag, s.
    pub lag_s: Option<f64>,
    /// Share of the climbs that is missed, 0 to 1.
    pub missed_share: Option<f64>,
}

/// A figure, its limit, and how both are written.
type Held = (f64, Option<f64>, fn(f64) -> String);

impl Limits {
    /// Each figure that has a limit, the limit, and how it is written.
    fn each(&self, score: &Score) -> [Held; 3] {
        [
            (score.false_beeps_per_min, self.false_beeps_per_min, |figure| {
                format!("{:.0} false beeps an hour", 60.0 * figure)
            }),
            (score.lag_s, self.lag_s, |figure| format!("{figure:.2} s of lag")),
            (score.missed_share, self.missed_share, |figure| {
                format!("{:.0} % of climbs missed", 100.0 * figure)
            }),
        ]
    }

    /// How far `score` is beyond the limits, as a sum of shares of them; 0 within all.
    pub fn excess(&self, score: &Score) -> f64 {
        let beyond = |(figure, limit, _): Held| {
            limit.map_or(0.0, |limit| ((figure - limit) / limit.max(0.01)).max(0.0))
        };
        self.each(score).into_iter().map(beyond).sum()
    }

    /// The figures of `score` that are beyond their limits, in words.
    pub fn exceeded(&self, score: &Score) -> Vec<String> {
        let said = |(figure, limit, words): Held| {
            let limit = limit.filter(|limit| figure > *limit)?;
            Some(format!("{} where at most {} are wanted", words(figure), words(limit)))
        };
        self.each(score).into_iter().filter_map(said).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_exceeds_a_limit_is_named_with_it() {
        let limits =
            Limits { false_beeps_per_min: Some(1.0), lag_s: Some(1.0), missed_share: Some(0.05) };
        let good = Score { false_beeps_per_min: 1.0, lag_s: 0.9, ..Score::default() };
        assert_eq!((limits.excess(&good), limits.exceeded(&good).len()), (0.0, 0));
        let bad = Score { false_beeps_per_min: 2.0, missed_share: 0.1, ..good };
        assert!((limits.excess(&bad) - 2.0).abs() < 1e-9);
        assert_eq!(
            limits.exceeded(&bad),
            [
                "120 false beeps an hour where at most 60 false beeps an hour are wanted",
                "10 % of climbs missed where at most 5 % of climbs missed are wanted"
            ]
        );
        assert_eq!(Limits::default().excess(&bad), 0.0);
    }
}
