//! The standard atmosphere: static pressure to geopotential altitude, temperature and density.
//!
//! Below 11 km the temperature falls by 6.5 K per kilometre; above, it stays at 216.65 K:
//!
//! ```text
//! troposphere    p = p0 (1 - L H / T0)^(g0 / (R L))       H = (T0 / L) (1 - (p / p0)^(R L / g0))
//! stratosphere   p = p11 exp(-g0 (H - 11000) / (R T11))   H = 11000 + (R T11 / g0) ln(p11 / p)
//! density        rho = p / (R T)
//! ```
//!
//! Source: ICAO Doc 7488/3 (the same as ISO 2533:1975 and, below 32 km, the US Standard Atmosphere
//! 1976). Range: -1000 m to 20 000 m. The altitude is geopotential, which is what a barometric
//! altimeter reads.
//!
//! The power is computed as `expm1(k log1p((p - p0) / p0))`, not as `1 - powf(..)`: the subtraction
//! `p - p0` is exact and no digits cancel, so `f32` gives the altitude of a pressure within 1.5 cm
//! everywhere and within 0.3 mm below 1000 m; `powf` would step by 2.6 mm at every height.

use crate::units::{Kelvin, KilogramPerCubicMetre, Metre, Pascal};

/// Standard acceleration of gravity, m/s2.
pub(crate) const GRAVITY_MPS2: f32 = 9.806_65;
/// Specific gas constant of dry air, J/(kg K).
pub(crate) const GAS_CONSTANT_J_PER_KG_K: f32 = 287.052_87;
/// Ratio of the specific heats of air.
pub(crate) const HEAT_CAPACITY_RATIO: f32 = 1.4;
/// Pressure at mean sea level.
pub const SEA_LEVEL_PRESSURE: Pascal = Pascal(101_325.0);
/// Temperature at mean sea level.
pub const SEA_LEVEL_TEMPERATURE: Kelvin = Kelvin(288.15);
/// Density at mean sea level.
pub(crate) const SEA_LEVEL_DENSITY: KilogramPerCubicMetre = KilogramPerCubicMetre(1.225);

/// Temperature lapse below the tropopause, K/m.
const LAPSE_K_PER_M: f32 = 0.0065;
/// The tropopause.
const TROPOPAUSE_M: f32 = 11_000.0;
const TROPOPAUSE_K: f32 = 216.65;
/// p0 (216.65 / 288.15)^5.255880, in double precision 22632.0401 Pa.
const TROPOPAUSE_PA: f32 = 22_632.04;
/// T0 / L.
const TEMPERATURE_HEIGHT_M: f32 = 288.15 / LAPSE_K_PER_M;
/// g0 / (R L) = 5.255880, worked out in double precision because its error grows with height.
const PRESSURE_EXPONENT: f32 = (9.806_65_f64 / (287.052_87 * 0.0065)) as f32;
/// R L / g0.
const ALTITUDE_EXPONENT: f32 = ((287.052_87_f64 * 0.0065) / 9.806_65) as f32;
/// R T11 / g0, the scale height of the stratosphere.
const STRATOSPHERE_SCALE_M: f32 = ((287.052_87_f64 * 216.65) / 9.806_65) as f32;

/// Altitude in the standard atmosphere at which the static pressure is `pressure`.
///
/// Error against the exact formula below 0.3 mm up to 1000 m, 1.5 cm over the whole range (rounding
/// the pressure to `f32` alone costs 0.3 mm at sea level and up to 0.5 mm higher up).
pub fn pressure_altitude(pressure: Pascal) -> Metre {
    if pressure.0 >= TROPOPAUSE_PA {
        let relative = (pressure.0 - SEA_LEVEL_PRESSURE.0) / SEA_LEVEL_PRESSURE.0;
        Metre(-TEMPERATURE_HEIGHT_M * libm::expm1f(ALTITUDE_EXPONENT * libm::log1pf(relative)))
    } else {
        Metre(TROPOPAUSE_M + STRATOSPHERE_SCALE_M * libm::logf(TROPOPAUSE_PA / pressure.0))
    }
}

/// Static pressure of the standard atmosphere at `altitude`; the inverse of [`pressure_altitude`].
///
/// Relative error below 1e-6 over the whole range.
pub fn pressure_at(altitude: Metre) -> Pascal {
    if altitude.0 <= TROPOPAUSE_M {
        let relative = -altitude.0 / TEMPERATURE_HEIGHT_M;
        Pascal(SEA_LEVEL_PRESSURE.0 * libm::expf(PRESSURE_EXPONENT * libm::log1pf(relative)))
    } else {
        let scales = (altitude.0 - TROPOPAUSE_M) / STRATOSPHERE_SCALE_M;
        Pascal(TROPOPAUSE_PA * libm::expf(-scales))
    }
}

/// Temperature of the standard atmosphere at `altitude`, within 0.001 K.
pub fn temperature_at(altitude: Metre) -> Kelvin {
    if altitude.0 <= TROPOPAUSE_M {
        Kelvin(SEA_LEVEL_TEMPERATURE.0 - LAPSE_K_PER_M * altitude.0)
    } else {
        Kelvin(TROPOPAUSE_K)
    }
}

/// Density of dry air at `pressure` and `temperature`, by the ideal gas law; relative error below
/// 1e-6.
pub fn density(pressure: Pascal, temperature: Kelvin) -> KilogramPerCubicMetre {
    KilogramPerCubicMetre(pressure.0 / (GAS_CONSTANT_J_PER_KG_K * temperature.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    /// Slow but simple reference: the standard's own formulas in double precision.
    fn altitude_in_double_precision(pressure: f64) -> f64 {
        let (g0, r, lapse, t0, p0) = (9.80665_f64, 287.05287, 0.0065, 288.15, 101_325.0);
        let t11 = t0 - lapse * 11_000.0;
        let p11 = p0 * libm::pow(t11 / t0, g0 / (r * lapse));
        if pressure >= p11 {
            t0 / lapse * (1.0 - libm::pow(pressure / p0, r * lapse / g0))
        } else {
            11_000.0 + r * t11 / g0 * libm::log(p11 / pressure)
        }
    }

    #[test]
    fn altitude_is_within_its_stated_error_of_double_precision() {
        let (mut worst_low, mut worst) = (0.0_f64, 0.0_f64);
        for step in 0..1_086_000 {
            let pressure = 5_400.0 + step as f32 * 0.1;
            let error = (f64::from(pressure_altitude(Pascal(pressure)).0)
                - altitude_in_double_precision(f64::from(pressure)))
            .abs();
            worst = worst.max(error);
            if pressure > 89_874.0 {
                worst_low = worst_low.max(error);
            }
        }
        assert!(worst < 0.015, "worst error {worst} m");
        assert!(worst_low < 0.000_3, "worst error below 1000 m {worst_low} m");
    }

    #[test]
    fn altitude_and_pressure_are_inverse() {
        for metres in (-1000..=20_000).step_by(50) {
            let altitude = Metre(metres as f32);
            assert_abs_diff_eq!(
                pressure_altitude(pressure_at(altitude)).0,
                altitude.0,
                epsilon = 0.03
            );
        }
    }

    #[test]
    fn altitude_never_steps_back_across_the_tropopause() {
        let mut previous = pressure_altitude(Pascal(22_700.0)).0;
        for step in 1..14_000 {
            let altitude = pressure_altitude(Pascal(22_700.0 - step as f32 * 0.01)).0;
            assert!(altitude >= previous, "step {step}: {altitude} after {previous}");
            previous = altitude;
        }
    }

    #[test]
    fn density_at_sea_level_matches_the_standard() {
        let rho = density(SEA_LEVEL_PRESSURE, SEA_LEVEL_TEMPERATURE);
        assert_relative_eq!(rho.0, SEA_LEVEL_DENSITY.0, max_relative = 1e-6);
    }
}
