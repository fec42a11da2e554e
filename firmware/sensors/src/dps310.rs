//! The DPS310 barometer, and the SPL06-001 and SPL06-007, which have its registers: raw counts and
//! factory calibration to pressure and temperature.
//!
//! ```text
//! p = P counts / kP,  t = T counts / kT        (kP = 3670016 at 4 times, kT = 524288 at once)
//! T = c0 / 2 + c1 t                                                        (degrees Celsius)
//! P = c00 + p (c10 + p (c20 + p c30)) + t c01 + t p (c11 + p c21)          (Pa)
//! ```
//!
//! The coefficients are two's complement numbers of 12, 16 and 20 bits, packed into 18 bytes from
//! register 0x10 on:
//!
//! ```text
//! byte  0      1          2    3     4     5           6     7     8 9  10 11  12 13  14 15  16 17
//!       c0     c0 | c1    c1   c00   c00   c00 | c10   c10   c10   c01  c11    c20    c21    c30
//!       11..4  3..0 11..8 7..0 19..12 11..4 3..0 19..16 15..8 7..0
//! ```
//!
//! Computed in `f64`, whose rounding is the same on every processor; the result is in 1/64 Pa.
//!
//! # Noise against time
//!
//! | oversampling | longest one, ms | noise, Pa |
//! |---|---|---|
//! | 1 | 3.6 | 2.5 |
//! | 2 | 5.2 | 1.0 |
//! | **4** | **8.4** | **0.5** |
//! | 8 | 14.8 | 0.4 |
//! | 16 | 27.6 | 0.35 |
//!
//! [`driver`] takes 4 times, which leaves room for a temperature in every frame of 20 ms; that of
//! the die moves the pressure by about 10 Pa a degree before it is compensated.
//!
//! # Two makers, one identity
//!
//! A DPS310 (Infineon) and an SPL06 (Goertek) both answer 0x10, and nothing that is documented
//! tells them apart; both are called `dps310` here.
//!
//! An SPL07-003 or SPA06-003 (Goertek) has their registers and addresses, but answers 0x11 and has
//! two coefficients more, of 12 bits each in registers 0x22 to 0x24: `c40` in the fourth power of
//! pressure, and `c31` in its cube times temperature. Read as an SPL06 it would be up to 43 Pa
//! wrong by `c40` alone near the ground (2047 Pa times 0.38 to the fourth power), and otherwise at
//! another height. So it is refused, by name. Source: the driver for both kinds in Copper (crate
//! `cu29`), which reads 22 bytes of coefficients where the identity is 0x11; the sheet itself was
//! not seen.
//!
//! # Accuracy
//!
//! 30 to 120 kPa; 100 Pa absolute; 0.5 Pa per degree (Infineon's library, README). An SPL06 is
//! noisier: 1.2 Pa at 16 times (from memory), so about 2 Pa here.
//!
//! Sources: DPS310 data sheet 1.2, "how to calculate compensated values" and "calibration
//! coefficients"; the factors and the packing are also those of crates `dps310` 0.1 and `spl06-007`
//! 0.3. The table of noise is from memory (sheet 1.2, "pressure configuration"). The example of the
//! tests is a sensor that its owner published (Infineon/DPS310-Pressure-Sensor, issue 30).
//!
//! Other drivers: both crates named are for `embedded-hal` 0.2, compute in `f32` (1/128 Pa at
//! best, and a sum of seven terms) and wait for results; hence this one.

pub mod driver;

use crate::sensor::rounded;

/// Bytes of calibration, registers 0x10 to 0x21.
pub const CALIBRATION_BYTES: usize = 18;

/// The scale of pressure counts at 4 times oversampling.
const PRESSURE_SCALE: f64 = 3_670_016.0;
/// The scale of temperature counts without oversampling.
const TEMPERATURE_SCALE: f64 = 524_288.0;

/// The factory calibration.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Calibration {
    /// Half degrees at a temperature of 0 counts, 12 bits.
    pub c0: i32,
    /// Degrees in all counts of temperature, 12 bits.
    pub c1: i32,
    /// Pa at 0 counts, 20 bits.
    pub c00: i32,
    /// Pa in all counts of pressure, 20 bits.
    pub c10: i32,
    /// Pa in all counts of temperature.
    pub c01: i32,
    /// Pa in all counts of both.
    pub c11: i32,
    /// Pa in the square of pressure.
    pub c20: i32,
    /// Pa in the square of pressure times temperature.
    pub c21: i32,
    /// Pa in the cube of pressure.
    pub c30: i32,
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
    /// From registers 0x10 to 0x21; `None` for what a held bus line, an empty memory or a device of
    /// another kind gives: a sensor has less pressure for more counts (`c10`), and reads as much
    /// as a pressure of the atmosphere at 0 counts (`c00`).
    pub fn from_registers(bytes: &[u8; CALIBRATION_BYTES]) -> Option<Self> {
        let [b0, b1, b2, b3, b4, b5, b6, b7, rest @ ..] = *bytes;
        let [b8, b9, b10, b11, b12, b13, b14, b15, b16, b17] = rest;
        let word = |high, low| i32::from(i16::from_be_bytes([high, low]));
        let calibration = Self {
            c0: signed::<16>([0, b0, b1]) >> 4,
            c1: signed::<12>([0, b1, b2]),
            c00: signed::<24>([b3, b4, b5]) >> 4,
            c10: signed::<20>([b5, b6, b7]),
            c01: word(b8, b9),
            c11: word(b10, b11),
            c20: word(b12, b13),
            c21: word(b14, b15),
            c30: word(b16, b17),
        };
        let is_sensor = calibration.c10 < 0 && (10_000..300_000).contains(&calibration.c00);
        is_sensor.then_some(calibration)
    }

    /// Compensates the raw counts of a pressure and a temperature, 24 bits each.
    pub fn compensate(&self, pressure_counts: i32, temperature_counts: i32) -> Compensated {
        let p = f64::from(pressure_counts) / PRESSURE_SCALE;
        let t = f64::from(temperature_counts) / TEMPERATURE_SCALE;
        let celsius = f64::from(self.c0) / 2.0 + f64::from(self.c1) * t;
        let [c00, c10, c20, c30] = [self.c00, self.c10, self.c20, self.c30].map(f64::from);
        let [c01, c11, c21] = [self.c01, self.c11, self.c21].map(f64::from);
        let pascals = c00 + p * (c10 + p * (c20 + p * c30)) + t * (c01 + p * (c11 + p * c21));
        Compensated {
            pressure_64ths_pa: rounded(pascals * 64.0),
            temperature_centicelsius: rounded(celsius * 100.0),
        }
    }
}

/// The lowest `BITS` of three bytes, as a two's complement number.
fn signed<const BITS: u32>([high, middle, low]: [u8; 3]) -> i32 {
    let all = i32::from_be_bytes([0, high, middle, low]);
    (all << (32 - BITS)) >> (32 - BITS)
}

#[cfg(test)]
mod tests;
