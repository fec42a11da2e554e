//! The BMP581 barometer: quiet, quick, and compensated inside.
//!
//! The sensor does its own arithmetic: what it gives is pressure and temperature, not counts. So
//! its calibration is a matter between it and its factory, and the arithmetic here is a change of
//! units, exact in both directions:
//!
//! ```text
//! P = (msb 2^16 + lsb 2^8 + xlsb) / 2^6     (Pa, unsigned: the count is this crate's 1/64 Pa)
//! T = (msb 2^16 + lsb 2^8 + xlsb) / 2^16    (degrees Celsius, two's complement)
//! ```
//!
//! # Noise against time
//!
//! The data sheet's table of oversampling (typical, at 100 kPa, without the sensor's filter), of
//! which [`driver`] takes the last that fits a frame of 20 ms with room for a slow sensor:
//!
//! | oversampling of pressure | noise, Pa | conversions a second |
//! |---|---|---|
//! | 1 | 0.78 | 498 |
//! | 4 | 0.41 | 255 |
//! | 8 | 0.30 | 155 |
//! | **16** | **0.21** | **87** |
//! | 32 (and temperature 2) | 0.15 | 46 |
//!
//! 0.21 Pa is 18 mm of height. The air is seldom as quiet: what a sensor of this kind shows on the
//! ground is the room.
//!
//! # Accuracy
//!
//! 30 to 125 kPa; offset by temperature at most 0.5 Pa per degree; 50 Pa absolute. Nothing is lost
//! here: the sensor's count is kept to the bit.
//!
//! Sources: BMP581 data sheet BST-BMP581-DS004 1.2, table 9 "oversampling settings" (noise and
//! rates), "data registers" (units) and page 2 (range, offset). The BMP580 has the same identity
//! and registers; the BMP585, for wet places, has the same registers and another identity (from the
//! maker's library BMP5_SensorAPI 1.1.1).
//!
//! Other drivers: crate `bmp581` 0.1 reads a pressure's three bytes one by one, which can tear it,
//! and waits in `init`; crate `bmp5` 0.2 waits for each result. Hence this one; the first is the
//! reference of the tests.

pub mod driver;

/// Bytes of a result: three of temperature, three of pressure, the least significant first.
pub const RESULT_BYTES: usize = 6;

/// What the registers hold before the first conversion: 0x7F in each byte.
const NOTHING_YET: u32 = 0x7F_7F7F;

/// A result of the sensor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reading {
    /// Pressure in 1/64 Pa, 24 bits.
    pub pressure_64ths_pa: u32,
    /// Temperature in 1/65536 of a degree Celsius, 24 bits.
    pub temperature_65536ths: i32,
}

impl Reading {
    /// From registers 0x1D to 0x22; `None` for registers that no conversion has written yet.
    pub fn from_registers(bytes: [u8; RESULT_BYTES]) -> Option<Self> {
        let [t0, t1, t2, p0, p1, p2] = bytes;
        let pressure_64ths_pa = u32::from_le_bytes([p0, p1, p2, 0]);
        // The sign is in the highest of three bytes.
        let temperature_65536ths = i32::from_le_bytes([0, t0, t1, t2]) >> 8;
        (pressure_64ths_pa != NOTHING_YET)
            .then_some(Self { pressure_64ths_pa, temperature_65536ths })
    }

    /// Temperature of the sensor in 0.01 degrees Celsius, rounded down.
    pub fn temperature_centicelsius(&self) -> i32 {
        (self.temperature_65536ths * 100) >> 16
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use embedded_hal_mock::eh1::i2c::{Mock, Transaction};
    use proptest::prelude::*;
    use std::{format, vec};

    #[test]
    fn the_units_are_those_of_the_data_sheet() {
        // BMP581 data sheet, "data registers": P = count / 2^6 Pa, T = count / 2^16 degrees.
        let room = Reading::from_registers([0x00, 0x80, 0x19, 0x40, 0xE6, 0x62]).unwrap();
        assert_eq!(room.pressure_64ths_pa, 101_273 * 64);
        assert_eq!(room.temperature_centicelsius(), 2_550);
        let cold = Reading::from_registers([0x00, 0x40, 0xF6, 0x00, 0x4C, 0x1D]).unwrap();
        assert_eq!(cold.temperature_centicelsius(), -975);
        assert_eq!(f64::from(cold.pressure_64ths_pa) / 64.0, 30_000.0);
    }

    #[test]
    fn registers_that_were_never_written_are_no_pressure() {
        assert_eq!(Reading::from_registers([0x7F; RESULT_BYTES]), None);
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            failure_persistence: None,
            ..ProptestConfig::default()
        })]

        #[test]
        fn it_agrees_with_another_project(bytes in any::<[u8; RESULT_BYTES]>()) {
            // Crate bmp581 0.1: pascals and degrees in f32. It takes temperature as unsigned, so
            // that only warm ones can be compared.
            let warm = [bytes[0], bytes[1], bytes[2] & 0x3F, bytes[3], bytes[4], bytes[5]];
            prop_assume!(warm[3..] != [0x7F; 3]);
            let mut bus = Mock::new(&[
                Transaction::write_read(0x46, vec![0x1D], warm[..3].to_vec()),
                Transaction::write_read(0x46, vec![0x20], vec![warm[3]]),
                Transaction::write_read(0x46, vec![0x21], vec![warm[4]]),
                Transaction::write_read(0x46, vec![0x22], vec![warm[5]]),
            ]);
            let mut theirs = ::bmp581::Bmp581::new_i2c(&mut bus, ::bmp581::I2cAddr::Default);
            let celsius = theirs.read_temperature().map_err(|_| TestCaseError::fail("celsius"))?;
            let pascals = theirs.read_pressure().map_err(|_| TestCaseError::fail("pascals"))?;
            bus.done();
            let ours = Reading::from_registers(warm).unwrap();
            prop_assert_eq!(ours.pressure_64ths_pa as f32 / 64.0, pascals);
            let apart = f64::from(ours.temperature_centicelsius()) / 100.0 - f64::from(celsius);
            prop_assert!((-0.0101..=0.0001).contains(&apart), "{}", format!("{apart}"));
        }
    }
}
