//! How well a pilot centred a thermal, from a recording: pure analysis, nothing is read or written.
//!
//! ```text
//! path (a second each) -> stretch -> air (wind; whole turns in the air's frame)
//!                                      -> bell_fit -> centre
//!                                      -> harmonic, technique
//! gyro -> stretch -> harmonic, technique          no positions: turns, no directions
//! by_height                                       neither: how soon it was good
//! ```
//!
//! | module | what it gives |
//! |---|---|
//! | [`figure`] | what is said: a value with its error, a bound, or why nothing |
//! | [`path`] | height, energy height, place and velocity each second |
//! | `ground`, `local_cubic` | metres from degrees; velocity from places |
//! | `stretch` | where it circles |
//! | `wind`, `air` | wind and airspeed from ground speeds; whole turns in the air |
//! | `bell`, `bell_fit` | a drifting round bell, fitted to the climb |
//! | [`centre`] | distance off the middle, climb lost, when it was centred |
//! | `harmonic` | a turn's strength by heading |
//! | [`crate::technique`] | flattened or tightened while improving |
//! | `gyro`, `by_height` | what can be said without positions |
//! | [`turns`], [`circles`] | the figures of the turns, and of all of them |
//! | [`climb`] | all figures of a climb; [`text`] prints them, [`picture`] draws them |
//!
//! How good the figures are was measured on made thermals whose truth is known (`tests/centring`);
//! the page `centring` of the book has the tables.

mod air;
mod bell;
mod bell_fit;
mod by_height;
pub mod centre;
pub mod circles;
pub mod climb;
pub mod figure;
mod ground;
mod gyro;
mod harmonic;
mod local_cubic;
pub mod path;
pub mod picture;
mod stretch;
pub mod text;
pub mod turns;
mod wind;

pub use circles::Circles;
pub use climb::ClimbCentring;
pub use figure::Said;

use crate::recording::Recording;
use crate::recording::track::Track;
use serde::Serialize;

/// How well the climbs of a recording were centred, in the shape of its JSON.
#[derive(Clone, Debug, Default, Serialize)]
#[serde(transparent)]
pub struct Circling {
    /// A climb each, in the order in which they were given.
    pub climbs: Vec<ClimbCentring>,
}

impl Circling {
    /// Analyses the climbs `from_s` to `to_s` of a recording, whose heights are `track`; climbs
    /// without two samples are left out.
    pub fn of(recording: &Recording, track: &Track, climbs: &[(f64, f64)]) -> Self {
        let numbered = (1..).zip(climbs.iter().copied());
        let of = |climb| ClimbCentring::of(recording, track, climb);
        Self { climbs: numbered.filter_map(of).collect() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trace::Position;
    use crate::trace::testing::seeded;
    use chirrup_core::{Metre, Micros, Sample, pressure_at};
    use proptest::prelude::*;

    /// A recording of a sample a second, with heights and positions.
    fn recording(heights_m: &[f32], positions: Vec<Option<Position>>) -> Recording {
        let mut recording = Recording::default();
        recording.positions = positions;
        for (second, height) in heights_m.iter().enumerate() {
            let time = Micros(second as i64 * 1_000_000);
            recording.samples.push(Sample::of_static(time, pressure_at(Metre(*height))));
        }
        recording
    }

    fn said(recording: &Recording) -> ClimbCentring {
        let climbs = [(0.0, f64::from(u32::MAX))];
        Circling::of(recording, &Track::of(recording), &climbs).climbs.remove(0)
    }

    /// Circles of 25 s in a climb that is the same everywhere.
    fn even_climb(jumps: &[(usize, f64)]) -> ClimbCentring {
        let heights: Vec<f32> = (0..240).map(|second| 1_000.0 + 2.0 * second as f32).collect();
        let position = |second: usize| {
            let (sine, cosine) = (0.25 * second as f64).sin_cos();
            let jump = jumps.iter().find(|(at, _)| *at == second).map_or(0.0, |(_, jump)| *jump);
            Some(Position {
                latitude_deg: 48.0 + 1e-3 * cosine + jump,
                longitude_deg: 9.0 + 1.5e-3 * sine,
                gnss_altitude_m: None,
            })
        };
        said(&recording(&heights, (0..240).map(position).collect()))
    }

    #[test]
    fn where_the_climb_is_the_same_everywhere_nothing_is_said_to_be_lost() {
        let said = even_climb(&[]);
        let circles = said.circles().expect("it circles");
        assert_eq!(circles.turns.len(), 9);
        assert!(circles.lost_mps.value().is_none(), "{:?}", circles.lost_mps);
        assert!(circles.off_centre_m.value().is_none(), "{:?}", circles.off_centre_m);
        assert!(circles.centred_after_s.value().is_none(), "{:?}", circles.centred_after_s);
        assert!(text::lines(&said, &Default::default())[0].starts_with("9 turns to the"));
        assert_eq!(picture::draw(&said, &Default::default()), None);
        assert!(circles.better_side_deg.value().is_none());
        let swing = circles.turns.iter().map(|turn| turn.swing_mps).fold(0.0, f64::max);
        assert!(swing < 0.1, "{swing}");
    }

    #[test]
    fn without_positions_and_without_a_climb_there_are_reasons() {
        let nowhere = said(&recording(&[1_000.0; 100], Vec::new()));
        assert!(nowhere.circles().is_none());
        assert_eq!(nowhere.why_no_picture(), "the trace has no positions");
        assert_eq!(nowhere.to_90_percent_s, Said::absent("no 40 s of climb"));
        assert_eq!(picture::draw(&nowhere, &Default::default()), None);
        let none: [(f64, f64); 2] = [(5.0, 5.5), (900.0, 950.0)];
        let recording = recording(&[1_000.0; 100], Vec::new());
        assert!(Circling::of(&recording, &Track::of(&recording), &none).climbs.is_empty());
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 96, ..seeded() })]

        #[test]
        fn no_positions_at_all_make_it_panic(
            rows in proptest::collection::vec(
                (0.0_f32..9_000.0, proptest::option::of((-90.0_f64..90.0, -180.0_f64..180.0))),
                2..150,
            ),
        ) {
            let heights: Vec<f32> = rows.iter().map(|(height, _)| *height).collect();
            let position = |place: (f64, f64)| Position {
                latitude_deg: place.0,
                longitude_deg: place.1,
                gnss_altitude_m: None,
            };
            let positions = rows.iter().map(|(_, place)| place.map(position)).collect();
            let said = said(&recording(&heights, positions));
            text::lines(&said, &Default::default());
            picture::draw(&said, &Default::default());
        }

        #[test]
        fn wild_positions_among_good_ones_do_no_harm(
            jumps in proptest::collection::vec((0_usize..240, -40.0_f64..40.0), 0..8),
        ) {
            let said = even_climb(&jumps);
            text::lines(&said, &Default::default());
            if let Some(svg) = picture::draw(&said, &Default::default()) {
                prop_assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
            }
        }
    }
}
