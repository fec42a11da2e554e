//! What a page is made of and where it goes.

use crate::input::Input;
use crate::settings_file::Instrument;
use crate::trace::columns::ColumnMap;
use std::path::PathBuf;

/// The inputs and outputs of the page.
#[derive(Clone, Debug)]
pub struct Request {
    /// The traces: one, or two that are put side by side.
    pub inputs: Vec<Input>,
    /// Which columns they are in.
    pub columns: ColumnMap,
    /// Which of the segments of a trace, the first being 1; the longest flight where absent.
    pub segment: Option<usize>,
    /// The instrument whose readings are shown.
    pub instrument: Instrument,
    /// The page.
    pub output: PathBuf,
    /// The sound of the first trace, if any.
    pub wav: Option<PathBuf>,
    /// Whether the sound may be large.
    pub may_be_large: bool,
}
