//! What `chirrup tune` was asked for, checked.

use crate::cli::TuneArgs;
use crate::error::{Error, Result};
use crate::input::Input;
use crate::options::{PlotFormat, plot_format};
use crate::settings_file::{self, Instrument};
use crate::trace::columns::ColumnMap;
use chirrup_core::settings::Settings;
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
        let plot =
            args.plot.as_ref().map(|path| plot_format(path).map(|format| (path.clone(), format))).transpose()?;
        let defaults = Settings::default();
        let base = match &args.settings {
            Some(source) => settings_file::load(source, &defaults)?,
            None => settings_file::build("defaults", defaults)?,
        };
        let outputs = [args.output.as_deref(), args.plot.as_deref()];
        let taken = outputs.iter().flatten().filter(|path| **path == Path::new("-")).count() + usize::from(args.json);
        if taken > 1 {
            return Err(Error::Usage(
                "--json and an output to - all want standard output; give the others a file".into(),
            ));
        }
        Ok(Self {
            inputs: files(&args.traces)?,
            columns: args.columns.clone().unwrap_or_default(),
            base,
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
    traces
        .iter()
        .map(|path| {
            let input = Input::new(path);
            if input.can_be_read_again() {
                return Ok(input);
            }
            Err(Error::Usage(format!("{} is read twice and must be a file, not a stream", input.name())))
        })
        .collect()
}
