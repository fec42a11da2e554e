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
//! The pins are any HAL's, by the traits of `embedded-hal`: the clock an [`OutputPin`], the data
//! line an [`OutputPin`] that is an [`InputPin`] too, both open drain. Most HALs have such a pin;
//! where one has none, a few lines that switch a pin between "output, low" and "input" are one. A
//! board gives the two pins to its I2C controller again afterwards.
//!
//! Source: I2C-bus specification (UM10204), "bus clear": nine clock pulses, then power or hardware
//! reset.

use embedded_hal::delay::DelayNs;
use embedded_hal::digital::{InputPin, OutputPin};

/// Half a clock at 100 kHz, which every device can follow.
const HALF_CLOCK_NS: u32 = 5_000;
/// Eight bits and the acknowledgement.
const CLOCKS: usize = 9;

/// A device still holds the data line after nine clocks, or a pin failed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StillStuck;

/// Clocks the bus free; takes 0.12 ms at most. Both pins are open drain: set high they are released
/// and pulled up, set low they pull down. They are released at the end.
///
/// # Errors
/// [`StillStuck`] where nine clocks did not free the data line.
pub fn free_bus(
    scl: &mut impl OutputPin,
    sda: &mut (impl OutputPin + InputPin),
    delay: &mut impl DelayNs,
) -> Result<(), StillStuck> {
    let mut half_a_clock = || delay.delay_ns(HALF_CLOCK_NS);
    set(sda, true)?;
    set(scl, true)?;
    half_a_clock();
    for _ in 0..CLOCKS {
        if is_high(sda)? {
            break;
        }
        set(scl, false)?;
        half_a_clock();
        set(scl, true)?;
        half_a_clock();
    }
    if !is_high(sda)? {
        return Err(StillStuck);
    }
    // A stop condition: data rises while the clock is high.
    set(scl, false)?;
    half_a_clock();
    set(sda, false)?;
    half_a_clock();
    set(scl, true)?;
    half_a_clock();
    set(sda, true)?;
    half_a_clock();
    Ok(())
}

fn set(pin: &mut impl OutputPin, high: bool) -> Result<(), StillStuck> {
    pin.set_state(high.into()).map_err(|_| StillStuck)
}

fn is_high(pin: &mut impl InputPin) -> Result<bool, StillStuck> {
    pin.is_high().map_err(|_| StillStuck)
}

#[cfg(test)]
mod tests {
    use super::*;
    use core::cell::RefCell;
    use core::convert::Infallible;
    use embedded_hal::digital::ErrorType;
    use embedded_hal_mock::eh1::delay::NoopDelay;

    /// A device in the middle of a byte: it releases the data line after this many falling clocks.
    struct Device {
        holds_for: usize,
        clocks: usize,
        scl: bool,
        sda_released: bool,
        stops: usize,
    }

    struct Scl<'a>(&'a RefCell<Device>);
    struct Sda<'a>(&'a RefCell<Device>);

    impl ErrorType for Scl<'_> {
        type Error = Infallible;
    }

    impl ErrorType for Sda<'_> {
        type Error = Infallible;
    }

    impl Device {
        fn holding_for(holds_for: usize) -> RefCell<Self> {
            let (clocks, stops) = (0, 0);
            RefCell::new(Self { holds_for, clocks, scl: true, sda_released: true, stops })
        }

        fn set_scl(&mut self, high: bool) {
            self.clocks += usize::from(self.scl && !high);
            self.scl = high;
        }

        fn set_sda(&mut self, high: bool) {
            self.stops += usize::from(self.scl && high && !self.sda_released);
            self.sda_released = high;
        }

        fn sda_is_high(&self) -> bool {
            self.sda_released && self.clocks >= self.holds_for
        }
    }

    impl OutputPin for Scl<'_> {
        fn set_low(&mut self) -> Result<(), Infallible> {
            self.0.borrow_mut().set_scl(false);
            Ok(())
        }
        fn set_high(&mut self) -> Result<(), Infallible> {
            self.0.borrow_mut().set_scl(true);
            Ok(())
        }
    }

    impl OutputPin for Sda<'_> {
        fn set_low(&mut self) -> Result<(), Infallible> {
            self.0.borrow_mut().set_sda(false);
            Ok(())
        }
        fn set_high(&mut self) -> Result<(), Infallible> {
            self.0.borrow_mut().set_sda(true);
            Ok(())
        }
    }

    impl InputPin for Sda<'_> {
        fn is_high(&mut self) -> Result<bool, Infallible> {
            Ok(self.0.borrow().sda_is_high())
        }
        fn is_low(&mut self) -> Result<bool, Infallible> {
            Ok(!self.0.borrow().sda_is_high())
        }
    }

    #[test]
    fn a_device_that_lost_count_anywhere_in_a_byte_is_clocked_free_and_stopped() {
        for clocks in 0..=9 {
            let device = Device::holding_for(clocks);
            let freed = free_bus(&mut Scl(&device), &mut Sda(&device), &mut NoopDelay);
            assert_eq!(freed, Ok(()), "{clocks} clocks");
            let device = device.borrow();
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
        let device = Device::holding_for(usize::MAX);
        let freed = free_bus(&mut Scl(&device), &mut Sda(&device), &mut NoopDelay);
        assert_eq!(freed, Err(StillStuck));
        assert_eq!(device.borrow().clocks, 9);
    }
}
