//! Observers of a replay that write no file.

use crate::replay::{Listening, Row, Stretch};

/// Nobody: for a replay whose outputs are all that is wanted.
pub struct Nobody;

impl Watch for Nobody {
    fn row(&mut self, _row: &Row) {}

    fn listening(&self) -> Listening {
        Listening::Nobody
    }
}

/// Receives rows and sound as they come. A closure that takes a [`Row`] is one.
pub trait Watch {
    /// A sample and its reading.
    fn row(&mut self, row: &Row);

    /// What it wants of the sound between two rows.
    fn listening(&self) -> Listening;

    /// The sound between two rows, of observers that listen to every tick.
    fn sound(&mut self, _stretch: Stretch<'_>) {}

    /// Time zero of the trace in seconds after midnight UTC; called once the trace has been read,
    /// where it knows.
    fn time_zero_is(&mut self, _utc_s: f64) {}
}

impl<F: FnMut(&Row)> Watch for F {
    fn listening(&self) -> Listening {
        Listening::Rows
    }

    fn row(&mut self, row: &Row) {
        self(row);
    }
}
