//! What to compare, and on what.

use crate::input::Input;
use crate::settings_file::Instrument;
use crate::time::Moment;
use crate::trace::columns::ColumnMap;

/// A blind test of two settings.
#[derive(Clone, Debug)]
pub struct Request {
    /// The trace; a file, since it is read twice.
    pub input: Input,
    /// Which columns it has.
    pub columns: ColumnMap,
    /// The first moment wanted.
    pub from: Option<Moment>,
    /// The last moment wanted.
    pub to: Option<Moment>,
    /// The first settings.
    pub a: Instrument,
    /// The second.
    pub b: Instrument,
    /// How many rounds.
    pub rounds: usize,
    /// Which of the two X is in each round, and where.
    pub seed: u64,
}
