//! Units of the columns of a trace: their spellings, and the conversion to the core's unit.

/// Metres in one international foot, exact.
const METRES_PER_FOOT: f32 = 0.3048;
/// Metres in one statute mile, exact.
const METRES_PER_STATUTE_MILE: f32 = 1609.344;
/// Metres in one nautical mile, exact.
const METRES_PER_NAUTICAL_MILE: f32 = 1852.0;
const SECONDS_PER_HOUR: f32 = 3600.0;
const SECONDS_PER_DAY: f32 = 86_400.0;
/// Metres per second in one knot, one nautical mile an hour.
const MPS_PER_KNOT: f32 = METRES_PER_NAUTICAL_MILE / SECONDS_PER_HOUR;
const MPS_PER_KILOMETRE_PER_HOUR: f32 = 1.0 / 3.6;
/// Pascals in one hectopascal and in one millibar, exact.
const PASCALS_PER_HECTOPASCAL: f32 = 100.0;
/// Pascals in one inch of mercury, conventional value.
const PASCALS_PER_INCH_OF_MERCURY: f32 = 3386.389;
/// Pascals in one conventional millimetre of mercury; one torr is the same to 2e-7 (from memory).
const PASCALS_PER_MILLIMETRE_OF_MERCURY: f64 = 133.322_387;
/// Pascals in one pound-force on a square inch (from memory).
const PASCALS_PER_PSI: f64 = 6_894.757_293;
/// Pascals in one standard atmosphere, exact.
const PASCALS_PER_ATMOSPHERE: f64 = 101_325.0;
/// The ice point in kelvin: 0 degrees Celsius, exact.
const KELVIN_AT_ZERO_CELSIUS: f32 = 273.15;

/// Standard gravity in metres per second squared, exact.
const MPS2_PER_G: f64 = 9.80665;

/// What a unit measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Quantity {
    /// In microseconds.
    Time,
    /// In pascals.
    Pressure,
    /// Pressure altitude in metres, which stands for a pressure.
    Altitude,
    /// In metres per second.
    Speed,
    /// In kelvin.
    Temperature,
    /// In metres per second squared.
    Acceleration,
    /// In radians per second.
    TurnRate,
    /// In degrees.
    Angle,
    /// A height in metres that stands for no pressure.
    Height,
}

/// A unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Unit {
    /// What it measures.
    pub quantity: Quantity,
    /// Its usual spelling first, then others; case does not matter.
    spellings: &'static [&'static str],
    /// In the core's unit: `value * factor + offset`.
    factor: f64,
    offset: f64,
}

const fn unit(quantity: Quantity, spellings: &'static [&'static str], factor: f64) -> Unit {
    Unit { quantity, spellings, factor, offset: 0.0 }
}

const fn temperature(spellings: &'static [&'static str], factor: f64, offset: f64) -> Unit {
    Unit { quantity: Quantity::Temperature, spellings, factor, offset }
}

/// Every unit; the first of a quantity is the default.
///
/// The factors are exact but for their rounding to `f32`: relative error below 6e-8.
static UNITS: [Unit; 36] = [
    unit(Quantity::Time, &["s", "sec", "secs", "seconds"], 1e6),
    unit(Quantity::Time, &["ms", "msec", "millis", "milliseconds"], 1e3),
    unit(Quantity::Time, &["us", "\u{b5}s", "\u{3bc}s", "usec", "micros", "microseconds"], 1.0),
    unit(Quantity::Time, &["ns", "nsec", "nanos", "nanoseconds"], 1e-3),
    unit(Quantity::Time, &["min", "mins", "minute", "minutes"], 60e6),
    unit(Quantity::Time, &["h", "hr", "hrs", "hour", "hours"], SECONDS_PER_HOUR as f64 * 1e6),
    unit(Quantity::Time, &["days", "day"], SECONDS_PER_DAY as f64 * 1e6),
    unit(Quantity::Pressure, &["Pa"], 1.0),
    unit(Quantity::Pressure, &["hPa"], PASCALS_PER_HECTOPASCAL as f64),
    unit(Quantity::Pressure, &["mbar", "mb"], PASCALS_PER_HECTOPASCAL as f64),
    unit(Quantity::Pressure, &["kPa"], 1000.0),
    unit(Quantity::Pressure, &["inHg"], PASCALS_PER_INCH_OF_MERCURY as f64),
    unit(Quantity::Pressure, &["mmHg", "Torr"], PASCALS_PER_MILLIMETRE_OF_MERCURY),
    unit(Quantity::Pressure, &["psi"], PASCALS_PER_PSI),
    unit(Quantity::Pressure, &["bar"], 1e5),
    unit(Quantity::Pressure, &["atm"], PASCALS_PER_ATMOSPHERE),
    unit(Quantity::Altitude, &["m"], 1.0),
    unit(Quantity::Altitude, &["ft"], METRES_PER_FOOT as f64),
    unit(Quantity::Altitude, &["cm"], 0.01),
    unit(Quantity::Speed, &["m/s", "mps", "ms", "m_s"], 1.0),
    unit(Quantity::Speed, &["kt", "kts", "kn"], MPS_PER_KNOT as f64),
    unit(Quantity::Speed, &["km/h", "kmh", "kph", "km_h"], MPS_PER_KILOMETRE_PER_HOUR as f64),
    unit(Quantity::Speed, &["mph"], METRES_PER_STATUTE_MILE as f64 / SECONDS_PER_HOUR as f64),
    temperature(&["C", "degC", "\u{b0}C"], 1.0, KELVIN_AT_ZERO_CELSIUS as f64),
    temperature(&["K"], 1.0, 0.0),
    // 0 degrees Fahrenheit is -32 / 1.8 degrees Celsius.
    temperature(&["F", "degF", "\u{b0}F"], 1.0 / 1.8, KELVIN_AT_ZERO_CELSIUS as f64 - 32.0 / 1.8),
    unit(Quantity::Acceleration, &["m/s2", "mps2", "m/s^2", "m/s\u{b2}", "m_s2"], 1.0),
    unit(Quantity::Acceleration, &["g"], MPS2_PER_G),
    unit(Quantity::Acceleration, &["mg"], 1e-3 * MPS2_PER_G),
    unit(Quantity::TurnRate, &["rad/s", "radps", "rps", "rad_s"], 1.0),
    unit(
        Quantity::TurnRate,
        &["deg/s", "dps", "degps", "deg_s", "\u{b0}/s"],
        std::f64::consts::PI / 180.0,
    ),
    unit(Quantity::Angle, &["deg", "degrees", "\u{b0}"], 1.0),
    unit(Quantity::Angle, &["rad"], 180.0 / std::f64::consts::PI),
    unit(Quantity::Height, &["m"], 1.0),
    unit(Quantity::Height, &["ft"], METRES_PER_FOOT as f64),
    unit(Quantity::Height, &["cm"], 0.01),
];

impl Unit {
    /// The usual spelling.
    pub fn name(&self) -> &'static str {
        self.spellings[0]
    }

    /// `value` in the core's unit.
    pub fn convert(&self, value: f64) -> f64 {
        value * self.factor + self.offset
    }

    /// For a time that is no number of days: how many decimal places there are from this unit to
    /// the microsecond.
    pub fn decimal_places(&self) -> i32 {
        self.factor.log10().round() as i32
    }

    /// Whether it is a power of ten of the core's unit, as the second is and the minute is not.
    pub fn is_decimal(&self) -> bool {
        let places = self.factor.log10();
        (places - places.round()).abs() < 1e-9
    }

    /// Whether it is the day.
    pub fn is_days(&self) -> bool {
        self.name() == "days"
    }

    /// The unit of a channel of this quantity where nothing says another.
    pub fn default_of(quantity: Quantity) -> &'static Unit {
        // Each quantity has a unit.
        UNITS.iter().find(|unit| unit.quantity == quantity).unwrap_or(&UNITS[0])
    }

    /// The units of `quantities`, the default first.
    pub fn all_of(quantities: &[Quantity]) -> impl Iterator<Item = &'static Unit> {
        UNITS.iter().filter(move |unit| quantities.contains(&unit.quantity))
    }

    /// The unit of `quantities` with this spelling.
    pub fn spelled(text: &str, quantities: &[Quantity]) -> Option<&'static Unit> {
        let text = text.to_lowercase();
        Self::all_of(quantities)
            .find(|unit| unit.spellings.iter().any(|spelling| spelling.to_lowercase() == text))
    }

    /// The unit in which a column's name ends: `p_hpa`, `speed (km/h)`, `t [ms]`, `p/hPa`,
    /// `millis`. The longest such ending counts.
    pub fn at_end_of(column: &str, quantities: &[Quantity]) -> Option<&'static Unit> {
        let column = column.to_lowercase();
        let ends_in = |spelling: &str| {
            let ending = spelling.to_lowercase();
            let bare = column.strip_suffix([')', ']']).unwrap_or(&column);
            bare.strip_suffix(ending.as_str()).is_some_and(|rest| {
                rest.ends_with(['_', ' ', '(', '[', '/']) || rest.is_empty() && ending.len() > 1
            })
        };
        Self::all_of(quantities)
            .flat_map(|unit| unit.spellings.iter().map(move |spelling| (unit, spelling)))
            .filter(|(_, spelling)| ends_in(spelling))
            .max_by_key(|(_, spelling)| spelling.len())
            .map(|(unit, _)| unit)
    }

    /// A column's name without the unit of `quantities` in which it ends, and without brackets.
    pub fn before<'a>(column: &'a str, quantities: &[Quantity]) -> &'a str {
        let bare = column.strip_suffix([')', ']']).unwrap_or(column);
        let cut = Self::all_of(quantities)
            .flat_map(|unit| unit.spellings)
            .filter_map(|ending| {
                let at = bare.len().checked_sub(ending.len()).filter(|at| *at > 0)?;
                let (rest, own) = (bare.get(..at)?, bare.get(at..)?);
                let is_unit = own.to_lowercase() == ending.to_lowercase();
                (is_unit && rest.ends_with(['_', ' ', '(', '[', '/'])).then_some(rest)
            })
            .min_by_key(|rest| rest.len());
        cut.unwrap_or(column).trim_end_matches(['_', ' ', '(', '[', '/'])
    }

    /// What stands in brackets at the end of a column's name.
    pub fn in_brackets(column: &str) -> Option<&str> {
        let inside = column.trim_end().strip_suffix([')', ']'])?;
        inside.rfind(['(', '[']).map(|at| inside[at + 1..].trim())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Quantity::{Acceleration, Altitude, Pressure, Speed, Temperature, Time, TurnRate};
    use approx::assert_relative_eq;

    fn convert(quantity: Quantity, spelling: &str, value: f64) -> f64 {
        Unit::spelled(spelling, &[quantity]).expect("it is a unit").convert(value)
    }

    #[test]
    fn values_come_out_in_the_units_of_the_core() {
        // Exact conversions: foot, nautical and statute mile by definition; standard atmosphere
        // 29.9213 inHg and 1013.25 hPa (ICAO Doc 7488/3); 59 degrees Fahrenheit is 15 degrees
        // Celsius.
        assert_relative_eq!(convert(Pressure, "hPa", 1013.25), 101_325.0, max_relative = 1e-7);
        assert_relative_eq!(convert(Pressure, "mbar", 1013.25), 101_325.0, max_relative = 1e-7);
        assert_relative_eq!(convert(Pressure, "kPa", 101.325), 101_325.0, max_relative = 1e-7);
        assert_relative_eq!(convert(Pressure, "inhg", 29.9213), 101_325.0, max_relative = 2e-6);
        // 760 mmHg and 14.695949 psi are the standard atmosphere.
        assert_relative_eq!(convert(Pressure, "mmHg", 760.0), 101_325.0, max_relative = 1e-6);
        assert_relative_eq!(convert(Pressure, "torr", 760.0), 101_325.0, max_relative = 1e-6);
        assert_relative_eq!(convert(Pressure, "psi", 14.695_949), 101_325.0, max_relative = 2e-6);
        assert_relative_eq!(convert(Pressure, "bar", 1.01325), 101_325.0, max_relative = 1e-7);
        assert_relative_eq!(convert(Pressure, "atm", 1.0), 101_325.0, max_relative = 1e-7);
        assert_relative_eq!(convert(Altitude, "cm", 250.0), 2.5, max_relative = 1e-7);
        assert_relative_eq!(convert(Altitude, "ft", 10_000.0), 3048.0, max_relative = 1e-7);
        assert_relative_eq!(convert(Speed, "kt", 100.0), 51.444_444, max_relative = 1e-7);
        assert_relative_eq!(convert(Speed, "KM/H", 90.0), 25.0, max_relative = 1e-7);
        assert_relative_eq!(convert(Speed, "mph", 100.0), 44.704, max_relative = 1e-7);
        assert_relative_eq!(convert(Temperature, "F", 59.0), 288.15, max_relative = 1e-7);
        assert_relative_eq!(convert(Temperature, "c", 15.0), 288.15, max_relative = 1e-7);
        // Standard gravity by definition (BIPM); half a turn is pi.
        assert_relative_eq!(convert(Acceleration, "g", -1.0), -9.80665);
        assert_relative_eq!(convert(Acceleration, "mg", 500.0), 4.903_325);
        assert_relative_eq!(convert(TurnRate, "dps", 180.0), std::f64::consts::PI);
    }

    #[test]
    fn the_end_of_a_name_tells_the_unit_for_the_quantity_asked_for() {
        let end = |column: &str, quantities: &[Quantity]| {
            Unit::at_end_of(column, quantities).map(Unit::name)
        };
        assert_eq!(end("t_ms", &[Time]), Some("ms"));
        assert_eq!(end("ias_ms", &[Speed]), Some("m/s"));
        assert_eq!(end("tas_m_s", &[Speed]), Some("m/s"));
        assert_eq!(end("Speed (km/h)", &[Speed]), Some("km/h"));
        assert_eq!(end("Pressure [hPa]", &[Pressure, Altitude]), Some("hPa"));
        assert_eq!(end("baro_alt_m", &[Pressure, Altitude]), Some("m"));
        assert_eq!(end("alt_FT", &[Pressure, Altitude]), Some("ft"));
        assert_eq!(end("ax_g", &[Acceleration]), Some("g"));
        assert_eq!(end("Acc X (m/s\u{b2})", &[Acceleration]), Some("m/s2"));
        assert_eq!(end("gyro x [\u{b0}/s]", &[TurnRate]), Some("deg/s"));
        assert_eq!(end("gx_dps", &[TurnRate]), Some("deg/s"));
        assert_eq!(end("p", &[Pressure]), None);
        assert_eq!(end("k", &[Temperature]), None);
        assert_eq!(end("lapse", &[Time]), None);
    }

    #[test]
    fn seconds_are_six_places_from_the_microsecond() {
        let places =
            |spelling| Unit::spelled(spelling, &[Time]).expect("it is a unit").decimal_places();
        assert_eq!((places("s"), places("ms"), places("us")), (6, 3, 0));
    }
}
