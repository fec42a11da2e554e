//! The items that every trace format returns, line by line.

use super::Position;
use crate::error::Result;
use crate::truth::Truth;
use chirrup_core::Sample;

/// The content of one line of a trace.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// A sample, and the line it is on.
    Sample {
        /// Line in the file, the first being 1.
        line: u64,
        /// One sample of the sensors.
        sample: Sample,
    },
    /// A line that should have held a sample and did not.
    Skipped(Skipped),
}

/// A skipped line, to be counted and reported.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Skipped {
    /// Line in the file, the first being 1.
    pub line: u64,
    /// Why, in words that read well after a count: `no number in static_pa`.
    pub reason: String,
    /// The text found there, shortened to a few characters.
    pub found: String,
}

/// A trace that is being read.
pub trait Trace {
    /// The next sample or skipped line; `None` at the end.
    ///
    /// # Errors
    /// Only what ends the trace: the disk, or a header that cannot be used.
    fn next(&mut self) -> Option<Result<Item>>;

    /// Notes on the trace, complete once it has been read: which altitude was used, which columns,
    /// what was put in order.
    fn notes(&self) -> Vec<String>;

    /// The true values at the last sample, where the trace has them.
    fn truth(&self) -> Truth {
        Truth::default()
    }

    /// The recorder's own total-energy vertical speed at the last sample, m/s, where the trace has
    /// it.
    fn recorded_climb_mps(&self) -> Option<f32> {
        None
    }

    /// The recorder's own vertical speed without total energy at the last sample, m/s, where the
    /// trace has it.
    fn recorded_vertical_mps(&self) -> Option<f32> {
        None
    }

    /// Whether an engine runs at the last sample, where the trace says that.
    fn engine(&self) -> Option<bool> {
        None
    }

    /// Where the last sample was taken, where the trace knows.
    fn position(&self) -> Option<Position> {
        None
    }

    /// Whether it has the columns of an inertial sensor, as far as it has been read.
    fn has_inertial(&self) -> bool {
        false
    }

    /// Seconds after UTC midnight of time zero of the trace, where the trace knows; not before the
    /// first sample.
    fn utc_start_s(&self) -> Option<f64> {
        None
    }

    /// The date of the trace as `YYYY-MM-DD`, where the trace knows; not before the first sample.
    fn date(&self) -> Option<String> {
        None
    }

    /// `csv` or `igc`.
    fn format(&self) -> &'static str;
}
