//! The words of a result, against the maker's example, a bitwise checksum and another driver.

use super::*;
use proptest::prelude::*;

/// The checksum bit by bit, as the maker's sheets print it.
fn bitwise(bytes: [u8; 2]) -> u8 {
    let mut crc = 0xFF_u8;
    for byte in bytes {
        crc ^= byte;
        for _ in 0..8 {
            crc = if crc & 0x80 != 0 { crc << 1 ^ 0x31 } else { crc << 1 };
        }
    }
    crc
}

fn result(pressure: i16, temperature: i16, scale: u16) -> [u8; RESULT_BYTES] {
    let mut bytes = [0; RESULT_BYTES];
    let words = [pressure as u16, temperature as u16, scale];
    for (place, word) in words.into_iter().enumerate() {
        let word = word.to_be_bytes();
        bytes[3 * place..3 * place + 2].copy_from_slice(&word);
        bytes[3 * place + 2] = bitwise(word);
    }
    bytes
}

#[test]
fn the_makers_example_of_a_checksum_is_reproduced() {
    assert_eq!(CRC8.checksum(&[0xBE, 0xEF]), 0x92);
    assert_eq!(word([0xBE, 0xEF, 0x92]), Some(0xBEEF));
}

#[test]
fn the_scale_says_which_sensor_it_is_and_what_a_count_is() {
    for (scale, name, pascals) in [(60, "sdp31", 20.0), (240, "sdp32", 5.0), (20, "sdp33", 60.0)] {
        let reading = Reading::from_bytes(result(1_200, 4_015, scale)).unwrap();
        assert_eq!(reading.model.name(), name);
        assert_eq!(f64::from(reading.pressure_64ths_pa().unwrap()) / 64.0, pascals);
        assert_eq!(reading.temperature_centicelsius(), 2_007);
    }
    assert_eq!(Reading::from_bytes(result(0, 0, 61)), Err(Wrong::Scale(61)));
}

#[test]
fn a_count_of_an_sdp31_is_rounded_to_the_nearest_sixty_fourth() {
    let at =
        |counts| Reading { counts, temperature_200ths: 0, model: Model::Sdp31 }.pressure_64ths_pa();
    // 1/60 Pa is 1.067 of them.
    assert_eq!([at(1), at(-1), at(8), at(-8)], [Some(1), Some(-1), Some(9), Some(-9)]);
}

#[test]
fn at_the_end_of_the_range_there_is_no_pressure() {
    for (model, scale) in [(Model::Sdp31, 60), (Model::Sdp32, 240), (Model::Sdp33, 20)] {
        let at = |pascals: i32| {
            let counts = (pascals * scale).clamp(i32::from(i16::MIN), i32::from(i16::MAX)) as i16;
            Reading { counts, temperature_200ths: 0, model }.pressure_64ths_pa()
        };
        let range = model.range_pa();
        assert_eq!(at(range * 98 / 100), Some(range * 98 / 100 * 64));
        assert_eq!([at(range), at(-range), at(2 * range), at(-2 * range)], [None; 4]);
    }
}

#[test]
fn a_reading_in_thin_air_is_made_good() {
    // The maker's table for its older sensors of this kind (SDP600, "altitude correction", from
    // memory): 1.00 at 966 hPa, 1.15 at 842 hPa, 1.38 at 697 hPa, 0.95 at 1013 hPa.
    for (static_hpa, factor) in [(966, 1.0), (842, 1.15), (697, 1.38), (1_013, 0.95)] {
        let corrected = at_static_64ths_pa(64_000, static_hpa * 6_400);
        let found = f64::from(corrected) / 64_000.0;
        assert!((found - factor).abs() < 0.007, "{static_hpa} hPa: {found}");
    }
    assert_eq!(at_static_64ths_pa(64_000, 0), 64_000);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn one_wrong_bit_anywhere_is_seen(
        pressure in any::<i16>(), temperature in any::<i16>(), bit in 0..72_usize,
    ) {
        let mut bytes = result(pressure, temperature, 60);
        prop_assert!(Reading::from_bytes(bytes).is_ok());
        bytes[bit / 8] ^= 0x80 >> (bit % 8);
        prop_assert_eq!(Reading::from_bytes(bytes), Err(Wrong::Checksum));
    }

    #[test]
    fn it_agrees_with_another_project(
        pressure in -29_000..29_000_i16, temperature in any::<i16>(),
    ) {
        // Crate sdp8xx 0.3, of a sensor with the same nine bytes.
        let bytes = result(pressure, temperature, 60);
        let theirs: ::sdp8xx::Sample<::sdp8xx::DifferentialPressure> =
            bytes.try_into().map_err(|_| TestCaseError::fail("no sample"))?;
        let ours = Reading::from_bytes(bytes).unwrap();
        let pascals = f64::from(ours.pressure_64ths_pa().unwrap()) / 64.0;
        let apart = pascals - f64::from(theirs.get_differential_pressure());
        prop_assert!(apart.abs() < 0.0081, "{}", apart);
        let celsius = f64::from(ours.temperature_centicelsius()) / 100.0;
        let apart = celsius - f64::from(theirs.get_temperature());
        prop_assert!((-0.0101..0.0001).contains(&apart), "{}", apart);
    }
}
