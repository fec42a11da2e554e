//! What is known of a flight before its limits are looked at.

use super::event::Event;
use super::evidence::Evidence;
use super::free::Free;

/// What is known of a flight.
pub(super) struct Known<'a> {
    pub evidence: &'a Evidence,
    pub take_off: Option<&'a Event>,
    pub release: Option<&'a Event>,
    pub landing: Option<&'a Event>,
    /// Where it leaves the ground, or the recording begins.
    pub begin: usize,
    /// From where on it surely flies free.
    pub free: Option<Free>,
}

impl Known<'_> {
    /// What a claim adds where nothing listens to an engine.
    pub fn unheard(&self) -> &'static str {
        if self.evidence.engine.is_some() {
            ""
        } else {
            ", if no engine ran (this recorder does not hear one)"
        }
    }
}
