//! Whole turns, their middles against the best circle's, and the first that was centred.

use super::track::{Point, Track};
use chirrup_flight::centring::BestCircle;
use std::f64::consts::TAU;

/// Who is no further off is centred, m: as in the debrief of a recording.
pub const CENTRED_M: f64 = 25.0;

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
    /// Whether it goes to the right.
    pub is_right: bool,
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

/// Seconds until the first whole turn, begun at any moment, whose middle is within [`CENTRED_M`] of
/// the best circle's; `None` if there was none.
pub fn centred_after_s(track: &Track, best: &BestCircle) -> Option<f64> {
    let points = track.points();
    let turns = (0..points.len()).map_while(|from| turn_from(points, from, best));
    turns.map(|(_, turn)| turn).find(|turn| turn.off_m <= CENTRED_M).map(|turn| turn.from_s)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn the_debrief_of_a_recording_means_the_same_by_centred() {
        assert_eq!(CENTRED_M, crate::circling::centre::CENTRED_M);
    }

    /// Three circles to the left of 90 m, the first 60 m north of a core that drifts east, the
    /// others round it.
    fn made() -> Track {
        let mut track = Track::default();
        for step in 0..350 {
            let time_s = f64::from(step) * 0.2;
            let heading_rad = -TAU * time_s / 20.0;
            let north_m = if time_s < 20.0 { 60.0 } else { 0.0 };
            let core_east_m = 0.5 * time_s;
            track.keep(Point {
                time_s,
                // To the left the middle lies to the left of the heading.
                east_m: core_east_m + 90.0 * heading_rad.cos(),
                north_m: north_m - 90.0 * heading_rad.sin(),
                heading_rad,
                energy_m: 2.0 * time_s,
                core_east_m,
                ..Point::default()
            });
        }
        track
    }

    #[test]
    fn turns_of_a_made_flight_come_back_with_their_middles() {
        let best = BestCircle { climb_mps: 3.0, middle_m: (0.0, 0.0), radius_m: 90.0 };
        let turns = one_after_the_other(&made(), &best);
        assert_eq!(turns.len(), 3);
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
}
