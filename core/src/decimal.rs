//! Numbers as decimal text, and back, in a few hundred bytes of program.
//!
//! The standard library's way is right for every number there is, and costs a small board 20 KB,
//! half of it a table of powers of five. Settings, limits and readings need less:
//!
//! ```text
//! text -> up to 18 digits as an integer, times or by a power of ten -> f64 -> nearest f32
//! f32  -> with 0, 1, 2 .. decimals, until the text reads back as the same f32
//! ```
//!
//! Both steps of the first line are exact or rounded once each, since integers below 2^53 and
//! powers of ten up to 10^22 are exact in `f64`. So a text of up to 9 digits, 8 of them decimals at
//! most, gives the `f32` nearest to it: no such decimal comes near enough to the middle between two
//! of them for the second rounding to matter. Longer texts may, once in some hundred million, give
//! its neighbour.

use core::fmt;

/// Digits that an integer of 64 bits holds in any case.
const MOST_DIGITS: u32 = 18;
/// The largest power of ten that is exact in `f64`.
const MOST_POWER: i32 = 22;
/// Decimals after which no settings' `f32` needs more: 9 digits, of which the first is at 1e-6.
const MOST_DECIMALS: u32 = 15;

/// The finite number in `text`, such as `-0.25`, `12`, `.5` or `1.5e-3`; `None` for anything else,
/// for more than 18 digits and for powers beyond 22.
pub fn read(text: &str) -> Option<f32> {
    let (number, power) = match text.split_once(['e', 'E']) {
        None => (text, 0),
        Some((number, power)) => (number, power.parse::<i32>().ok()?),
    };
    let unsigned = number.strip_prefix(['-', '+']).unwrap_or(number);
    let (whole, decimals) = unsigned.split_once('.').unwrap_or((unsigned, ""));
    let digits = || whole.bytes().chain(decimals.bytes());
    if digits().next().is_none() || !digits().all(|digit| digit.is_ascii_digit()) {
        return None;
    }
    let counted = digits().skip_while(|digit| *digit == b'0').count();
    if counted > MOST_DIGITS as usize {
        return None;
    }
    let integer = digits().fold(0_u64, |sum, digit| 10 * sum + u64::from(digit - b'0'));
    let power = power.checked_sub(i32::try_from(decimals.len()).ok()?)?;
    let ten = (power.abs() <= MOST_POWER).then(|| power_of_ten(power.unsigned_abs()))?;
    let value = if power < 0 { integer as f64 / ten } else { integer as f64 * ten } as f32;
    let value = if number.starts_with('-') { -value } else { value };
    value.is_finite().then_some(value)
}

/// A number as the decimal with fewest decimals that [`read`] takes for the same `f32`.
///
/// For what settings hold, 1e-6 to 1e7; smaller numbers lose digits, larger ones are whole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shortest(pub f32);

impl fmt::Display for Shortest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let magnitude = f64::from(libm::fabsf(self.0));
        let mut decimals = 0;
        while decimals < MOST_DECIMALS && shown(magnitude, decimals) as f32 != libm::fabsf(self.0) {
            decimals += 1;
        }
        write(f, self.0, decimals)
    }
}

/// A number with this many decimals, at most 15, halves away from zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rounded(pub f32, pub u32);

impl fmt::Display for Rounded {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write(f, self.0, self.1.min(MOST_DECIMALS))
    }
}

/// What a number with so many decimals says.
fn shown(magnitude: f64, decimals: u32) -> f64 {
    scaled(magnitude, decimals) as f64 / power_of_ten(decimals)
}

/// The integer of so many decimals; saturates.
fn scaled(magnitude: f64, decimals: u32) -> u64 {
    (magnitude * power_of_ten(decimals) + 0.5) as u64
}

fn write(f: &mut fmt::Formatter<'_>, value: f32, decimals: u32) -> fmt::Result {
    if !value.is_finite() {
        return f.write_str(if value.is_nan() {
            "NaN"
        } else if value < 0.0 {
            "-inf"
        } else {
            "inf"
        });
    }
    let integer = scaled(f64::from(libm::fabsf(value)), decimals);
    let unit = 10_u64.pow(decimals);
    let sign = if value.is_sign_negative() { "-" } else { "" };
    write!(f, "{sign}{}", integer / unit)?;
    if decimals > 0 {
        write!(f, ".{:0width$}", integer % unit, width = decimals as usize)?;
    }
    Ok(())
}

/// Ten to the power of `exponent`; exact up to 22.
fn power_of_ten(exponent: u32) -> f64 {
    (0..exponent).fold(1.0, |power, _| 10.0 * power)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::format;
    use std::string::ToString;

    #[test]
    fn what_people_type_is_read() {
        for (text, value) in [
            ("0", 0.0),
            ("-0.25", -0.25),
            ("+12", 12.0),
            (".5", 0.5),
            ("5.", 5.0),
            ("1.5e-3", 0.0015),
            ("2E2", 200.0),
            ("0000000000000000000000.1", 0.1),
            ("16777217", 16_777_216.0),
        ] {
            assert_eq!(read(text), Some(value), "{text}");
        }
    }

    #[test]
    fn anything_else_is_refused() {
        for text in [
            "",
            "-",
            ".",
            "e",
            "e5",
            "1e",
            "1e+",
            "1e99",
            "--1",
            "1.2.3",
            "1,5",
            " 1",
            "inf",
            "nan",
            "0x10",
            "1_000",
            "1e-23",
            "1234567890123456789",
            "9e22e",
            "1e2.5",
            "٣",
        ] {
            assert_eq!(read(text), None, "{text}");
        }
        // Beyond the largest f32.
        assert_eq!(read("999999999999999999e22"), None);
    }

    #[test]
    fn a_number_that_is_none_is_written_as_the_standard_library_does() {
        for value in [f32::NAN, f32::INFINITY, f32::NEG_INFINITY, 0.0, -0.0] {
            assert_eq!(Shortest(value).to_string(), value.to_string());
            assert_eq!(Rounded(value, 2).to_string(), format!("{value:.2}"));
        }
        assert_eq!(Rounded(f32::MAX, 40).to_string().split('.').count(), 2);
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            failure_persistence: None,
            cases: 20_000,
            ..ProptestConfig::default()
        })]

        #[test]
        fn a_decimal_of_eight_places_is_read_as_the_standard_library_reads_it(
            integer in 0..1_000_000_000_u32,
            decimals in 0..9_usize,
            negative in any::<bool>(),
        ) {
            let digits = format!("{integer:09}");
            let (whole, rest) = digits.split_at(9 - decimals);
            let text = format!("{}{whole}.{rest}", if negative { "-" } else { "" });
            prop_assert_eq!(read(&text), text.parse::<f32>().ok(), "{}", text);
        }

        #[test]
        fn a_setting_is_written_as_the_standard_library_writes_it(
            bits in 1.0e-6_f32.to_bits()..1.0e7_f32.to_bits(),
        ) {
            let value = f32::from_bits(bits);
            let text = Shortest(value).to_string();
            prop_assert_eq!(text.parse::<f32>(), Ok(value));
            prop_assert_eq!(read(&text), Some(value));
            prop_assert_eq!(&text, &value.to_string());
            prop_assert_eq!(Shortest(-value).to_string(), (-value).to_string());
        }

        #[test]
        fn a_rounded_number_is_within_half_a_unit(
            value in -1.0e4_f32..1.0e4,
            decimals in 0..7_u32,
        ) {
            let read: f64 = Rounded(value, decimals).to_string().parse().unwrap();
            let unit = 10.0_f64.powi(-(decimals as i32));
            prop_assert!((read - f64::from(value)).abs() <= 0.500_001 * unit, "{read} {value}");
        }

        #[test]
        fn nothing_typed_panics(text in ".{0,40}", number in "[-+0-9.eE]{0,40}") {
            for text in [text, number] {
                if let Some(value) = read(&text) {
                    prop_assert!(value.is_finite());
                }
            }
        }
    }
}
