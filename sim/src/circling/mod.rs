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
//! | [`technique`] | flattened or tightened while improving |
//! | `gyro`, `by_height` | what can be said without positions |
//! | [`turns`], [`circles`] | the figures of the turns, and of all of them |
//! | [`climb`] | all figures of a climb; [`text`] prints them, [`picture`] draws them |
//!
//! How good the figures are was measured on made thermals whose truth is known: [`table`], and the
//! page `centring` of the book.

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
pub mod technique;
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
        let of = |climb: &(f64, f64)| ClimbCentring::of(recording, track, *climb);
        Self { climbs: climbs.iter().filter_map(of).collect() }
    }
}
