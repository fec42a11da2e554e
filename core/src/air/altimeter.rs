//! The altimeter: height above the pressure level set on its subscale.
//!
//! ```text
//! shown = H(p_static) - H(subscale)          H the pressure altitude of the standard atmosphere
//!
//! subscale    1013.25 hPa     flight levels ("standard")
//!             QNH             altitude above sea level
//!             QFE             height above the airfield
//! ```
//!
//! All three work the same way: the subscale shifts the pointer by the standard height of the
//! pressure that is set. Source: ICAO Doc 7488/3 for H; that the subscale shifts by heights of the
//! standard atmosphere is how altimeters are built (common practice, no source).
//!
//! As in any altimeter, the height is not corrected for temperature.

use crate::air::atmosphere::{SEA_LEVEL_PRESSURE, pressure_altitude};
use crate::error::SettingsError;
use crate::rows::{Group, Kind};
use crate::units::{Metre, PASCALS_PER_HECTOPASCAL, Pascal};

setting_words! {
    /// Unit in which heights are displayed.
    pub enum HeightUnit {
        #[default]
        M = "m", "metres";
        Ft = "ft", "international feet";
    }
}

setting_group! {
    /// What the altimeter is set to.
    pub struct AltimeterSettings = "altimeter.", "The altimeter." {
        subscale_hpa: f32 = 1013.25, "hPa", Kind::number(850.0, 1085.0),
            "Pressure at which it shows zero: 1013.25 for flight levels, the QNH for altitude \
             above sea level, the QFE for height above the airfield.";
        unit: HeightUnit = HeightUnit::M, "", HeightUnit::KIND,
            "Unit of the altimeter for people; tables are always in metres.";
    }
}

impl HeightUnit {
    /// `height` in this unit.
    pub fn of(self, height: Metre) -> f32 {
        match self {
            HeightUnit::M => height.0,
            HeightUnit::Ft => height.to_feet(),
        }
    }
}

/// An altimeter with its subscale set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Altimeter {
    reference: Metre,
}

impl Altimeter {
    /// An altimeter with its subscale as in `settings`.
    ///
    /// # Errors
    /// A subscale outside 850 to 1085 hPa.
    pub(crate) fn new(settings: &AltimeterSettings) -> Result<Self, SettingsError> {
        settings.check_ranges()?;
        Ok(Self::with_subscale(Pascal(settings.subscale_hpa * PASCALS_PER_HECTOPASCAL)))
    }

    /// An altimeter with `subscale` set.
    pub(crate) fn with_subscale(subscale: Pascal) -> Self {
        // The standard setting shifts by exactly zero.
        let standard = subscale == SEA_LEVEL_PRESSURE;
        Self { reference: if standard { Metre(0.0) } else { pressure_altitude(subscale) } }
    }

    /// Height shown at pressure altitude `altitude`; within 3 cm of the exact formula.
    pub(crate) fn shown(&self, altitude: Metre) -> Metre {
        Metre(altitude.0 - self.reference.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn shown(subscale_hpa: f32, pressure_pa: f32) -> f32 {
        let altimeter =
            Altimeter::new(&AltimeterSettings { subscale_hpa, ..AltimeterSettings::default() })
                .unwrap();
        altimeter.shown(pressure_altitude(Pascal(pressure_pa))).0
    }

    #[test]
    fn the_standard_setting_shows_the_standard_atmosphere() {
        // ICAO Doc 7488/3: 1000 m at 89874.56 Pa.
        assert_abs_diff_eq!(shown(1013.25, 89_874.56), 1000.0, epsilon = 0.02);
    }

    #[test]
    fn subscale_set_to_outside_pressure_shows_zero() {
        for pressure in [95_460.84, 101_325.0, 103_000.0] {
            assert_abs_diff_eq!(shown(pressure / 100.0, pressure), 0.0, epsilon = 0.02);
        }
    }

    #[test]
    fn one_hectopascal_near_the_ground_is_the_standards_8_32_m() {
        // ICAO Doc 7488/3: dp/dH at sea level -12.0131 Pa/m, so 8.32 m per hectopascal near sea
        // level.
        assert_abs_diff_eq!(
            shown(1014.25, 101_325.0) - shown(1013.25, 101_325.0),
            8.32,
            epsilon = 0.02
        );
    }

    #[test]
    fn feet_are_international_feet() {
        assert_abs_diff_eq!(HeightUnit::Ft.of(Metre(304.8)), 1000.0, epsilon = 1e-3);
        assert_eq!(HeightUnit::M.of(Metre(304.8)), 304.8);
    }
}
