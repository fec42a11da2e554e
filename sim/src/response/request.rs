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
    /// How many runs make a mean, 1 to 1000.
    pub seeds: u32,
    /// The picture to make.
    pub plot: Option<(PathBuf, PlotFormat)>,
}

impl Request {
    /// Whether the picture takes standard output.
    pub fn uses_standard_output(&self) -> bool {
        self.plot.as_ref().is_some_and(|(path, _)| path == Path::new("-"))
    }
}
