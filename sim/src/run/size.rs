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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_few_as_long_as_their_readings_may_be_written_unasked() {
        let most = MOST_UNASKED / (ROW + INERTIAL);
        assert!(are_few(0) && are_few(most));
        assert!(!are_few(most + 1) && !are_few(u64::MAX));
    }

    /// The sizes that are then checked would have let them pass, with an inertial sensor or not.
    #[test]
    fn few_rows_would_not_have_been_refused() {
        let rows = Rows { count: MOST_UNASKED / (ROW + INERTIAL), ..Rows::default() };
        for has_inertial in [false, true] {
            let sizes = Sizes { sound: 0, readings: rows.readings_bytes(has_inertial) };
            assert!(sizes.check("a.csv", false).is_ok(), "{has_inertial}");
        }
        let more = Sizes { sound: 0, readings: MOST_UNASKED + 1 };
        assert!(more.check("a.csv", false).is_err());
    }
}
