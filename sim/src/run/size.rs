//! What a replay would write, worked out from the samples before it begins.

use crate::output::sizes::{MOST_UNASKED, Sizes};
use crate::segments::flown::Flown;
use chirrup_core::Sample;

/// Bytes of a row of readings in the mean, and what an inertial sensor adds (measured over the
/// recordings of this project; what is written is counted too).
const ROW: u64 = 110;
const INERTIAL: u64 = 50;

/// Whether so many rows of readings are, by the means above, not too large to be written unasked.
pub(super) fn are_few(rows: u64) -> bool {
    rows.saturating_mul(ROW + INERTIAL) <= MOST_UNASKED
}

/// The rows of a trace so far.
#[derive(Default)]
pub(super) struct Rows {
    count: u64,
    flown: Flown,
}

impl Rows {
    pub(super) fn take(&mut self, sample: &Sample) {
        self.count += 1;
        self.flown.take(sample);
    }

    /// How long the sound lasts, s.
    pub(super) fn lasts_s(&self) -> f64 {
        self.flown.total().0 as f64 * 1e-6
    }

    pub(super) fn sound_bytes(&self, rate_hz: u32, channels: u16) -> u64 {
        Sizes::of_sound(self.lasts_s(), rate_hz, channels)
    }

    pub(super) fn readings_bytes(&self, has_inertial: bool) -> u64 {
        self.count * if has_inertial { ROW + INERTIAL } else { ROW }
    }
}
