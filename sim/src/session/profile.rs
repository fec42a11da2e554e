//! A whole trace at a glance: its height over time, and its climbs to jump to.

use chirrup_core::{Pascal, Sample, pressure_altitude};

/// The most points of a profile: more than a screen has columns.
const MOST_POINTS: usize = 1_000;
/// Who falls by so much has ended the climb, m.
const FALL_M: f64 = 30.0;
/// Who gains nothing for so long has ended it as well, s.
const PAUSE_S: f64 = 90.0;
/// A climb begins where the height last was so near its lowest point, m.
const NEAR_M: f64 = 10.0;
/// No glider climbs or falls faster, m/s; a launch by winch is half as fast (a guess).
const MOST_MPS: f64 = 40.0;
/// So many points in a row that agree with each other are believed after a jump.
const AGREEING: usize = 5;
/// Less gained is no climb to jump to, m.
const LEAST_GAIN_M: f64 = 80.0;

/// Height and climbs of a trace.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Profile {
    /// Seconds since the trace began, and pressure altitude, m.
    pub points: Vec<(f64, f64)>,
    /// The climbs, launches too, in the order of time.
    pub climbs: Vec<Climb>,
}

/// A stretch without a fall of 30 m or a pause of 90 s, in which 80 m or more were gained.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Climb {
    /// When it begins, seconds since the trace began.
    pub begin_s: f64,
    /// When it is highest.
    pub end_s: f64,
    /// Height gained, m.
    pub gain_m: f64,
}

impl Profile {
    /// That of samples with the time of each since the first, s.
    pub(super) fn of(samples: &[Sample], flown_s: &[f64]) -> Self {
        let heights =
            believable(flown_s.iter().zip(samples).filter_map(|(time_s, sample)| {
                Some((*time_s, height_m(sample.static_pressure?)?))
            }));
        let every = heights.len().div_ceil(MOST_POINTS).max(1);
        let last = heights.last().filter(|_| !(heights.len() - 1).is_multiple_of(every));
        let points = heights.iter().step_by(every).chain(last).copied().collect();
        Self { climbs: climbs(&heights), points }
    }
}

fn height_m(pressure: Pascal) -> Option<f64> {
    // What the instrument itself takes for a pressure.
    let is_usable = (5_000.0..=115_000.0).contains(&pressure.0);
    is_usable.then(|| f64::from(pressure_altitude(pressure).0))
}

/// Without points that nobody can have flown to from the one before; where several in a row agree
/// with each other the height has been set anew, and they count.
fn believable(points: impl Iterator<Item = (f64, f64)>) -> Vec<(f64, f64)> {
    let mut kept: Vec<(f64, f64)> = Vec::new();
    let mut doubted: Vec<(f64, f64)> = Vec::new();
    for point in points {
        if kept.last().is_none_or(|last| is_flown(*last, point)) {
            doubted.clear();
            kept.push(point);
            continue;
        }
        if doubted.last().is_some_and(|last| !is_flown(*last, point)) {
            doubted.clear();
        }
        doubted.push(point);
        if doubted.len() >= AGREEING {
            kept.append(&mut doubted);
        }
    }
    kept
}

fn is_flown((from_s, from_m): (f64, f64), (to_s, to_m): (f64, f64)) -> bool {
    (to_m - from_m).abs() <= MOST_MPS * (to_s - from_s) + NEAR_M
}

fn climbs(heights: &[(f64, f64)]) -> Vec<Climb> {
    let mut found = Vec::new();
    let Some(first) = heights.first() else { return found };
    let (mut before, mut lowest, mut left, mut highest) = (*first, *first, *first, *first);
    let mut end = |left: (f64, f64), highest: (f64, f64)| {
        let gain_m = highest.1 - left.1;
        if gain_m >= LEAST_GAIN_M {
            found.push(Climb { begin_s: left.0, end_s: highest.0, gain_m });
        }
    };
    for point in heights {
        let is_jump = !is_flown(before, *point);
        before = *point;
        let has_ended = is_jump || point.1 < highest.1 - FALL_M || point.0 > highest.0 + PAUSE_S;
        if has_ended {
            end(left, highest);
        }
        if has_ended || point.1 < lowest.1 {
            (lowest, left, highest) = (*point, *point, *point);
        } else if point.1 > highest.1 {
            highest = *point;
        }
        if point.1 < lowest.1 + NEAR_M {
            left = *point;
        }
    }
    end(left, highest);
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{Metre, Micros, pressure_at};

    fn profile(height_m: impl Fn(f64) -> f64, seconds: usize) -> Profile {
        let flown_s: Vec<f64> = (0..seconds).map(|second| second as f64).collect();
        let sample = |second: &f64| {
            let pressure = pressure_at(Metre(height_m(*second) as f32));
            Sample::of_static(Micros((second * 1e6) as i64), pressure)
        };
        let samples: Vec<Sample> = flown_s.iter().map(sample).collect();
        Profile::of(&samples, &flown_s)
    }

    /// 2 m/s up from 100 s to 300 s with bumps of 5 m, then 1 m/s down, a hill of 40 m, and 90 m.
    #[test]
    fn a_climb_with_bumps_is_one_and_a_hill_is_none() {
        let flown = |second: f64| {
            let thermal = 2.0 * (second.clamp(100.0, 300.0) - 100.0) + 5.0 * (second / 4.0).sin();
            let glide = 300.0 - second.clamp(300.0, 600.0);
            let hill = 40.0 * (-((second - 700.0) / 20.0).powi(2)).exp();
            let again = second.clamp(800.0, 890.0) - 800.0;
            800.0 + thermal + glide + hill + again
        };
        let profile = profile(flown, 1_000);
        let [first, second] = profile.climbs[..] else { panic!("{:?}", profile.climbs) };
        assert!((95.0..110.0).contains(&first.begin_s), "{first:?}");
        assert!((290.0..320.0).contains(&first.end_s), "{first:?}");
        assert!((385.0..405.0).contains(&first.gain_m), "{first:?}");
        assert!((80.0..100.0).contains(&second.gain_m), "{second:?}");
        assert_eq!(profile.points.len(), 1_000);
    }

    #[test]
    fn wild_heights_are_no_climbs_and_a_height_set_anew_is_none_either() {
        let flown = |second: f64| match second as usize {
            100 | 101 | 300 => 8_000.0,
            second if second >= 400 => 900.0,
            _ => 500.0,
        };
        let profile = profile(flown, 600);
        assert_eq!(profile.climbs, []);
        assert!(profile.points.iter().all(|(_, height_m)| *height_m < 1_000.0));
        assert!(profile.points.last().is_some_and(|(_, height_m)| *height_m > 890.0));
    }

    #[test]
    fn a_long_flight_keeps_its_last_point_and_not_too_many() {
        let profile = profile(|second| 1_000.0 + 0.01 * second, 20_000);
        assert!(profile.points.len() <= MOST_POINTS + 1);
        let last = profile.points.last().unwrap();
        assert!((last.0 - 19_999.0).abs() < 1e-9 && (last.1 - 1_199.99).abs() < 0.1, "{last:?}");
    }

    #[test]
    fn wild_pressures_are_left_out_and_nothing_gives_nothing() {
        assert_eq!(Profile::of(&[], &[]), Profile::default());
        let wild = Sample::of_static(Micros(0), Pascal(f32::NAN));
        assert_eq!(Profile::of(&[wild], &[0.0]), Profile::default());
    }
}
