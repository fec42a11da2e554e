//! The tuning to run and its outputs.

use super::choose::Wanted;
use crate::input::Input;
use crate::output::files::PlotFormat;
use crate::settings_file::Instrument;
use crate::trace::columns::ColumnMap;
use std::path::PathBuf;

/// Everything tuning needs to know.
#[derive(Clone, Debug)]
pub struct Request {
    /// The recordings; files, since each is read more than once.
    pub inputs: Vec<Input>,
    /// Which columns they are in.
    pub columns: ColumnMap,
    /// The segment to use where a trace has several, the first being 1; else the longest with a
    /// flight.
    pub segment: Option<usize>,
    /// The present settings.
    pub base: Instrument,
    /// What the best is.
    pub wanted: Wanted,
    /// Where the recommended settings go.
    pub output: Option<PathBuf>,
    /// Where the picture goes.
    pub plot: Option<(PathBuf, PlotFormat)>,
}
