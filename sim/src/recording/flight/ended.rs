//! What was found of a launch by the rules of its kind.

use super::event::{Confidence, Event};

/// What a kind of launch found: its end and how sure each is.
pub(super) struct Ended {
    pub kind: &'static str,
    pub confidence: Confidence,
    pub why: String,
    /// `None` where the recording ends before it.
    pub release: Option<Event>,
    /// The place of the release.
    pub place: usize,
}
