//! The I2C bus of Linux, by the crate `linux-embedded-hal`.
//!
//! The kernel's speed of the bus counts: at 100 kHz, a Raspberry Pi's default, a barometer is read
//! in time but an inertial sensor's memory is not.

use crate::Bus;
use chirrup_core::Micros;
use chirrup_sensors::bus::{BusFault, Reply, Transaction, run_blocking};
use embedded_hal::i2c::{self, ErrorType, I2c, NoAcknowledgeSource, Operation};
use linux_embedded_hal::i2cdev::linux::LinuxI2CError;
use linux_embedded_hal::{I2CError, I2cdev};
use std::fs::File;
use std::io::ErrorKind;
use std::path::Path;

/// What a Raspberry Pi's driver says where nothing answers, and of a bus that does not move;
/// `linux-embedded-hal` knows neither. Numbers of Linux: asm-generic/errno.h, from memory.
const REMOTE_IO: i32 = 121;
const TIMED_OUT: i32 = 110;

/// A bus of the kernel.
pub struct LinuxBus(Kernel);

/// The same with its errors told apart.
struct Kernel(I2cdev);

/// An error of the kernel's.
#[derive(Debug)]
struct Fault(I2CError);

impl LinuxBus {
    /// Opens the bus at `path`, such as /dev/i2c-1.
    ///
    /// # Errors
    /// What prevents it and what to do, in a few words without the path.
    pub fn open(path: &Path) -> Result<Self, String> {
        // Opened first by itself, because the crate's error says less.
        File::options().read(true).write(true).open(path).map_err(|error| why(error.kind()))?;
        I2cdev::new(path).map(|bus| Self(Kernel(bus))).map_err(|_| {
            "it is not an I2C bus; on a Raspberry Pi the one at the pins is /dev/i2c-1".into()
        })
    }
}

impl Bus for LinuxBus {
    fn run(&mut self, _now: Micros, transaction: &Transaction) -> Result<Reply, BusFault> {
        run_blocking(&mut self.0, transaction)
    }
}

impl ErrorType for Kernel {
    type Error = Fault;
}

impl I2c for Kernel {
    fn transaction(
        &mut self,
        address: u8,
        operations: &mut [Operation<'_>],
    ) -> Result<(), Self::Error> {
        self.0.transaction(address, operations).map_err(Fault)
    }
}

impl i2c::Error for Fault {
    fn kind(&self) -> i2c::ErrorKind {
        let number = match self.0.inner() {
            LinuxI2CError::Errno(number) => Some(*number),
            LinuxI2CError::Io(error) => error.raw_os_error(),
        };
        match number {
            Some(REMOTE_IO) => i2c::ErrorKind::NoAcknowledge(NoAcknowledgeSource::Unknown),
            Some(TIMED_OUT) => i2c::ErrorKind::Bus,
            _ => self.0.kind(),
        }
    }
}

fn why(kind: ErrorKind) -> String {
    match kind {
        ErrorKind::NotFound => "there is no such bus; on a Raspberry Pi turn I2C on with `sudo \
                                raspi-config` (Interface Options) and start it again"
            .into(),
        ErrorKind::PermissionDenied => "permission denied; `sudo adduser $USER i2c`, and log in \
                                        again"
            .into(),
        ErrorKind::IsADirectory => "it is a folder and not an I2C bus".into(),
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_kernel_says_of_a_missing_device_is_no_answer_and_of_a_held_line_a_stuck_bus() {
        let fault = |number: i32| {
            let error = std::io::Error::from_raw_os_error(number);
            BusFault::of(i2c::Error::kind(&Fault(LinuxI2CError::Io(error).into())))
        };
        // ENXIO is 6, EIO 5, EBUSY 16.
        assert_eq!([121, 6].map(fault), [BusFault::NoAnswer; 2]);
        assert_eq!([110, 5, 16].map(fault), [BusFault::Stuck; 3]);
    }

    #[test]
    fn what_is_no_bus_says_why_in_words() {
        let said = |path: &str| LinuxBus::open(Path::new(path)).err().expect("it is no bus");
        assert!(said("/dev/i2c-none").contains("turn I2C on"));
        assert!(said("/dev/null").contains("it is not an I2C bus"));
        assert!(said("/dev").contains("folder"));
        assert!(why(ErrorKind::PermissionDenied).contains("adduser"));
    }
}
