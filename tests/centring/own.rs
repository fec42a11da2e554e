//! A recording of our own, of which the legs are known: `aerotow-and-thermal`.

use super::judged::read;
use chirrup::circling::Circling;
use chirrup::recording::flight::Flight;
use chirrup::recording::track::Track;
use std::path::Path;

/// The scenario: from the release on a circle 110 m north of the core, then 80 m, and from 7:30
/// (`chirrup fly` prints it) round the core; in a wind from 280 degrees of 4 m/s, which grows with
/// the height.
#[test]
fn the_thermal_of_the_aerotow_was_circled_as_its_legs_say() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../recordings/aerotow-and-thermal.csv");
    let recording = read(&path);
    let track = Track::of(&recording);
    let climbs = Flight::of(&recording, &track).climbs;
    let climbs: Vec<(f64, f64)> = climbs.iter().map(|climb| (climb.from_s, climb.to_s)).collect();
    assert_eq!(climbs.len(), 1);
    let said = Circling::of(&recording, &track, &climbs).climbs.remove(0);
    let circles = said.circles().expect("it circles");
    for turn in &circles.turns {
        let off_m = turn.off_centre_m.expect("a core shows");
        if turn.to_s < 450.0 {
            assert!((55.0..115.0).contains(&off_m), "{turn:?}");
        } else if turn.from_s > 465.0 {
            assert!(off_m <= 25.0, "{turn:?}");
        }
    }
    let centred_at_s = circles.from_s + circles.centred_after_s.value().expect("it is centred");
    assert!((centred_at_s - 450.0).abs() <= 10.0, "{centred_at_s}");
    let wind = circles.wind.expect("there are positions");
    assert!((wind.from_deg - 280.0).abs() < 10.0, "{wind:?}");
    assert!((wind.speed_mps.value().expect("it is said") - 4.0).abs() < 1.0, "{wind:?}");
    assert!(circles.lost_mps.value().is_none(), "who is centred has lost nothing");
}
