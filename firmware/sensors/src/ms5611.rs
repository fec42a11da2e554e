//! The MS5611 barometer's arithmetic: raw counts and factory calibration to pressure and
//! temperature, in integers.
//!
//! ```text
//! dT   = D2 - C5 2^8                      TEMP = 2000 + dT C6 / 2^23  (0.01 degrees Celsius)
//! OFF  = C2 2^16 + C4 dT / 2^7            SENS = C1 2^15 + C3 dT / 2^8
//! P    = (D1 SENS / 2^21 - OFF) / 2^15                                (Pa)
//! below 20 degrees: OFF and SENS less 5 (TEMP - 2000)^2 / 2 and / 4, TEMP less dT^2 / 2^31
//! below -15 degrees: OFF and SENS also less 7 (TEMP + 1500)^2 and 11 (TEMP + 1500)^2 / 2
//! ```
//!
//! Source: MS5611-01BA03 data sheet, flow charts "pressure and temperature calculation" and "second
//! order temperature compensation". The sheet rounds the pressure to 1 Pa, which is 8 cm of height;
//! here 1/64 Pa is kept. It also squares a TEMP of whole 0.01 degrees, which at -40 degrees makes
//! steps of 2 to 4 Pa between neighbouring temperatures; here TEMP has eight binary places more.

pub mod driver;
pub mod prom;

use chirrup_core::{Kelvin, Pascal};

/// The factory calibration, words C1 to C6 of the sensor's PROM.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Calibration {
    /// C1: pressure sensitivity.
    pub sensitivity: u16,
    /// C2: pressure offset.
    pub offset: u16,
    /// C3: temperature coefficient of the sensitivity.
    pub sensitivity_slope: u16,
    /// C4: temperature coefficient of the offset.
    pub offset_slope: u16,
    /// C5: reference temperature.
    pub reference_temperature: u16,
    /// C6: temperature coefficient of the temperature.
    pub temperature_slope: u16,
}

/// Compensated pressure and temperature, in integers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Compensated {
    /// Pressure in 1/64 Pa.
    pub pressure_64ths_pa: i32,
    /// Temperature of the sensor in 0.01 degrees Celsius.
    pub temperature_centicelsius: i32,
}

impl Compensated {
    /// The pressure, exact to the `f32`'s 1/128 Pa.
    pub fn pressure(self) -> Pascal {
        Pascal(self.pressure_64ths_pa as f32 / 64.0)
    }

    /// Temperature of the sensor itself, not of the outside air.
    pub fn temperature(self) -> Kelvin {
        Kelvin::from_celsius(self.temperature_centicelsius as f32 / 100.0)
    }
}

impl Calibration {
    /// Compensates the raw counts of one pressure conversion (`d1`) and one temperature conversion
    /// (`d2`), 24 bits each.
    pub fn compensate(&self, d1: u32, d2: u32) -> Compensated {
        let temperature_difference = i64::from(d2) - (i64::from(self.reference_temperature) << 8);
        // 1/256 of 0.01 degrees.
        let fine =
            2_000 * 256 + ((temperature_difference * i64::from(self.temperature_slope)) >> 15);
        let cold = second_order(temperature_difference, fine);
        let offset = (i64::from(self.offset) << 16)
            + ((i64::from(self.offset_slope) * temperature_difference) >> 7)
            - cold.offset;
        let sensitivity = (i64::from(self.sensitivity) << 15)
            + ((i64::from(self.sensitivity_slope) * temperature_difference) >> 8)
            - cold.sensitivity;
        // The sheet divides by 2^15 for whole pascals; 2^9 leaves six binary places.
        let pressure_64ths_pa = (((i64::from(d1) * sensitivity) >> 21) - offset) >> 9;
        Compensated {
            pressure_64ths_pa: pressure_64ths_pa as i32,
            temperature_centicelsius: ((fine >> 8) - cold.temperature) as i32,
        }
    }
}

#[derive(Default)]
struct SecondOrder {
    temperature: i64,
    offset: i64,
    sensitivity: i64,
}

fn second_order(temperature_difference: i64, fine: i64) -> SecondOrder {
    let below = |centicelsius: i64| (fine - centicelsius * 256).min(0).pow(2);
    let (below_20, below_minus_15) = (below(2_000), below(-1_500));
    if below_20 == 0 {
        return SecondOrder::default();
    }
    SecondOrder {
        temperature: (temperature_difference * temperature_difference) >> 31,
        offset: ((5 * below_20) >> 17) + ((7 * below_minus_15) >> 16),
        sensitivity: ((5 * below_20) >> 18) + ((11 * below_minus_15) >> 17),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fakes::SHEET_PROM;
    use embedded_hal_mock::eh1::delay::NoopDelay;
    use embedded_hal_mock::eh1::i2c::{Mock, Transaction};
    use proptest::prelude::*;
    use std::vec::Vec;
    use std::{format, vec};

    const SHEET: Calibration = Calibration {
        sensitivity: 40_127,
        offset: 36_924,
        sensitivity_slope: 23_317,
        offset_slope: 23_282,
        reference_temperature: 33_464,
        temperature_slope: 28_312,
    };

    #[test]
    fn the_data_sheets_example_is_reproduced() {
        // MS5611-01BA03 data sheet, "pressure and temperature calculation": D1 = 9085466,
        // D2 = 8569150 give 20.07 degrees Celsius and 1000.09 mbar.
        let compensated = SHEET.compensate(9_085_466, 8_569_150);
        assert_eq!(compensated.temperature_centicelsius, 2_007);
        assert_eq!(compensated.pressure_64ths_pa >> 6, 100_009);
    }

    #[test]
    fn one_count_of_pressure_is_not_rounded_away() {
        // About 0.016 Pa a count at full resolution: a hundred counts are 1 to 2 Pa, and no two
        // steps are lost.
        let pressures: std::vec::Vec<i32> = (0..100)
            .map(|count| SHEET.compensate(9_085_466 + count, 8_569_150).pressure_64ths_pa)
            .collect();
        let gained_pa = f64::from(pressures[99] - pressures[0]) / 64.0;
        assert!((1.0..3.0).contains(&gained_pa), "{gained_pa} Pa in 99 counts");
        assert!(pressures.windows(2).all(|pair| (1..=2).contains(&(pair[1] - pair[0]))));
    }

    #[test]
    fn pressure_follows_temperature_without_steps_down_to_minus_40() {
        // With the pressure counts held, neighbouring temperature counts differ by what the slope
        // of a smooth curve gives; rounding may add 1/64 Pa on each side.
        let pressures: Vec<i64> = (7_100_000..8_600_000)
            .step_by(50)
            .map(|d2| i64::from(SHEET.compensate(9_085_466, d2).pressure_64ths_pa))
            .collect();
        let bends = pressures.windows(3).map(|three| (three[2] - 2 * three[1] + three[0]).abs());
        let worst = bends.max().unwrap();
        assert!(worst <= 4, "a step of {worst} sixty-fourths");
    }

    /// Pressure in Pa and temperature in degrees from another project's code: crate ms5611-rs
    /// 0.1.1, on a simulated bus.
    fn oracle(words: [u16; 8], d1: u32, d2: u32) -> (f32, f32) {
        let result = |counts: u32| counts.to_be_bytes()[1..].to_vec();
        let mut exchanges: Vec<Transaction> = vec![Transaction::write(0x77, vec![0x1E])];
        exchanges.extend((0..8).map(|place| {
            Transaction::write_read(
                0x77,
                vec![0xA0 + 2 * place as u8],
                words[place].to_be_bytes().to_vec(),
            )
        }));
        for (command, counts) in [(0x48, d1), (0x58, d2)] {
            exchanges.push(Transaction::write(0x77, vec![command]));
            exchanges.push(Transaction::write_read(0x77, vec![0x00], result(counts)));
        }
        let mut bus = Mock::new(&exchanges);
        let mut sensor = ms5611_rs::Ms5611::new_i2c_with_address(&mut bus, 0x77);
        sensor.init_blocking(&mut NoopDelay).expect("the words are good");
        let found = sensor
            .measure_blocking(ms5611_rs::Oversampling::Osr4096, &mut NoopDelay)
            .expect("the bus is good");
        bus.done();
        (found.pressure_mbar * 100.0, found.temperature_c)
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            failure_persistence: None,
            cases: 200,
            ..ProptestConfig::default()
        })]

        #[test]
        fn it_agrees_with_another_project_to_the_pascal_that_one_rounds_to(
            // From -40 to 85 degrees and 100 to 1200 hPa with the sheet's calibration.
            d1 in 4_500_000..10_000_000_u32,
            d2 in 7_100_000..10_400_000_u32,
        ) {
            let ours = SHEET.compensate(d1, d2);
            let (pascals, celsius) = oracle(SHEET_PROM, d1, d2);
            let our_celsius = f64::from(ours.temperature_centicelsius) / 100.0;
            let celsius_apart = our_celsius - f64::from(celsius);
            let apart = f64::from(ours.pressure_64ths_pa) / 64.0 - f64::from(pascals);
            // Its TEMP is of whole 0.01 degrees, rounded towards zero; that much of the second
            // order's slopes, 1 Pa of its rounding and the 0.004 Pa of its millibars in a float are
            // allowed.
            let cold = |centicelsius: i32| f64::from((2_000_i32 - centicelsius).max(0));
            let below_20 = cold(ours.temperature_centicelsius);
            let below_minus_15 = cold(ours.temperature_centicelsius + 3_500);
            let of_offset = 5.0 * below_20 + 14.0 * below_minus_15;
            let of_sensitivity =
                (2.5 * below_20 + 11.0 * below_minus_15) * f64::from(d1) / f64::from(1 << 21);
            let most = (of_offset - of_sensitivity).abs().max(of_offset).max(of_sensitivity);
            let allowed = most / f64::from(1 << 15);
            let found = format!("{ours:?}, {pascals} Pa, {celsius}");
            prop_assert!(celsius_apart.abs() < 0.0101, "{}", found);
            prop_assert!((-0.01 - allowed..1.01 + allowed).contains(&apart), "{}", found);
        }
    }
}
