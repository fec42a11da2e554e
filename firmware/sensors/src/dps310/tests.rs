//! The arithmetic against a published sensor, against exact fractions, and against other drivers'
//! packing of the coefficients.

use super::*;
use crate::fakes::DPS310_REGISTERS;
use proptest::prelude::*;

/// The sensor of Infineon/DPS310-Pressure-Sensor, issue 30.
const PUBLISHED: Calibration = Calibration {
    c0: 222,
    c1: -297,
    c00: 79_832,
    c10: -56_308,
    c01: -2_295,
    c11: 1_444,
    c20: -9_701,
    c21: 111,
    c30: -1_289,
};

/// The same formula in fractions of integers, in sixty-fourths of a pascal: nothing is rounded
/// before the end.
fn exact_64ths(calibration: &Calibration, pressure: i32, temperature: i32) -> i128 {
    let (kp, kt) = (3_670_016_i128, 524_288_i128);
    let (p, t) = (i128::from(pressure), i128::from(temperature));
    let of = i128::from;
    let all = kp * kp * kp * kt;
    let sum = of(calibration.c00) * all
        + of(calibration.c10) * p * kp * kp * kt
        + of(calibration.c20) * p * p * kp * kt
        + of(calibration.c30) * p * p * p * kt
        + of(calibration.c01) * t * kp * kp * kp
        + of(calibration.c11) * t * p * kp * kp
        + of(calibration.c21) * t * p * p * kp;
    (64 * sum + all / 2).div_euclid(all)
}

#[test]
fn the_published_sensors_temperature_is_what_its_owner_computed() {
    // Issue 30: raw 200498 without oversampling gives -2.57 degrees with these coefficients. (It
    // was read from the wrong one of the two thermometers; the arithmetic is the sheet's.)
    let found = PUBLISHED.compensate(0, 200_498);
    assert_eq!(found.temperature_centicelsius, -258);
}

#[test]
fn zero_counts_are_the_first_coefficient() {
    let found = PUBLISHED.compensate(0, 0);
    assert_eq!((found.pressure_64ths_pa, found.temperature_centicelsius), (79_832 * 64, 11_100));
}

#[test]
fn the_published_sensors_coefficients_are_unpacked() {
    assert_eq!(Calibration::from_registers(&DPS310_REGISTERS), Some(PUBLISHED));
}

#[test]
fn a_held_bus_and_another_kinds_registers_give_no_calibration() {
    for byte in [0x00, 0xFF, 0x10, 0x80] {
        assert_eq!(Calibration::from_registers(&[byte; CALIBRATION_BYTES]), None, "{byte}");
    }
}

#[test]
fn one_count_of_pressure_is_not_rounded_away() {
    let at = |counts| PUBLISHED.compensate(counts, 150_000).pressure_64ths_pa;
    // A count is about 0.015 Pa here, and more counts are less pressure.
    let pascals = f64::from(at(-1_400_000) - at(-1_399_900)) / 64.0;
    assert!((0.8..2.5).contains(&pascals), "{pascals} Pa in 100 counts");
    let is_smooth = |count| (0..=2).contains(&(at(count) - at(count + 1)));
    assert!((-1_400_000..-1_399_900).all(is_smooth));
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn it_is_the_sheets_formula_to_a_sixty_fourth(
        pressure in -4_000_000..4_000_000_i32,
        temperature in -524_288..524_288_i32,
    ) {
        let ours = PUBLISHED.compensate(pressure, temperature).pressure_64ths_pa;
        let exact = exact_64ths(&PUBLISHED, pressure, temperature);
        prop_assert!((i128::from(ours) - exact).abs() <= 1, "{ours} and {exact}");
    }

    #[test]
    fn it_agrees_with_another_project_within_what_f32_allows(
        bytes in any::<[u8; CALIBRATION_BYTES]>(),
        pressure in -4_000_000..4_000_000_i32,
        temperature in -524_288..524_288_i32,
    ) {
        let Some(calibration) = Calibration::from_registers(&bytes) else { return Ok(()) };
        let theirs = other_project::pascals(&bytes, pressure, temperature);
        let ours = f64::from(calibration.compensate(pressure, temperature)
            .pressure_64ths_pa) / 64.0;
        let terms = [calibration.c00, calibration.c10, calibration.c20, calibration.c30,
            calibration.c01, calibration.c11, calibration.c21];
        let size: f64 = terms.iter().map(|term| f64::from(*term).abs() * 2.0).sum();
        let allowed = 1.0 / 64.0 + size * 1e-6;
        prop_assert!((ours - f64::from(theirs)).abs() < allowed, "{ours} and {theirs}");
    }
}

/// Crate dps310 0.1: its unpacking and its sum in `f32`, over a bus of its generation of traits.
mod other_project {
    use super::CALIBRATION_BYTES;
    use ::dps310::{Config, DPS310, PressureResolution, TemperatureResolution};

    /// A device of plain registers.
    struct Registers([u8; 0x30]);

    impl embedded_hal_02::blocking::i2c::Write for Registers {
        type Error = ();
        fn write(&mut self, _: u8, _: &[u8]) -> Result<(), ()> {
            Ok(())
        }
    }

    impl embedded_hal_02::blocking::i2c::WriteRead for Registers {
        type Error = ();
        fn write_read(&mut self, _: u8, sent: &[u8], read: &mut [u8]) -> Result<(), ()> {
            let from = usize::from(sent[0]);
            read.copy_from_slice(&self.0[from..from + read.len()]);
            Ok(())
        }
    }

    pub(super) fn pascals(bytes: &[u8; CALIBRATION_BYTES], pressure: i32, temperature: i32) -> f32 {
        let mut registers = [0; 0x30];
        registers[0..3].copy_from_slice(&pressure.to_be_bytes()[1..]);
        registers[3..6].copy_from_slice(&temperature.to_be_bytes()[1..]);
        registers[0x10..0x10 + CALIBRATION_BYTES].copy_from_slice(bytes);
        let mut config = Config::new();
        config.pres_res(PressureResolution::_4_SAMPLES);
        config.temp_res(TemperatureResolution::_1_SAMPLES);
        let mut sensor = DPS310::new(Registers(registers), 0x77, &config).unwrap();
        sensor.read_calibration_coefficients().unwrap();
        sensor.read_pressure_calibrated().unwrap()
    }
}
