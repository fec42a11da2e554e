//! A made climb, what is said of it, and how it was.

use super::made::{Logger, Made};
use super::truth::Truth;
use crate::support::{folder, write};
use chirrup::circling::{Circles, Circling, ClimbCentring};
use chirrup::input::Input;
use chirrup::recording::Recording;
use chirrup::recording::track::Track;
use chirrup_flight::centring::thermal::Shape;
use std::path::Path;
use std::sync::atomic::AtomicBool;

/// A made climb, judged.
pub struct Judged {
    /// The thermal's shape.
    pub shape: Shape,
    /// How it was.
    pub truth: Truth,
    /// Where the wind blows to, m/s.
    pub wind_mps: [f64; 2],
    /// What is said of it.
    pub said: ClimbCentring,
    /// The logger.
    pub logger: Logger,
    /// Mean of the recorded airspeed, m/s.
    pub airspeed_mps: f64,
}

impl Judged {
    /// As its own logger writes it.
    pub fn of(made: &Made) -> Self {
        Self::by(made, made.logger())
    }

    /// As another logger writes it.
    pub fn by(made: &Made, logger: Logger) -> Self {
        let mean = |sum: f64| sum / made.seen.len() as f64;
        Self {
            shape: made.shape(),
            truth: Truth::of(made),
            wind_mps: made.wind_mps,
            said: said(&made.igc(logger)),
            logger,
            airspeed_mps: mean((0..made.seen.len()).map(|step| made.airspeed_mps(step)).sum()),
        }
    }

    /// Its circles.
    pub fn circles(&self) -> &Circles {
        self.said.circles().expect("it circles")
    }
}

/// What is said of a flight log that is one climb.
pub fn said(igc: &str) -> ClimbCentring {
    let folder = folder();
    let path = write(&folder, "made.igc", igc);
    let recording = read(Path::new(&path));
    let track = Track::of(&recording);
    let whole = (0.0, recording.duration_s());
    Circling::of(&recording, &track, &[whole]).climbs.remove(0)
}

/// A recording.
pub fn read(path: &Path) -> Recording {
    let none = AtomicBool::new(false);
    Recording::read_unshown(&Input::new(path), &Default::default(), &none).expect("it can be read")
}
