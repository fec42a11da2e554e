//! What is to be measured, and whether it is drawn.

use crate::output::files::PlotFormat;
use crate::settings_file::Instrument;
use std::path::{Path, PathBuf};

/// Everything a measurement needs to know.
#[derive(Clone, Debug)]
pub struct Request {
    /// The settings to measure.
    pub instrument: Instrument,
    /// Samples a second, 1 to 200.
    pub rate_hz: f64,
    /// Standard deviation of the sensor's heights, 0.002 to 5 m.
    pub noise_m: f64,
    /// How many runs make a mean in still air, 1 to 1000.
    pub seeds: u32,
    /// How many flights each case of rough air has, 1 to 100.
    pub rough_seeds: u32,
    /// How many thermals the pilots centre in each air, 1 to 10 000.
    pub thermals: u32,
    /// How many planted flights are tuned, 2 to 200.
    pub flights: u32,
    /// What to measure; everything but the tuning where it is `None`.
    pub only: Option<Part>,
    /// The picture to make.
    pub plot: Option<(PathBuf, PlotFormat)>,
}

/// A part of the measurement.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Part {
    /// Still air and smooth thermals, through the filter alone.
    Still,
    /// Rough air, flown, through the whole instrument.
    Rough,
    /// Scripted pilots who centre thermals by ear.
    Pilots,
    /// Planted flights, tuned with their truth and without.
    Tuning,
}

impl Request {
    /// Whether a part is to be measured; tuning only where it is asked for.
    pub fn wants(&self, part: Part) -> bool {
        self.only.map_or(part != Part::Tuning, |only| only == part)
    }

    /// Whether the picture takes standard output.
    pub fn uses_standard_output(&self) -> bool {
        self.plot.as_ref().is_some_and(|(path, _)| path == Path::new("-"))
    }
}
