//! The battery: its voltage, smoothed over two seconds, and whether it is low.
//!
//! ```text
//! below the limit for 10 s: LOW      above the limit by 0.15 V: GOOD
//! below 0.5 V: none is connected
//! ```
//!
//! The margin is roughly how much a lithium cell recovers without load (a guess).

use chirrup_core::Micros;

const LOW_FOR: Micros = Micros(10_000_000);
const RECOVERED_MILLIVOLTS: u32 = 150;
const CONNECTED_MILLIVOLTS: u32 = 500;
/// Time constant of the smoothing in readings, of which there are ten a second.
const SMOOTHING: u32 = 20;

/// State of the battery.
#[derive(Clone, Copy, Debug, Default)]
pub struct Battery {
    /// Twenty times the voltage, so that the smoothing loses no precision.
    smoothed: Option<u32>,
    below_since: Option<Micros>,
    is_low: bool,
}

impl Battery {
    /// Takes a reading.
    pub fn step(&mut self, now: Micros, millivolts: u32, low_millivolts: u32) {
        let millivolts = millivolts.min(100_000);
        let smoothed = match self.smoothed {
            Some(smoothed) => smoothed - smoothed / SMOOTHING + millivolts,
            None => SMOOTHING * millivolts,
        };
        self.smoothed = Some(smoothed);
        let Some(voltage) = self.millivolts() else {
            (self.below_since, self.is_low) = (None, false);
            return;
        };
        if voltage < low_millivolts {
            let since = *self.below_since.get_or_insert(now);
            self.is_low |= now.since(since) >= LOW_FOR;
        } else {
            self.below_since = None;
            self.is_low &= voltage < low_millivolts.saturating_add(RECOVERED_MILLIVOLTS);
        }
    }

    /// The voltage, if a battery is connected.
    pub fn millivolts(&self) -> Option<u32> {
        let millivolts = self.smoothed? / SMOOTHING;
        (millivolts >= CONNECTED_MILLIVOLTS).then_some(millivolts)
    }

    /// Whether it is low.
    pub fn is_low(&self) -> bool {
        self.is_low
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after_seconds(
        battery: &mut Battery,
        from: i64,
        seconds: i64,
        millivolts: impl Fn(i64) -> u32,
    ) -> Option<i64> {
        (from * 10..(from + seconds) * 10).find(|tenth| {
            battery.step(Micros(tenth * 100_000), millivolts(*tenth), 3_500);
            battery.is_low()
        })
    }

    #[test]
    fn a_battery_below_its_limit_is_low_after_ten_seconds_and_not_after_a_dip() {
        let mut battery = Battery::default();
        assert_eq!(after_seconds(&mut battery, 0, 60, |_| 3_600), None);
        assert_eq!(
            after_seconds(&mut battery, 60, 4, |_| 2_900),
            None,
            "a load that draws for four seconds"
        );
        assert_eq!(after_seconds(&mut battery, 64, 60, |_| 3_700), None);
        let low = after_seconds(&mut battery, 124, 60, |_| 3_400).expect("it is low");
        assert!((1_340..1_390).contains(&low), "{low}");
    }

    #[test]
    fn it_is_good_again_only_well_above_its_limit() {
        let mut battery = Battery::default();
        after_seconds(&mut battery, 0, 20, |_| 3_400);
        assert!(battery.is_low());
        for _ in 0..200 {
            battery.step(Micros(30_000_000), 3_600, 3_500);
        }
        assert!(battery.is_low(), "100 mV above is what an unloaded cell does");
        for _ in 0..200 {
            battery.step(Micros(60_000_000), 3_700, 3_500);
        }
        assert!(!battery.is_low());
    }

    #[test]
    fn no_battery_is_not_a_low_battery() {
        let mut battery = Battery::default();
        assert_eq!(after_seconds(&mut battery, 0, 60, |_| 30), None);
        assert_eq!(battery.millivolts(), None);
        battery.step(Micros(0), u32::MAX, u32::MAX);
    }
}
