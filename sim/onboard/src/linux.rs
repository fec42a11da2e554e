//! The I2C bus of Linux, by the crate `linux-embedded-hal`.
//!
//! The kernel's speed of the bus counts: at 100 kHz, a Raspberry Pi's default, a barometer is read
//! in time but an inertial sensor's memory is not.

use crate::Bus;
use chirrup_core::Micros;
use chirrup_sensors::bus::{BusFault, Reply, Transaction, run_blocking};
use linux_embedded_hal::I2cdev;
use std::fs::File;
use std::io::ErrorKind;
use std::path::Path;

/// A bus of the kernel.
pub struct LinuxBus(I2cdev);

impl LinuxBus {
    /// Opens the bus at `path`, such as /dev/i2c-1.
    ///
    /// # Errors
    /// What prevents it and what to do, in a few words without the path.
    pub fn open(path: &Path) -> Result<Self, String> {
        // Opened first by itself, because the crate's error says less.
        File::options().read(true).write(true).open(path).map_err(|error| why(error.kind()))?;
        I2cdev::new(path).map(Self).map_err(|_| {
            "it is not an I2C bus; on a Raspberry Pi the one at the pins is /dev/i2c-1".into()
        })
    }
}

impl Bus for LinuxBus {
    fn run(&mut self, _now: Micros, transaction: &Transaction) -> Result<Reply, BusFault> {
        run_blocking(&mut self.0, transaction)
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
    fn what_is_no_bus_says_why_in_words() {
        let said = |path: &str| LinuxBus::open(Path::new(path)).err().expect("it is no bus");
        assert!(said("/dev/i2c-none").contains("turn I2C on"));
        assert!(said("/dev/null").contains("it is not an I2C bus"));
        assert!(said("/dev").contains("folder"));
        assert!(why(ErrorKind::PermissionDenied).contains("adduser"));
    }
}
