//! The air's pressure, temperature and density by height, in closed form and double precision: the
//! truth, independent of the core.
//!
//! ```text
//! below 11 km   T = T0 - L h      p = p0 (T / T0)^(g0 / (R L))
//! above         T = T11           p = p11 exp(-g0 (h - 11 km) / (R T11))
//! density       rho = p / (R T)
//! pitot         q_c = p ((1 + V^2 / (7 R T))^3.5 - 1), subsonic, ratio of specific heats 1.4
//! ```
//!
//! Heights are geopotential metres above the sea, so that gravity is g0 at all of them. A day may
//! be warmer or colder than the standard, with another pressure at the sea; the lapse rate of 6.5
//! K/km stays.
//!
//! Source: ICAO Doc 7488/3, US Standard Atmosphere 1976 (the same below 32 km).

use serde::Deserialize;

/// Acceleration of gravity in m/s2, by definition.
pub const GRAVITY_MPS2: f64 = 9.80665;
/// Density of the standard atmosphere at the sea in kg/m3, used for equivalent airspeeds.
pub const SEA_LEVEL_DENSITY_KGPM3: f64 = 1.225;
/// Temperature of the standard atmosphere at the sea in K.
pub const SEA_LEVEL_K: f64 = 288.15;
const GAS_CONSTANT: f64 = 287.05287;
const LAPSE_KPM: f64 = 0.0065;
const TROPOPAUSE_M: f64 = 11_000.0;
const EXPONENT: f64 = GRAVITY_MPS2 / (GAS_CONSTANT * LAPSE_KPM);

/// The air at rest.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(default, deny_unknown_fields, expecting = "a table such as [day]")]
pub struct DaySettings {
    /// Pressure at the sea, hPa. 900 to 1080, default 1013.25.
    pub sea_level_hpa: f64,
    /// Temperature at the sea, degrees Celsius; 6.5 K less for every kilometre up. -40 to 50,
    /// default 15.
    pub sea_level_c: f64,
}

impl Default for DaySettings {
    fn default() -> Self {
        Self { sea_level_hpa: 1013.25, sea_level_c: 15.0 }
    }
}

/// The air of a day, at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Atmosphere {
    /// Pressure at the sea in Pa.
    pub sea_level_pa: f64,
    /// Temperature at the sea in K.
    pub sea_level_k: f64,
}

/// The air at one height.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct StillAir {
    /// Pressure in Pa.
    pub pressure_pa: f64,
    /// Temperature in K.
    pub temperature_k: f64,
    /// Density in kg/m3.
    pub density_kgpm3: f64,
    /// Relative change of the density per metre of height, 1/m; negative.
    pub density_slope_pm: f64,
}

impl Atmosphere {
    /// The standard day.
    pub const STANDARD: Atmosphere =
        Atmosphere { sea_level_pa: 101_325.0, sea_level_k: SEA_LEVEL_K };

    /// The air at `height_m`, up to 20 km.
    pub fn at(&self, height_m: f64) -> StillAir {
        let in_troposphere = |height_m: f64| {
            let temperature_k = self.sea_level_k - LAPSE_KPM * height_m;
            (
                self.sea_level_pa * libm::pow(temperature_k / self.sea_level_k, EXPONENT),
                temperature_k,
            )
        };
        let (pressure_pa, temperature_k, lapse_kpm) = if height_m <= TROPOPAUSE_M {
            let (pressure_pa, temperature_k) = in_troposphere(height_m);
            (pressure_pa, temperature_k, LAPSE_KPM)
        } else {
            let (below_pa, temperature_k) = in_troposphere(TROPOPAUSE_M);
            let scale_m = GAS_CONSTANT * temperature_k / GRAVITY_MPS2;
            (below_pa * libm::exp((TROPOPAUSE_M - height_m) / scale_m), temperature_k, 0.0)
        };
        StillAir {
            pressure_pa,
            temperature_k,
            density_kgpm3: pressure_pa / (GAS_CONSTANT * temperature_k),
            density_slope_pm: (lapse_kpm - GRAVITY_MPS2 / GAS_CONSTANT) / temperature_k,
        }
    }
}

impl StillAir {
    /// Impact pressure of a pitot at true airspeed `speed_mps`, in Pa.
    pub fn impact_pressure_pa(&self, speed_mps: f64) -> f64 {
        let squared = speed_mps * speed_mps / (7.0 * GAS_CONSTANT * self.temperature_k);
        self.pressure_pa * libm::expm1(3.5 * libm::log1p(squared))
    }

    /// Half the density times the square of `speed_mps`, in Pa: the reference of pressure
    /// coefficients.
    pub fn dynamic_pressure_pa(&self, speed_mps: f64) -> f64 {
        0.5 * self.density_kgpm3 * speed_mps * speed_mps
    }

    /// Ratio of true to equivalent airspeed; 1 at the sea on a standard day.
    pub fn speed_ratio(&self) -> f64 {
        (SEA_LEVEL_DENSITY_KGPM3 / self.density_kgpm3).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const STANDARD: Atmosphere = Atmosphere::STANDARD;

    #[test]
    fn the_standard_day_is_the_table_of_the_icao() {
        // ICAO Doc 7488/3: height m, temperature K, pressure Pa, density kg/m3 (published-values,
        // section 1).
        for (height_m, kelvin, pascal, density) in [
            (-500.0, 291.40, 107_477.51, 1.284891),
            (0.0, 288.15, 101_325.00, 1.225000),
            (3000.0, 268.65, 70_108.53, 0.909122),
            (6000.0, 249.15, 47_181.00, 0.659697),
            (11_000.0, 216.65, 22_632.04, 0.363918),
            (15_000.0, 216.65, 12_044.55, 0.193673),
        ] {
            let air = STANDARD.at(height_m);
            assert_relative_eq!(air.temperature_k, kelvin, max_relative = 1e-9);
            // The table's last digits are 0.01 Pa and 1e-6 kg/m3.
            assert!(
                (air.pressure_pa - pascal).abs() < 0.006,
                "{} Pa at {height_m} m",
                air.pressure_pa
            );
            assert!(
                (air.density_kgpm3 - density).abs() < 6e-7,
                "{} kg/m3 at {height_m} m",
                air.density_kgpm3
            );
            // From below: at 11 km the slope changes.
            let slope = (air.density_kgpm3 / STANDARD.at(height_m - 1.0).density_kgpm3).ln();
            assert_relative_eq!(air.density_slope_pm, slope, max_relative = 1e-3);
        }
    }

    #[test]
    fn the_pitot_is_compressible() {
        // At 50 m/s at the sea q_c is 1539.5 Pa (published-values, section 4), against 1531.25 by
        // Bernoulli.
        let air = STANDARD.at(0.0);
        assert_relative_eq!(air.impact_pressure_pa(50.0), 1539.5, epsilon = 0.05);
        assert_relative_eq!(air.dynamic_pressure_pa(50.0), 1531.25, max_relative = 1e-6);
        assert_eq!(air.impact_pressure_pa(0.0), 0.0);
    }

    #[test]
    fn true_airspeeds_grow_with_height() {
        // Equivalent 30 m/s is 34.824 m/s at 3000 m, 40.881 at 6000 (published-values, section 4).
        assert_relative_eq!(30.0 * STANDARD.at(3000.0).speed_ratio(), 34.824, epsilon = 5e-4);
        assert_relative_eq!(30.0 * STANDARD.at(6000.0).speed_ratio(), 40.881, epsilon = 5e-4);
    }
}
