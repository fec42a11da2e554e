//! How long a pressure is waited for: a while in which nothing moves, and never without end.

/// Longest wait in which the pressure is not steady, s, unless a longer one is asked for.
const MOST_S: f64 = 240.0;
/// A pressure that stays within this has not moved, Pa: a slow hand does more in five seconds.
const MOVED_PA: f64 = 50.0;

/// Counts the time in which no steady pressure is there.
#[derive(Clone, Copy, Debug)]
pub struct Patience {
    most_still_s: f64,
    /// Since when the pressure has stood still, s, and where, Pa.
    still: Option<(f64, f64)>,
    waited_s: f64,
    last_s: Option<f64>,
}

impl Patience {
    /// Waits so many seconds while nothing moves.
    pub fn new(most_still_s: f64) -> Self {
        Self { most_still_s, still: None, waited_s: 0.0, last_s: None }
    }

    /// Takes a pressure that is not steady yet; for how long it was waited, s, at the end.
    pub fn take(&mut self, time_s: f64, gauge_pa: f64) -> Option<f64> {
        self.waited_s += self.last_s.map_or(0.0, |last_s| time_s - last_s);
        self.last_s = Some(time_s);
        if self.still.is_none_or(|(_, pa)| (gauge_pa - pa).abs() > MOVED_PA) {
            self.still = Some((time_s, gauge_pa));
        }
        let most_s = MOST_S.max(self.most_still_s);
        if self.still_s(time_s) > self.most_still_s {
            Some(self.most_still_s)
        } else {
            (self.waited_s > most_s).then_some(most_s)
        }
    }

    /// For how long the pressure has stood still, s.
    pub fn still_s(&self, time_s: f64) -> f64 {
        self.still.map_or(0.0, |(since_s, _)| time_s - since_s)
    }

    /// The pressure is steady: what follows begins anew, but not the sum.
    pub fn rest(&mut self) {
        self.still = None;
        self.last_s = None;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// When it ends, s, for a pressure that is a function of time.
    fn ends(most_still_s: f64, pressure: impl Fn(f64) -> f64) -> Option<f64> {
        let mut patience = Patience::new(most_still_s);
        (0..1_000).map(f64::from).find(|t| patience.take(*t, pressure(*t)).is_some())
    }

    #[test]
    fn a_slow_hand_is_waited_for_and_nothing_is_not() {
        assert_eq!(ends(30.0, |_| 0.0), Some(31.0));
        assert_eq!(ends(30.0, |t| (20.0 * t).min(3_000.0)), Some(181.0), "it moves for 150 s");
        assert_eq!(ends(30.0, |t| 100.0 * (t % 7.0)), Some(241.0), "it moves for ever");
        assert_eq!(ends(600.0, |t| 100.0 * (t % 7.0)), Some(601.0));
    }
}
