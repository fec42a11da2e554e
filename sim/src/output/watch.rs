//! Observers of a replay that write no file.

use crate::replay::{Row, Stretch};

/// Receives rows and sound as they come. A closure that takes a [`Row`] is one.
pub trait Watch {
    /// A sample and its reading.
    fn row(&mut self, row: &Row);

    /// The sound between two rows.
    fn sound(&mut self, _stretch: Stretch<'_>) {}

    /// Time zero of the trace in seconds after midnight UTC; called once the trace has been read,
    /// where it knows.
    fn time_zero_is(&mut self, _utc_s: f64) {}
}

impl<F: FnMut(&Row)> Watch for F {
    fn row(&mut self, row: &Row) {
        self(row);
    }
}
