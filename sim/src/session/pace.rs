//! How fast a trace plays.

use chirrup_core::{Micros, TICK};

/// Slowest and fastest.
const LEAST: f64 = 0.5;
const MOST: f64 = 16.0;
/// A pace is kept as so many sixteenths, so that times are whole microseconds.
const PARTS: i64 = 16;

/// So many times as fast as it was flown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pace {
    sixteenths: i64,
}

impl Default for Pace {
    /// As it was flown.
    fn default() -> Self {
        Self { sixteenths: PARTS }
    }
}

impl Pace {
    /// The nearest pace within the range; as flown where `times` is no number.
    pub(super) fn of(times: f64) -> Self {
        if times.is_nan() {
            return Self::default();
        }
        Self { sixteenths: (times.clamp(LEAST, MOST) * PARTS as f64) as i64 }
    }

    /// How much of the trace passes in a control tick of the sound.
    pub(super) fn of_a_tick(self) -> Micros {
        Micros(TICK.0 * self.sixteenths / PARTS)
    }

    /// How long the sound of so much of the trace is.
    pub(super) fn heard(self, passed: Micros) -> Micros {
        Micros(passed.0 * PARTS / self.sixteenths)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tick_of_sound_is_as_much_of_the_trace_as_it_is_fast() {
        for (times, us) in [(0.5, 1_000), (1.0, 2_000), (16.0, 32_000), (99.0, 32_000)] {
            let pace = Pace::of(times);
            assert_eq!(pace.of_a_tick(), Micros(us));
            assert_eq!(pace.heard(Micros(us)), TICK);
        }
        assert_eq!(Pace::of(f64::NAN), Pace::default());
    }
}
