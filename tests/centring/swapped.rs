//! Positions that contradict the recorded airspeed.

use super::judged::said;
use super::made::{Logger, Made};
use chirrup::circling::climb::Found;

/// A fix with latitude and longitude in each other's place.
fn swapped(line: &str) -> String {
    let fix = line.strip_prefix('B').filter(|fix| fix.len() > 30);
    let Some(fix) = fix else { return line.to_owned() };
    let (latitude, longitude) = (&fix[6..13], &fix[14..22]);
    // The longitude has a digit more for its degrees.
    format!("B{}{}N0{latitude}E{}", &fix[..6], &longitude[1..], &fix[23..])
}

#[test]
fn swapped_latitude_and_longitude_are_noticed_where_there_is_an_airspeed() {
    for seed in [1_000, 1_001, 1_002] {
        let igc = Made::of_seed(seed).igc(Logger { airspeed: true, late_s: 0.0 });
        assert!(said(&igc).circles().is_some(), "{seed}");
        let swapped: String = igc.lines().map(|line| swapped(line) + "\r\n").collect();
        let Found::None { absent } = said(&swapped).circles else { panic!("{seed}: believed") };
        assert_eq!(absent, "the positions give another airspeed than was recorded");
    }
}
