//! The words of a replay's picture.

use crate::units::Units;

/// The words of a picture.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PictureLabels {
    /// Large, at the top: the name of the trace.
    pub title: String,
    /// Below it: where total energy comes from, how quick the reading is.
    pub subtitle: String,
    /// What the instrument is; shown where there are two.
    pub left: String,
    /// What the second instrument is, where there is one.
    pub right: Option<String>,
    /// The pilot's.
    pub units: Units,
}
