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
    /// The present settings.
    pub base: Instrument,
    /// What the best is.
    pub wanted: Wanted,
    /// Where the recommended settings go.
    pub output: Option<PathBuf>,
    /// Where the picture goes.
    pub plot: Option<(PathBuf, PlotFormat)>,
}
