//! The BMP390 barometer's arithmetic: raw counts and factory calibration to pressure and
//! temperature.
//!
//! ```text
//! d = UT - t1,  T = t2 d + t3 d^2                                 (degrees Celsius)
//! P = p5 + p6 T + p7 T^2 + p8 T^3  +  UP (p1 + p2 T + p3 T^2 + p4 T^3)
//!     +  UP^2 (p9 + p10 T)  +  UP^3 p11                           (Pa)
//! ```
//!
//! The coefficients are the calibration's integers divided by powers of two. Computed in `f64`,
//! whose rounding is the same on every processor: at fifty times a second it costs little, and all
//! 24 bits of a conversion are kept; the result is in 1/64 Pa.
//!
//! Source, from memory: BMP390 data sheet, appendix "computation formulae reference
//! implementation"; the tests compare with another project's implementation.

pub mod driver;

use crate::sensor::rounded;

/// Bytes of calibration, registers 0x31 to 0x45.
pub const CALIBRATION_BYTES: usize = 21;

/// The factory calibration, as the polynomials' coefficients.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Calibration {
    t: [f64; 3],
    p: [f64; 11],
}

/// Pressure and temperature, compensated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Compensated {
    /// Pressure in 1/64 Pa.
    pub pressure_64ths_pa: i32,
    /// Temperature of the sensor in 0.01 degrees Celsius.
    pub temperature_centicelsius: i32,
}

impl Calibration {
    /// From registers 0x31 to 0x45; `None` for what a held bus line or an empty memory gives.
    pub fn from_registers(bytes: &[u8; CALIBRATION_BYTES]) -> Option<Self> {
        if bytes.iter().all(|byte| *byte == 0) || bytes.iter().all(|byte| *byte == 0xFF) {
            return None;
        }
        let [
            t1l,
            t1h,
            t2l,
            t2h,
            t3,
            p1l,
            p1h,
            p2l,
            p2h,
            p3,
            p4,
            p5l,
            p5h,
            p6l,
            p6h,
            p7,
            p8,
            p9l,
            p9h,
            p10,
            p11,
        ] = *bytes;
        let unsigned = |low, high| f64::from(u16::from_le_bytes([low, high]));
        let signed = |low, high| f64::from(i16::from_le_bytes([low, high]));
        let small = |byte: u8| f64::from(byte as i8);
        const OFFSET: f64 = 16_384.0;
        Some(Self {
            t: [unsigned(t1l, t1h) * 256.0, unsigned(t2l, t2h) / power(30), small(t3) / power(48)],
            p: [
                (signed(p1l, p1h) - OFFSET) / power(20),
                (signed(p2l, p2h) - OFFSET) / power(29),
                small(p3) / power(32),
                small(p4) / power(37),
                unsigned(p5l, p5h) * 8.0,
                unsigned(p6l, p6h) / power(6),
                small(p7) / power(8),
                small(p8) / power(15),
                signed(p9l, p9h) / power(48),
                small(p10) / power(48),
                small(p11) / power(65),
            ],
        })
    }

    /// Compensates the raw counts of one conversion, 24 bits each.
    pub fn compensate(&self, pressure_counts: u32, temperature_counts: u32) -> Compensated {
        let celsius = self.celsius(temperature_counts);
        Compensated {
            pressure_64ths_pa: rounded(self.pascals(pressure_counts, celsius) * 64.0),
            temperature_centicelsius: rounded(celsius * 100.0),
        }
    }

    fn celsius(&self, counts: u32) -> f64 {
        let [t1, t2, t3] = self.t;
        let above = f64::from(counts) - t1;
        above * t2 + above * above * t3
    }

    fn pascals(&self, counts: u32, celsius: f64) -> f64 {
        let [p1, p2, p3, p4, p5, p6, p7, p8, p9, p10, p11] = self.p;
        let (counts, t) = (f64::from(counts), celsius);
        let constant = p5 + t * (p6 + t * (p7 + t * p8));
        let linear = p1 + t * (p2 + t * (p3 + t * p4));
        let quadratic = p9 + t * p10;
        constant + counts * (linear + counts * (quadratic + counts * p11))
    }
}

/// 2 to the power of `exponent`, exact.
fn power(exponent: u32) -> f64 {
    (1_u128 << exponent.min(127)) as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fakes::{BMP390_REGISTERS, BMP390_TEMPERATURE_COUNTS};
    use bmp3::compensation::{Compensator, RawTrimData};
    use proptest::prelude::*;

    /// The reference of the maker's formulae as another project wrote it: crate bmp3 0.1.1.
    fn oracle(bytes: &[u8; CALIBRATION_BYTES]) -> Compensator {
        let u = |place: usize| u16::from_le_bytes([bytes[place], bytes[place + 1]]);
        let i = |place: usize| u(place) as i16;
        let small = |place: usize| bytes[place] as i8;
        Compensator::from_raw(&RawTrimData {
            par_t1: u(0),
            par_t2: u(2),
            par_t3: small(4),
            par_p1: i(5),
            par_p2: i(7),
            par_p3: small(9),
            par_p4: small(10),
            par_p5: u(11),
            par_p6: u(13),
            par_p7: small(15),
            par_p8: small(16),
            par_p9: i(17),
            par_p10: small(19),
            par_p11: small(20),
        })
    }

    #[test]
    fn the_invented_calibration_gives_room_conditions_mid_range() {
        let calibration = Calibration::from_registers(&BMP390_REGISTERS).unwrap();
        let room = calibration.compensate(7_500_000, BMP390_TEMPERATURE_COUNTS);
        assert!((2_400..2_600).contains(&room.temperature_centicelsius), "{room:?}");
        assert!((95_000..110_000).contains(&(room.pressure_64ths_pa / 64)), "{room:?}");
    }

    #[test]
    fn one_count_of_pressure_is_not_rounded_away() {
        let calibration = Calibration::from_registers(&BMP390_REGISTERS).unwrap();
        let at =
            |counts| calibration.compensate(counts, BMP390_TEMPERATURE_COUNTS).pressure_64ths_pa;
        // A count is about 0.016 Pa here, and more counts are less pressure.
        let pascals = f64::from(at(7_500_000) - at(7_500_100)) / 64.0;
        assert!((0.5..3.0).contains(&pascals), "{pascals} Pa in 100 counts");
        assert!(
            (0..100)
                .all(|count| (0..=2).contains(&(at(7_500_000 + count) - at(7_500_001 + count))))
        );
    }

    #[test]
    fn a_held_bus_gives_no_calibration() {
        assert_eq!(Calibration::from_registers(&[0; CALIBRATION_BYTES]), None);
        assert_eq!(Calibration::from_registers(&[0xFF; CALIBRATION_BYTES]), None);
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            failure_persistence: None,
            ..ProptestConfig::default()
        })]

        #[test]
        fn it_agrees_with_the_reference_to_a_sixty_fourth(
            bytes in any::<[u8; CALIBRATION_BYTES]>(),
            counts in 0..0x00FF_FFFF_u32,
            warm in 0..0x00FF_FFFF_u32,
        ) {
            prop_assume!(Calibration::from_registers(&bytes).is_some());
            let ours = Calibration::from_registers(&bytes).unwrap().compensate(counts, warm);
            let oracle = oracle(&bytes);
            let celsius = oracle.temperature(i64::from(warm));
            let pascals = oracle.pressure(u64::from(counts), celsius);
            // Half a unit is the rounding; any calibration at all, so that impossible pressures
            // have fewer digits.
            let within = |ours: i32, theirs: f64, unit: f64| {
                let allowed = 0.5 + theirs.abs() * unit * 1e-9;
                let is_near = (f64::from(ours) - theirs * unit).abs() <= allowed;
                ours == i32::MAX || ours == i32::MIN || is_near
            };
            let (celsius, pascals) = (celsius.value, pascals.value);
            let is_warm = within(ours.temperature_centicelsius, celsius, 100.0);
            prop_assert!(is_warm, "{ours:?} {celsius}");
            prop_assert!(within(ours.pressure_64ths_pa, pascals, 64.0), "{ours:?} {pascals}");
        }
    }
}
