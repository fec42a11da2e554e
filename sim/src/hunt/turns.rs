//! Whole turns, their middles against the best circle's, and the first that was centred.

use super::track::{Point, Track};
use chirrup_flight::centring::BestCircle;
use std::f64::consts::TAU;

/// Who is no further off is centred, m: as in the debrief of a recording.
pub const CENTRED_M: f64 = 25.0;
/// A slower turn is no circle in a thermal, s: at the game's 25 m/s that is 22 degrees of bank.
const SLOWEST_S: f64 = 40.0;
/// Scatter of the distance from a circle's middle over its mean: an oval has more (a guess: who
/// flattens by 10 degrees for half a turn has about 0.1).
const MOST_SCATTER: f64 = 0.25;
/// Who centred is no further off in the next turn, m (a guess: a correction in the next turn may
/// move the circle by some metres).
const NEXT_M: f64 = 1.5 * CENTRED_M;

/// A whole turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turn {
    /// Where it begins and ends, s since the climb counts.
    pub from_s: f64,
    /// And ends.
    pub to_s: f64,
    /// Its middle, m east and north of the thermal's.
    pub middle_m: (f64, f64),
    /// Mean climb, m/s.
    pub climb_mps: f64,
    /// Distance of its middle from the best circle's, m.
    pub off_m: f64,
    /// Scatter of the distance from its middle over the mean distance; 0 for a circle.
    pub scatter: f64,
    /// Whether it goes to the right.
    pub is_right: bool,
}

impl Turn {
    /// Whether it is a circle, rather than a way on which the heading came round some time.
    fn is_circle(&self) -> bool {
        self.to_s - self.from_s <= SLOWEST_S && self.scatter <= MOST_SCATTER
    }
}

/// Scatter of the distances from a middle over their mean.
fn scatter(turn: &[Point], middle_m: (f64, f64)) -> f64 {
    let away_m = |point: &Point| {
        let (east_m, north_m) = point.from_core_m();
        libm::hypot(east_m - middle_m.0, north_m - middle_m.1)
    };
    let count = turn.len() as f64;
    let mean_m = turn.iter().map(away_m).sum::<f64>() / count;
    let square = |point: &Point| (away_m(point) - mean_m) * (away_m(point) - mean_m);
    libm::sqrt(turn.iter().map(square).sum::<f64>() / count) / mean_m
}

/// The turn that begins at a point, if it is flown to its end.
fn turn_from(points: &[Point], from: usize, best: &BestCircle) -> Option<(usize, Turn)> {
    let first = points.get(from)?;
    let turned = |point: &Point| point.heading_rad - first.heading_rad;
    let length = points[from..].iter().position(|point| turned(point).abs() >= TAU)?;
    let (turn, last) = (&points[from..from + length], &points[from + length]);
    let mean = |of: fn((f64, f64)) -> f64| {
        turn.iter().map(|point| of(point.from_core_m())).sum::<f64>() / length as f64
    };
    let middle_m = (mean(|place| place.0), mean(|place| place.1));
    let found = Turn {
        from_s: first.time_s,
        to_s: last.time_s,
        middle_m,
        climb_mps: (last.energy_m - first.energy_m) / (last.time_s - first.time_s),
        off_m: libm::hypot(middle_m.0 - best.middle_m.0, middle_m.1 - best.middle_m.1),
        scatter: scatter(turn, middle_m),
        is_right: turned(last) > 0.0,
    };
    Some((from + length, found))
}

/// One whole turn after the other, from the beginning.
pub fn one_after_the_other(track: &Track, best: &BestCircle) -> Vec<Turn> {
    let mut turns = Vec::new();
    let mut from = 0;
    while let Some((next, turn)) = turn_from(track.points(), from, best) {
        turns.push(turn);
        from = next;
    }
    turns
}

/// Seconds until the first circle, begun at any moment, whose middle is within [`CENTRED_M`] of the
/// best circle's, and after which the glider stays there: the next turn is a circle too, and no
/// further off than one and a half times that. `None` if there was none.
pub fn centred_after_s(track: &Track, best: &BestCircle) -> Option<f64> {
    let points = track.points();
    let stays = |next: usize| {
        turn_from(points, next, best)
            .is_some_and(|(_, turn)| turn.is_circle() && turn.off_m <= NEXT_M)
    };
    (0..points.len())
        .map_while(|from| turn_from(points, from, best))
        .find(|(next, turn)| turn.is_circle() && turn.off_m <= CENTRED_M && stays(*next))
        .map(|(_, turn)| turn.from_s)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn the_debrief_of_a_recording_means_the_same_by_centred() {
        assert_eq!(CENTRED_M, crate::circling::centre::CENTRED_M);
    }

    /// Turns to the left round a core that drifts east, for 150 s: how many seconds each takes, and
    /// by the time its radius east and north and how far north of the core its middle is, m.
    fn flown(period_s: f64, of: impl Fn(f64) -> [f64; 3]) -> Track {
        let mut track = Track::default();
        for step in 0..750 {
            let time_s = f64::from(step) * 0.2;
            let heading_rad = -TAU * time_s / period_s;
            let [radius_east_m, radius_north_m, middle_m] = of(time_s);
            let core_east_m = 0.5 * time_s;
            track.keep(Point {
                time_s,
                // To the left the middle lies to the left of the heading.
                east_m: core_east_m + radius_east_m * heading_rad.cos(),
                north_m: middle_m - radius_north_m * heading_rad.sin(),
                heading_rad,
                energy_m: 2.0 * time_s,
                core_east_m,
                ..Point::default()
            });
        }
        track
    }

    const BEST: BestCircle = BestCircle { climb_mps: 3.0, middle_m: (0.0, 0.0), radius_m: 90.0 };

    /// Circles of 90 m, the first 60 m north of the core, the others round it.
    fn made() -> Track {
        flown(20.0, |time_s| [90.0, 90.0, if time_s < 20.0 { 60.0 } else { 0.0 }])
    }

    #[test]
    fn turns_of_a_made_flight_come_back_with_their_middles() {
        let best = BEST;
        let turns = one_after_the_other(&made(), &best);
        assert_eq!(turns.len(), 7);
        assert_abs_diff_eq!(turns[0].middle_m.1, 60.0, epsilon = 0.5);
        assert_abs_diff_eq!(turns[0].off_m, 60.0, epsilon = 0.5);
        assert_abs_diff_eq!(turns[1].off_m, 0.0, epsilon = 0.5);
        assert_abs_diff_eq!(turns[1].climb_mps, 2.0, epsilon = 1e-9);
        assert!(!turns[0].is_right);
        // Centred from where 35 m of the 60 m are gone in the mean.
        let after_s = centred_after_s(&made(), &best).expect("two turns round it");
        assert!((10.0..=14.0).contains(&after_s), "{after_s} s");
        let far = BestCircle { middle_m: (200.0, 0.0), ..best };
        assert_eq!(centred_after_s(&made(), &far), None);
    }

    #[test]
    fn a_wide_turn_and_an_oval_round_the_core_are_not_centred() {
        let centred = |period_s, of: [f64; 3]| centred_after_s(&flown(period_s, |_| of), &BEST);
        assert_eq!(centred(30.0, [110.0, 110.0, 0.0]), Some(0.0));
        assert_eq!(centred(45.0, [110.0, 110.0, 0.0]), None);
        assert_eq!(centred(30.0, [110.0, 90.0, 0.0]), Some(0.0));
        assert_eq!(centred(30.0, [200.0, 60.0, 0.0]), None);
    }

    #[test]
    fn one_turn_round_the_core_on_the_way_past_it_is_not_centred() {
        let past = |mps: f64| flown(20.0, move |time_s| [90.0, 90.0, mps * (time_s - 30.0)]);
        assert_eq!(centred_after_s(&past(4.0), &BEST), None);
        assert!(centred_after_s(&past(0.5), &BEST).is_some());
    }
}
