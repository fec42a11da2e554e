//! Freeing a stuck I2C bus: a device that lost count in the middle of a byte holds SDA down until
//! it is clocked on.
//!
//! ```text
//! SDA high? ---------------------------------------------> stop condition -> FREE
//!    | no                                                        ^
//!    v                                                           |
//! up to nine clocks, SDA checked after each  -- high ------------+
//!    | still low after nine
//!    v
//! STUCK: a short circuit, or a device that only a power cycle frees
//! ```
//!
//! Source: I2C-bus specification (UM10204), "bus clear": nine clock pulses, then power or hardware
//! reset.

use embedded_hal::delay::DelayNs;

/// Half a clock at 100 kHz, which every device can follow.
const HALF_CLOCK_NS: u32 = 5_000;
/// Eight bits and the acknowledgement.
const CLOCKS: usize = 9;

/// The two lines as open-drain pins: released they are pulled high, driven they are low.
pub trait BusLines {
    /// Releases (`true`) or pulls down the clock.
    fn set_scl(&mut self, high: bool);
    /// Releases (`true`) or pulls down the data line.
    fn set_sda(&mut self, high: bool);
    /// Whether the data line is high.
    fn sda_is_high(&mut self) -> bool;
}

/// A device still holds the data line after nine clocks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StillStuck;

/// Clocks the bus free; takes 0.12 ms at most.
///
/// # Errors
/// [`StillStuck`] where nine clocks did not free the data line.
pub fn free_bus(lines: &mut impl BusLines, delay: &mut impl DelayNs) -> Result<(), StillStuck> {
    lines.set_sda(true);
    lines.set_scl(true);
    delay.delay_ns(HALF_CLOCK_NS);
    for _ in 0..CLOCKS {
        if lines.sda_is_high() {
            break;
        }
        lines.set_scl(false);
        delay.delay_ns(HALF_CLOCK_NS);
        lines.set_scl(true);
        delay.delay_ns(HALF_CLOCK_NS);
    }
    if !lines.sda_is_high() {
        return Err(StillStuck);
    }
    // A stop condition: data rises while the clock is high.
    lines.set_scl(false);
    delay.delay_ns(HALF_CLOCK_NS);
    lines.set_sda(false);
    delay.delay_ns(HALF_CLOCK_NS);
    lines.set_scl(true);
    delay.delay_ns(HALF_CLOCK_NS);
    lines.set_sda(true);
    delay.delay_ns(HALF_CLOCK_NS);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use embedded_hal_mock::eh1::delay::NoopDelay;

    /// A device in the middle of a byte: it releases the data line after this many falling clocks.
    struct Device {
        holds_for: usize,
        clocks: usize,
        scl: bool,
        sda_released: bool,
        stops: usize,
    }

    impl Device {
        fn holding_for(clocks: usize) -> Self {
            Self { holds_for: clocks, clocks: 0, scl: true, sda_released: true, stops: 0 }
        }
    }

    impl BusLines for Device {
        fn set_scl(&mut self, high: bool) {
            if self.scl && !high {
                self.clocks += 1;
            }
            self.scl = high;
        }

        fn set_sda(&mut self, high: bool) {
            if self.scl && high && !self.sda_released {
                self.stops += 1;
            }
            self.sda_released = high;
        }

        fn sda_is_high(&mut self) -> bool {
            self.sda_released && self.clocks >= self.holds_for
        }
    }

    #[test]
    fn a_device_that_lost_count_anywhere_in_a_byte_is_clocked_free_and_stopped() {
        for clocks in 0..=9 {
            let mut device = Device::holding_for(clocks);
            assert_eq!(free_bus(&mut device, &mut NoopDelay), Ok(()), "{clocks} clocks");
            assert_eq!(
                (device.clocks, device.stops),
                (clocks + 1, 1),
                "the stop takes a clock of its own"
            );
            assert!(device.scl && device.sda_released);
        }
    }

    #[test]
    fn a_short_circuit_is_reported_after_nine_clocks() {
        let mut device = Device::holding_for(usize::MAX);
        assert_eq!(free_bus(&mut device, &mut NoopDelay), Err(StillStuck));
        assert_eq!(device.clocks, 9);
    }
}
