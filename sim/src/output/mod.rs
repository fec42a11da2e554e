//! Outputs: each takes rows and sound as they come; its file appears only when it is complete.

mod beside;
pub mod csv;
mod decimals;
pub mod drawn;
pub mod figures;
pub mod files;
pub mod leftover;
#[cfg(feature = "play")]
pub mod live;
#[cfg(not(feature = "play"))]
#[path = "no_live.rs"]
pub mod live;
pub mod picture;
pub(crate) mod picture_file;
pub mod place;
pub(crate) mod plot;
pub mod sizes;
mod stream;
pub mod watch;
pub mod wav;
mod wav_marks;

use crate::error::Result;
use crate::output::place::Sealed;
use crate::output::sizes::Sizes;
use crate::replay::{Listening, Row, Stretch};
use crate::waiting::Waiting;

/// Something that is made while a trace is replayed.
pub trait Output {
    /// A sample and its reading.
    ///
    /// # Errors
    /// When the row could not be written.
    fn row(&mut self, row: &Row) -> Result<()>;

    /// What it wants of the sound between two rows.
    fn listening(&self) -> Listening;

    /// The sound between two rows, of outputs that listen to every tick.
    ///
    /// # Errors
    /// When the sound could not be written.
    fn sound(&mut self, _stretch: Stretch<'_>) -> Result<()> {
        Ok(())
    }

    /// Time zero of the trace is so many seconds after midnight UTC; called once the trace has been
    /// read, if it has a clock.
    fn time_zero_is(&mut self, _utc_s: f64) {}

    /// Brings out what is there of a stream whenever `waiting` begins: somebody may read along.
    fn empty_before(&self, _waiting: &Waiting) {}

    /// How much has been written so far; nothing where it cannot be much.
    fn bytes(&self) -> Sizes {
        Sizes::default()
    }

    /// Notes on the output.
    fn notes(&self) -> Vec<String> {
        Vec::new()
    }

    /// Completes the output; returns the files, which are then put in their places together with
    /// those of the other outputs.
    ///
    /// # Errors
    /// When the output could not be completed; nothing is then under its name.
    fn finish(self: Box<Self>) -> Result<Vec<Sealed>>;
}
