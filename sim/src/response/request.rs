//! What `chirrup response` was asked for, checked.

use crate::cli::ResponseArgs;
use crate::error::{Error, Result};
use crate::options::{PlotFormat, drawing, in_range};
use crate::settings_file::{self, Instrument};
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
    /// Checks what was typed.
    ///
    /// # Errors
    /// The first thing that cannot be used, and its range.
    pub fn new(args: &ResponseArgs) -> Result<Self> {
        // The rates that the core is held to, and the noise that the settings know.
        in_range("--rate", args.rate, 1.0, 200.0)?;
        in_range("--noise", args.noise, 0.002, 5.0)?;
        in_range("--seeds", f64::from(args.seeds), 1.0, 1000.0)?;
        let plot = drawing(args.plot.as_deref())?;
        if args.json && args.plot.as_deref() == Some(Path::new("-")) {
            return Err(Error::Usage(
                "--json and --plot - both want standard output; give the plot a file".into(),
            ));
        }
        let instrument = settings_file::load_or_defaults(args.settings.as_deref())?;
        Ok(Self { instrument, rate_hz: args.rate, noise_m: args.noise, seeds: args.seeds, plot })
    }

    /// Whether the picture takes standard output.
    pub fn uses_standard_output(&self) -> bool {
        self.plot.as_ref().is_some_and(|(path, _)| path == Path::new("-"))
    }
}
