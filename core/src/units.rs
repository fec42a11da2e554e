//! Quantities with their units, and the exact conversions to the units people use.
//!
//! Inside the core there is one unit for each quantity: pascal, metre, metre per second, kelvin,
//! hertz, microsecond. Knots, feet and hectopascals exist only at the edges (settings, command
//! line, pictures).
//!
//! The conversion factors are exact by definition: the international foot (0.3048 m), the zero of
//! the Celsius scale (273.15 K).

/// Metres in one international foot, exact.
const METRES_PER_FOOT: f32 = 0.3048;
/// Pascals in one hectopascal (and in one millibar), exact.
pub(crate) const PASCALS_PER_HECTOPASCAL: f32 = 100.0;
/// The ice point in kelvin: 0 degrees Celsius, exact.
const KELVIN_AT_ZERO_CELSIUS: f32 = 273.15;

/// Pressure in pascals.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Pascal(pub f32);

/// Height or altitude in metres; altitudes are geopotential.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Metre(pub f32);

/// Speed in metres per second; vertical speeds are positive upward.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct MetrePerSecond(pub f32);

/// Absolute temperature in kelvin.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Kelvin(pub f32);

/// Density in kilograms per cubic metre.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct KilogramPerCubicMetre(pub f32);

/// Frequency in hertz: of a pitch, or of repeated beeps.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Hertz(pub f32);

/// Acceleration, or specific force, in metres per second squared.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct MetrePerSecond2(pub f32);

/// Turn rate in radians per second.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct RadianPerSecond(pub f32);

/// The same quantity along the three axes of the glider's body.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Axes<T> {
    /// Forward.
    pub x: T,
    /// Right.
    pub y: T,
    /// Down.
    pub z: T,
}

impl<T: Copy> Axes<T> {
    /// Along x, y and z.
    pub fn as_array(&self) -> [T; 3] {
        [self.x, self.y, self.z]
    }
}

/// A point on the sampling clock, or a span of it, in whole microseconds.
///
/// An integer, so that a day of samples keeps its last microsecond; seconds in `f32` exist only as
/// differences.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Micros(pub i64);

impl Micros {
    /// The span from `earlier` to `self`, negative where time went back; saturates at the ends of
    /// `i64`.
    pub const fn since(self, earlier: Micros) -> Micros {
        Micros(self.0.saturating_sub(earlier.0))
    }

    /// The span in seconds, rounded to `f32` (relative error below 6e-8).
    pub fn as_seconds(self) -> f32 {
        // Converted in two parts because a day in microseconds has more digits than an f32: whole
        // seconds are exact up to 194 days, the rest to a thirtieth of a microsecond.
        let (whole, rest) = match u32::try_from(self.0) {
            // Nearly always; a small processor divides 32 bits many times as fast as 64.
            Ok(us) => ((us / 1_000_000) as f32, (us % 1_000_000) as f32),
            Err(_) => ((self.0 / 1_000_000) as f32, (self.0 % 1_000_000) as f32),
        };
        whole + rest * 1.0e-6
    }
}

impl Metre {
    /// In feet.
    pub(crate) fn to_feet(self) -> f32 {
        self.0 / METRES_PER_FOOT
    }
}

/// `value` limited to `-most..=most`; `most` is above zero.
///
/// Not `clamp`, which panics if a limit is NaN: the linker shows that no panic can be reached
/// (tests/no_panic).
pub(crate) fn limited(value: f32, most: f32) -> f32 {
    if value > most {
        most
    } else if value < -most {
        -most
    } else {
        value
    }
}

/// The larger of two numbers; `other` where `one` is not a number.
pub(crate) fn larger(one: f32, other: f32) -> f32 {
    if one > other { one } else { other }
}

/// The smaller of two numbers; `other` where `one` is not a number.
pub(crate) fn smaller(one: f32, other: f32) -> f32 {
    if one < other { one } else { other }
}

impl Kelvin {
    /// From degrees Celsius.
    pub fn from_celsius(celsius: f32) -> Self {
        Self(celsius + KELVIN_AT_ZERO_CELSIUS)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    // Exact conversions: international yard and pound agreement (foot), the nautical mile of the
    // International Hydrographic Conference 1929, the SI brochure (degree Celsius, hectopascal).

    #[test]
    fn lengths_pressures_and_temperatures_convert_by_the_exact_factors() {
        assert_relative_eq!(Metre(1609.344).to_feet(), 5280.0, max_relative = 1e-6);
        assert_relative_eq!(1013.25 * PASCALS_PER_HECTOPASCAL, 101_325.0, max_relative = 1e-7);
        assert_eq!(Kelvin::from_celsius(0.0), Kelvin(273.15));
        assert_relative_eq!(Kelvin::from_celsius(15.0).0, 288.15, max_relative = 1e-5);
    }

    #[test]
    fn a_day_of_microseconds_keeps_its_last_millisecond() {
        let noon = Micros(43_200_000_000);
        assert_eq!(Micros(43_200_001_000).since(noon).as_seconds(), 0.001);
        assert_eq!(noon.since(Micros(43_200_001_000)), Micros(-1000));
        assert_eq!(Micros(i64::MAX).since(Micros(i64::MIN)), Micros(i64::MAX));
    }

    #[test]
    fn the_quick_division_gives_the_same_seconds() {
        let edges = [0, 999_999, 1_000_000, i64::from(u32::MAX), i64::from(u32::MAX) + 1];
        for time in edges.into_iter().flat_map(|edge| [edge - 1, edge, -edge]) {
            let (whole, rest) = ((time / 1_000_000) as f32, (time % 1_000_000) as f32);
            assert_eq!(Micros(time).as_seconds(), whole + rest * 1.0e-6, "{time}");
        }
    }
}
