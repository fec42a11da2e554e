//! Circling stretches: one-sided turning above 6 degrees a second over 12 s, three turns or more.

use std::f64::consts::TAU;
use std::ops::Range;

/// The turn rate is the mean over this, s.
const OVER_S: usize = 12;
const LEAST_RADPS: f64 = 6.0 * std::f64::consts::PI / 180.0;
const LEAST_TURNS: f64 = 3.0;

/// A stretch of circling.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Stretch {
    /// The seconds of the path.
    pub seconds: Range<usize>,
    /// Whether it turns right, else left.
    pub is_right: bool,
}

impl Stretch {
    /// 1 to the right, -1 to the left.
    pub fn sense(&self) -> f64 {
        if self.is_right { 1.0 } else { -1.0 }
    }
}

/// All of them, from the direction of flight each second in rad, `None` where it is not known: it
/// ends a stretch.
pub(super) fn all(directions_rad: &[Option<f64>]) -> Vec<Stretch> {
    let turned = turned(directions_rad);
    let mut found = Vec::new();
    let mut from = 0;
    while from < turned.len() {
        let sense = sense_at(&turned, from);
        let same = (from..turned.len()).take_while(|at| sense_at(&turned, *at) == sense);
        let to = same.last().unwrap_or(from) + 1;
        if sense != 0 && turned[from..to].iter().flatten().count() == to - from {
            let angle = |at: usize| turned[at].unwrap_or(0.0);
            if (angle(to - 1) - angle(from)).abs() >= LEAST_TURNS * TAU {
                found.push(Stretch { seconds: from..to, is_right: sense > 0 });
            }
        }
        from = to;
    }
    found
}

/// The directions without their jumps of a whole turn, anew after each gap.
fn turned(directions_rad: &[Option<f64>]) -> Vec<Option<f64>> {
    let mut last: Option<f64> = None;
    let unwrapped = directions_rad.iter().map(|direction| {
        last = direction.map(|direction| match last {
            Some(last) => direction - TAU * ((direction - last) / TAU).round(),
            None => direction,
        });
        last
    });
    unwrapped.collect()
}

/// 1 where it circles to the right, -1 to the left, else 0.
fn sense_at(turned: &[Option<f64>], at: usize) -> i8 {
    let known = |place: usize| turned.get(place).copied().flatten();
    // At the ends of what is known the mean is over what there is.
    let mut reach = (at, at);
    for _ in 0..OVER_S / 2 {
        if reach.0 > 0 && known(reach.0 - 1).is_some() {
            reach.0 -= 1;
        }
        if known(reach.1 + 1).is_some() {
            reach.1 += 1;
        }
    }
    let (Some(from), Some(to), Some(_)) = (known(reach.0), known(reach.1), known(at)) else {
        return 0;
    };
    let rate = (to - from) / (reach.1 - reach.0).max(1) as f64;
    if rate.abs() < LEAST_RADPS { 0 } else { rate.signum() as i8 }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Directions that turn by `rates_deg` for so many seconds each.
    fn flown(rates_deg: &[(f64, usize)]) -> Vec<Option<f64>> {
        let mut direction = 0.0_f64;
        let mut all = Vec::new();
        for (rate, seconds) in rates_deg {
            for _ in 0..*seconds {
                direction += rate.to_radians();
                all.push(Some(direction.sin().atan2(direction.cos())));
            }
        }
        all
    }

    #[test]
    fn three_turns_one_way_are_a_stretch_and_fewer_are_none() {
        let found = all(&flown(&[(0.0, 40), (15.0, 80), (0.0, 40), (-18.0, 80), (-18.0, 10)]));
        assert_eq!(found.len(), 2, "{found:?}");
        assert!(found[0].is_right && !found[1].is_right);
        assert!((37..=43).contains(&found[0].seconds.start), "{found:?}");
        assert!((117..=123).contains(&found[0].seconds.end), "{found:?}");
        assert_eq!(found[1].seconds.end, 250);
        assert!(
            all(&flown(&[(0.0, 40), (15.0, 60), (0.0, 40)])).is_empty(),
            "two turns and a half"
        );
        assert!(all(&flown(&[(5.0, 400)])).is_empty(), "too slow");
        assert!(all(&[]).is_empty() && all(&[None; 50]).is_empty());
    }

    #[test]
    fn what_is_not_known_ends_a_stretch() {
        let mut directions = flown(&[(15.0, 160)]);
        directions[80] = None;
        let found = all(&directions);
        assert_eq!(found.len(), 2, "{found:?}");
        assert_eq!((found[0].seconds.end, found[1].seconds.start), (80, 81));
    }
}
