//! When the watchdog may be fed: only while bus and sound are served as often as they should be.
//!
//! A lost sensor is no reason to restart; a task that hangs is. The bus is served at least every
//! half second, even while nothing answers; the sound every 2 ms.

use chirrup_core::Micros;

/// A flash sector is erased in 45 ms to 0.4 s, and nothing runs meanwhile (common practice for the
/// flash of such boards, no source).
const SOUND_WITHIN: Micros = Micros(600_000);
const BUS_WITHIN: Micros = Micros(1_500_000);

/// When each last ran.
#[derive(Clone, Copy, Debug)]
pub struct Watchdog {
    bus: Micros,
    sound: Micros,
}

impl Watchdog {
    /// Both just ran.
    pub fn new(now: Micros) -> Self {
        Self { bus: now, sound: now }
    }

    /// The bus was served.
    pub fn bus(&mut self, now: Micros) {
        self.bus = now;
    }

    /// The sound was made.
    pub fn sound(&mut self, now: Micros) {
        self.sound = now;
    }

    /// Whether both still run.
    pub fn may_feed(&self, now: Micros) -> bool {
        now.since(self.bus) < BUS_WITHIN && now.since(self.sound) < SOUND_WITHIN
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_hung_task_is_enough_for_a_restart() {
        let mut watchdog = Watchdog::new(Micros(0));
        assert!(watchdog.may_feed(Micros(599_999)));
        watchdog.sound(Micros(599_999));
        assert!(watchdog.may_feed(Micros(1_000_000)));
        watchdog.sound(Micros(1_499_999));
        assert!(!watchdog.may_feed(Micros(1_500_000)), "the bus task hangs");
        watchdog.bus(Micros(1_500_000));
        assert!(watchdog.may_feed(Micros(1_500_000)));
        assert!(!watchdog.may_feed(Micros(2_100_000)), "the sound task hangs");
    }
}
