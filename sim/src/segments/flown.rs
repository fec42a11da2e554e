//! The time that is flown in a recording, and that sounds in its replay: without what lies between
//! two segments.

use super::{Clock, SOUND_AT_A_CUT};
use chirrup_core::{Micros, Sample};

/// Time flown so far.
#[derive(Clone, Copy, Debug, Default)]
pub struct Flown {
    clock: Clock,
    last: Option<Micros>,
    flown_us: i64,
}

impl Flown {
    /// Takes the next sample and returns the time flown since the first.
    pub fn take(&mut self, sample: &Sample) -> Micros {
        if sample.static_pressure.is_none() || sample.has_usable_pressure() {
            let (time, cut) = self.clock.step(sample);
            let last = self.last.unwrap_or(time);
            let (passed, latest) = match cut {
                Some(_) => (SOUND_AT_A_CUT, time),
                None => (time.since(last), time.max(last)),
            };
            self.flown_us = self.flown_us.saturating_add(passed.0.max(0));
            self.last = Some(latest);
        }
        self.total()
    }

    /// Time flown from the first sample to the last.
    pub fn total(&self) -> Micros {
        Micros(self.flown_us)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::Pascal;

    #[test]
    fn what_lies_between_two_segments_is_not_flown() {
        let mut flown = Flown::default();
        let mut take = |time_s: i64| {
            let sample = Sample::of_static(Micros(1_000_000 * time_s), Pascal(9.0e4));
            flown.take(&sample).0 / 1_000_000
        };
        let seconds = [10, 11, 13, 13, 12, 72_013, 72_014].map(&mut take);
        assert_eq!(seconds, [0, 1, 3, 3, 3, 4, 5]);
    }
}
