//! Lift that is the same everywhere has no middle: nothing is said of one.

use super::judged::said;
use super::made::fix;
use chirrup::circling::{Said, text};
use chirrup_flight::sensors::Noise;
use std::fmt::Write as _;

const SECONDS: usize = 400;
/// Mean climb, m/s; gusts, m/s, that last so long, s.
const CLIMB_MPS: f64 = 1.5;
const GUSTS_MPS: f64 = 0.7;
const GUSTS_S: f64 = 6.0;
const AIRSPEED_MPS: f64 = 25.0;
/// Turn rate and its unsteadiness, degrees a second.
const TURN_DPS: (f64, f64) = (14.0, 0.8);
const WIND_MPS: [f64; 2] = [5.0, 2.0];

/// A flight log of circles in lift that is the same everywhere, with gusts; with a climb that fades
/// by so much a second, m/s2.
fn flight(seed: u64, gusts_mps: f64, fades_mps2: f64) -> String {
    let mut text = String::from("AXXX001\r\nHFDTE150626\r\n");
    let mut noise = Noise::new(seed, 102);
    let kept = (-1.0 / GUSTS_S).exp();
    let (mut place, mut height_m, mut gust_mps, mut heading) = ([0.0; 2], 1_000.0, 0.0, 0.0_f64);
    for second in 0..SECONDS {
        gust_mps = kept * gust_mps + (1.0 - kept * kept).sqrt() * gusts_mps * noise.normal();
        height_m += CLIMB_MPS + gust_mps - fades_mps2 * (second as f64 - 0.5 * SECONDS as f64);
        heading += (TURN_DPS.0 + TURN_DPS.1 * noise.normal()).to_radians();
        place[0] += AIRSPEED_MPS * heading.sin() + WIND_MPS[0];
        place[1] += AIRSPEED_MPS * heading.cos() + WIND_MPS[1];
        let (minutes, seconds) = (second / 60, second % 60);
        let (fix, height) = (fix(place), f64::round(height_m));
        let _ = write!(text, "B10{minutes:02}{seconds:02}{fix}A{height:05}{height:05}\r\n");
    }
    text
}

/// Whether nothing is said of a middle, and a reason given.
fn is_silent(igc: &str) -> bool {
    let said = said(igc);
    let circles = said.circles().expect("it circles");
    let figures = [circles.off_centre_m, circles.lost_mps, circles.centred_after_s];
    let lines = text::lines(&said, &Default::default()).join(", ");
    figures.iter().all(|figure| matches!(figure, Said::Absent { .. }))
        && !lines.contains("middle")
        && !lines.contains("centred")
}

#[test]
fn where_the_lift_is_the_same_everywhere_nothing_is_said_of_its_middle() {
    assert!(is_silent(&flight(1, 0.0, 0.0)), "the climb is even");
    assert!(is_silent(&flight(2, 0.0, 0.006)), "the climb fades evenly");
    // Gusts can look like a core by chance: in less than one climb of ten.
    let deceived = (1_000..1_050).filter(|seed| !is_silent(&flight(*seed, GUSTS_MPS, 0.0)));
    let deceived: Vec<u64> = deceived.collect();
    assert!(deceived.len() < 5, "{deceived:?}");
}
