//! The MS4525DO differential pressure sensor's arithmetic: four bytes to a status, a pressure and a
//! temperature.
//!
//! ```text
//! byte 0: status (2 bits), pressure bits 13 to 8   byte 1: pressure bits 7 to 0
//! byte 2: temperature bits 10 to 3                 byte 3: temperature bits 2 to 0 (upper three)
//!
//! P = 2 R (counts - a 16383) / ((1 - 2 a) 16383) - R    (Pa)
//! R full scale, a = 0.1 (output type A) or 0.05 (output type B)
//! T = counts 200 / 2047 - 50                             (degrees Celsius)
//! ```
//!
//! Source, from memory: MS4525DO data sheet, "output" (transfer functions) and "interfacing"
//! (status bits). One count of a 1 psi sensor of type A is 1.05 Pa; averaging several readings
//! gives a finer value.

pub mod driver;

use chirrup_core::DifferentialOutput;

/// All counts of the pressure, 14 bits.
const FULL_COUNTS: i32 = 16_383;

/// The meaning of the two status bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// A new measurement.
    Fresh,
    /// The previous measurement, read again.
    Stale,
    /// The sensor reports a fault of its own, or a reserved value.
    Fault,
}

/// One reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reading {
    /// Its status.
    pub status: Status,
    /// Pressure counts, 14 bits.
    pub pressure_counts: u16,
    /// Temperature counts, 11 bits.
    pub temperature_counts: u16,
}

/// Conversion from counts to pascals.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Scale {
    range_64ths_pa: i32,
    output: DifferentialOutput,
}

impl Reading {
    /// From the four bytes of a read.
    pub fn from_bytes(bytes: [u8; 4]) -> Self {
        let [b0, b1, b2, b3] = bytes;
        let status = match b0 >> 6 {
            0 => Status::Fresh,
            2 => Status::Stale,
            _ => Status::Fault,
        };
        Self {
            status,
            pressure_counts: u16::from_be_bytes([b0 & 0x3F, b1]),
            temperature_counts: u16::from_be_bytes([b2, b3]) >> 5,
        }
    }

    /// Temperature of the sensor in 0.01 degrees Celsius.
    pub fn temperature_centicelsius(&self) -> i32 {
        i32::from(self.temperature_counts) * 20_000 / 2_047 - 5_000
    }
}

impl Scale {
    /// For a sensor of full scale `range_pa`, symmetric about zero.
    pub fn new(range_pa: f32, output: DifferentialOutput) -> Self {
        Self { range_64ths_pa: (range_pa * 64.0) as i32, output }
    }

    /// Counts at the lower end of the range, in twentieths of a count: `20 a 16383`.
    fn low_20ths(&self) -> i32 {
        FULL_COUNTS
            * match self.output {
                DifferentialOutput::A => 2,
                DifferentialOutput::B => 1,
            }
    }

    /// The mean pressure of `readings` readings whose counts sum to `counts`, in 1/64 Pa, rounded;
    /// `None` for none.
    pub fn mean_64ths_pa(&self, counts: u32, readings: u32) -> Option<i32> {
        let [range, low, full] =
            [self.range_64ths_pa, self.low_20ths(), FULL_COUNTS].map(i64::from);
        let readings = i64::from(readings);
        // All in twentieths of a count, times the number of readings.
        let above = 20 * i64::from(counts) - low * readings;
        let span = (20 * full - 2 * low) * readings;
        let numerator = 2 * range * above + span / 2;
        Some((numerator.checked_div_euclid(span)? - range) as i32)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use embedded_hal_mock::eh1::delay::NoopDelay;
    use embedded_hal_mock::eh1::i2c::{Mock, Transaction};
    use proptest::prelude::*;
    use std::{format, vec};

    fn psi_a() -> Scale {
        Scale::new(6_894.76, DifferentialOutput::A)
    }

    #[test]
    fn the_ends_and_the_middle_of_the_range_are_where_the_sheet_puts_them() {
        // MS4525DO data sheet, "output": type A spans the range with 10 % to 90 % of the counts,
        // type B with 5 % to 95 %.
        for (output, low, high) in
            [(DifferentialOutput::A, 1_638, 14_745), (DifferentialOutput::B, 819, 15_564)]
        {
            let scale = Scale::new(1_000.0, output);
            let pascals = |counts| f64::from(scale.mean_64ths_pa(counts, 1).unwrap()) / 64.0;
            assert!((pascals(low) + 1_000.0).abs() < 0.15, "{}", pascals(low));
            assert!((pascals(high) - 1_000.0).abs() < 0.15, "{}", pascals(high));
            assert!((pascals(8_191) + pascals(8_192)).abs() < 0.04);
        }
    }

    #[test]
    fn the_mean_of_several_readings_resolves_less_than_a_count() {
        let one = psi_a().mean_64ths_pa(8_300, 1).unwrap();
        let quarter = psi_a().mean_64ths_pa(4 * 8_300 + 1, 4).unwrap();
        // A quarter of 1.052 Pa.
        assert!((16..=18).contains(&(quarter - one)), "{}", quarter - one);
        assert_eq!(psi_a().mean_64ths_pa(0, 0), None);
    }

    #[test]
    fn the_bits_are_decoded_as_in_the_data_sheet() {
        let reading = Reading::from_bytes([0b1011_1111, 0xFF, 0xFF, 0b1110_0000]);
        assert_eq!(
            reading,
            Reading { status: Status::Stale, pressure_counts: 0x3FFF, temperature_counts: 0x7FF }
        );
        assert_eq!(reading.temperature_centicelsius(), 15_000);
        assert_eq!(Reading::from_bytes([0; 4]).temperature_centicelsius(), -5_000);
        assert_eq!(Reading::from_bytes([0x40, 0, 0, 0]).status, Status::Fault);
        assert_eq!(Reading::from_bytes([0xC0, 0, 0, 0]).status, Status::Fault);
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            failure_persistence: None,
            ..ProptestConfig::default()
        })]

        #[test]
        fn it_agrees_with_another_project_but_for_the_sign_it_gives(bytes in any::<[u8; 4]>()) {
            // Crate ms4525do 0.1: 1 psi of type A, in f32, with the ports the other way round. It
            // reads twice, the second time stale.
            let fresh = [bytes[0] & 0x3F, bytes[1], bytes[2], bytes[3]];
            let stale = [0x80 | fresh[0], fresh[1], fresh[2], fresh[3]];
            let mut bus = Mock::new(&[
                Transaction::write(0x28, vec![0]),
                Transaction::read(0x28, fresh.to_vec()),
                Transaction::read(0x28, stale.to_vec()),
            ]);
            let theirs = ms4525do::blocking::Ms4525do::new(&mut bus).read_data(&mut NoopDelay);
            bus.done();
            let (pascals, celsius) =
                theirs.map_err(|error| TestCaseError::fail(format!("{error:?}")))?;
            let reading = Reading::from_bytes(fresh);
            let counts = u32::from(reading.pressure_counts);
            let ours = f64::from(psi_a().mean_64ths_pa(counts, 1).unwrap()) / 64.0;
            prop_assert!((ours + f64::from(pascals)).abs() < 0.02, "{ours} and {pascals} Pa");
            let our_celsius = f64::from(reading.temperature_centicelsius()) / 100.0;
            prop_assert!((our_celsius - f64::from(celsius)).abs() < 0.0101);
        }
    }
}
