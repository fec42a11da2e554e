//! What a replay would write, worked out from the samples before it begins.

use crate::segments::{Clock, SOUND_AT_A_CUT};
use chirrup_core::{Micros, Sample};

/// Bytes of a row of readings in the mean, and what an inertial sensor adds (measured over the
/// recordings of this project; what is written is counted too).
const ROW: u64 = 110;
const INERTIAL: u64 = 50;

/// The rows of a trace so far.
#[derive(Default)]
pub(super) struct Rows {
    clock: Clock,
    count: u64,
    last: Option<Micros>,
    /// Time that sounds.
    lasts_us: i64,
}

impl Rows {
    pub(super) fn take(&mut self, sample: &Sample) {
        self.count += 1;
        if sample.static_pressure.is_some() && !sample.has_usable_pressure() {
            return;
        }
        let (time, cut) = self.clock.step(sample);
        let last = self.last.unwrap_or(time);
        let elapsed = if cut.is_some() { SOUND_AT_A_CUT } else { time.since(last) };
        self.lasts_us = self.lasts_us.saturating_add(elapsed.0.max(0));
        self.last = if cut.is_some() { Some(time) } else { Some(time.max(last)) };
    }

    /// How long the sound lasts, s.
    pub(super) fn lasts_s(&self) -> f64 {
        self.lasts_us as f64 * 1e-6
    }

    pub(super) fn sound_bytes(&self, rate_hz: u32, channels: u16) -> u64 {
        (self.lasts_s() * f64::from(rate_hz) * f64::from(channels) * 2.0) as u64
    }

    pub(super) fn readings_bytes(&self, has_inertial: bool) -> u64 {
        self.count * if has_inertial { ROW + INERTIAL } else { ROW }
    }
}
