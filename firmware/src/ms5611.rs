//! The MS5611 barometer's arithmetic: raw counts and factory calibration to pressure and temperature, in integers.
//!
//! ```text
//! dT   = D2 - C5 2^8                      TEMP = 2000 + dT C6 / 2^23                      (0.01 degrees Celsius)
//! OFF  = C2 2^16 + C4 dT / 2^7            SENS = C1 2^15 + C3 dT / 2^8
//! P    = (D1 SENS / 2^21 - OFF) / 2^15                                                    (Pa)
//! below 20 degrees: OFF and SENS less 5 (TEMP - 2000)^2 / 2 and / 4, TEMP less dT^2 / 2^31
//! below -15 degrees: OFF and SENS also less 7 (TEMP + 1500)^2 and 11 (TEMP + 1500)^2 / 2
//! ```
//!
//! Source: MS5611-01BA03 data sheet, flow charts "pressure and temperature calculation" and "second order temperature
//! compensation". The sheet rounds the pressure to 1 Pa, which is 8 cm of height; here 1/64 Pa is kept.

use chirrup_core::units::{Kelvin, Pascal};

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

/// Pressure and temperature, compensated, in the integers in which they were worked out.
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

    /// The sensor's own temperature; it is not the outside air's.
    pub fn temperature(self) -> Kelvin {
        Kelvin::from_celsius(self.temperature_centicelsius as f32 / 100.0)
    }
}

impl Calibration {
    /// Compensates the raw counts of one pressure conversion (`d1`) and one temperature conversion (`d2`), 24 bits each.
    pub fn compensate(&self, d1: u32, d2: u32) -> Compensated {
        let temperature_difference = i64::from(d2) - (i64::from(self.reference_temperature) << 8);
        let first_order = 2_000 + ((temperature_difference * i64::from(self.temperature_slope)) >> 23);
        let cold = second_order(temperature_difference, first_order);
        let offset = (i64::from(self.offset) << 16) + ((i64::from(self.offset_slope) * temperature_difference) >> 7)
            - cold.offset;
        let sensitivity = (i64::from(self.sensitivity) << 15)
            + ((i64::from(self.sensitivity_slope) * temperature_difference) >> 8)
            - cold.sensitivity;
        // The sheet divides by 2^15 for whole pascals; 2^9 leaves six binary places.
        let pressure_64ths_pa = (((i64::from(d1) * sensitivity) >> 21) - offset) >> 9;
        Compensated {
            pressure_64ths_pa: pressure_64ths_pa as i32,
            temperature_centicelsius: (first_order - cold.temperature) as i32,
        }
    }
}

#[derive(Default)]
struct SecondOrder {
    temperature: i64,
    offset: i64,
    sensitivity: i64,
}

fn second_order(temperature_difference: i64, centicelsius: i64) -> SecondOrder {
    if centicelsius >= 2_000 {
        return SecondOrder::default();
    }
    let below_20 = (centicelsius - 2_000) * (centicelsius - 2_000);
    let mut cold = SecondOrder {
        temperature: (temperature_difference * temperature_difference) >> 31,
        offset: (5 * below_20) >> 1,
        sensitivity: (5 * below_20) >> 2,
    };
    if centicelsius < -1_500 {
        let below_minus_15 = (centicelsius + 1_500) * (centicelsius + 1_500);
        cold.offset += 7 * below_minus_15;
        cold.sensitivity += (11 * below_minus_15) >> 1;
    }
    cold
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHEET: Calibration = Calibration {
        sensitivity: 40_127,
        offset: 36_924,
        sensitivity_slope: 23_317,
        offset_slope: 23_282,
        reference_temperature: 33_464,
        temperature_slope: 28_312,
    };

    #[test]
    fn the_data_sheets_example_comes_out() {
        // MS5611-01BA03 data sheet, "pressure and temperature calculation": D1 = 9085466, D2 = 8569150 give
        // 20.07 degrees Celsius and 1000.09 mbar.
        let compensated = SHEET.compensate(9_085_466, 8_569_150);
        assert_eq!(compensated.temperature_centicelsius, 2_007);
        assert_eq!(compensated.pressure_64ths_pa >> 6, 100_009);
    }

    #[test]
    fn one_count_of_pressure_is_not_rounded_away() {
        // About 0.016 Pa a count at full resolution: a hundred counts are 1 to 2 Pa, and no two steps are lost.
        let pressures: std::vec::Vec<i32> =
            (0..100).map(|count| SHEET.compensate(9_085_466 + count, 8_569_150).pressure_64ths_pa).collect();
        let gained_pa = f64::from(pressures[99] - pressures[0]) / 64.0;
        assert!((1.0..3.0).contains(&gained_pa), "{gained_pa} Pa in 99 counts");
        assert!(pressures.windows(2).all(|pair| (1..=2).contains(&(pair[1] - pair[0]))));
    }

    #[test]
    fn the_cold_corrections_join_without_a_step() {
        let pressure_at = |centicelsius: i64| {
            let reference = i64::from(SHEET.reference_temperature) << 8;
            let d2 = (centicelsius - 2_000) * (1 << 23) / i64::from(SHEET.temperature_slope) + reference;
            SHEET.compensate(9_085_466, d2 as u32).pressure_64ths_pa
        };
        for joint in [2_000, -1_500] {
            let steps = [-6, -3, 0, 3, 6].map(|apart| pressure_at(joint + apart));
            let slopes = [steps[1] - steps[0], steps[2] - steps[1], steps[3] - steps[2], steps[4] - steps[3]];
            // With the counts held, pressure falls evenly with temperature: a step would stand out from its neighbours.
            let (least, most) = (slopes.iter().min().unwrap(), slopes.iter().max().unwrap());
            assert!(most - least < 64, "{slopes:?} in 1/64 Pa at {joint}");
        }
    }
}
