//! What `chirrup tune` was asked for, checked.

use crate::cli::TuneArgs;
use crate::error::Result;
use crate::input::Input;
use crate::options::{PlotFormat, check_places, drawing, what_is_read};
use crate::settings_file::{self, Instrument};
use crate::trace::columns::ColumnMap;
use std::path::{Path, PathBuf};

/// Everything tuning needs to know.
#[derive(Clone, Debug)]
pub struct Request {
    /// The recordings; files, since each is read more than once.
    pub inputs: Vec<Input>,
    /// Which columns they are in.
    pub columns: ColumnMap,
    /// The present settings.
    pub base: Instrument,
    /// Where the recommended settings go.
    pub output: Option<PathBuf>,
    /// Where the picture goes.
    pub plot: Option<(PathBuf, PlotFormat)>,
}

impl Request {
    /// Checks what was typed.
    ///
    /// # Errors
    /// The first thing that cannot be used, and what to do instead.
    pub fn new(args: &TuneArgs) -> Result<Self> {
        let plot = drawing(args.plot.as_deref())?;
        let written: Vec<&Path> =
            args.output.iter().chain(&args.plot).map(PathBuf::as_path).collect();
        let traces = args.traces.iter().map(PathBuf::as_path);
        check_places(&what_is_read(traces, &args.settings), &written, args.json)?;
        Ok(Self {
            inputs: files(&args.traces)?,
            columns: args.columns.clone().unwrap_or_default(),
            base: settings_file::load_or_defaults(args.settings.as_deref())?,
            output: args.output.clone(),
            plot,
        })
    }
}

/// The traces as inputs that can be read again.
///
/// # Errors
/// One that cannot.
pub fn files(traces: &[PathBuf]) -> Result<Vec<Input>> {
    traces.iter().map(|path| Input::new(path).to_be_read_twice()).collect()
}
