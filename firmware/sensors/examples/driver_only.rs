//! One barometer on a blocking bus, without the instrument: any HAL's I2C and any clock that counts
//! microseconds will do. `cargo build -p chirrup-sensors --example driver_only`
#![no_std]

use chirrup_sensors::Micros;
use chirrup_sensors::bus::run_blocking;
use chirrup_sensors::sensor::{Driver, Fault, Measurement, Outcome, Wanted};
use embedded_hal::i2c::I2c;

/// The next measurement of `driver`, such as `Bmp581::new(ADDRESS_SDO_HIGH)`; 50 a second.
pub fn next_measurement(
    driver: &mut impl Driver,
    bus: &mut impl I2c,
    now: impl Fn() -> Micros,
) -> Result<Measurement, Fault> {
    loop {
        match driver.wanted(now()) {
            Wanted::Nothing(until) => while now() < until {},
            Wanted::Transact(transaction) => {
                let answer = run_blocking(bus, &transaction);
                match driver.answer(now(), answer.as_deref().map_err(|fault| *fault)) {
                    Outcome::Measured(measurement) => return Ok(measurement),
                    Outcome::Failed(fault) => return Err(fault),
                    Outcome::Going | Outcome::Ready => {}
                }
            }
        }
    }
}
