//! Numbers as people and spreadsheets write them, from bytes.
//!
//! A decimal point or a decimal comma, and marks between thousands: a comma, a point, a space or an
//! apostrophe. `1,013` alone is a little more than 1; where the rest of the file shows that its
//! commas part thousands ([`Style`]), it is 1013.

mod style;

pub(super) use style::Style;

use std::str;
use style::Plain;

/// Times further than this from zero are rejected: 32 thousand years, 1e12 s.
const FURTHEST_US: i64 = 1_000_000_000_000_000_000;

/// So many digits are exact in an `f64`, and so are their powers of ten.
const EXACT_DIGITS: usize = 15;
const POWERS: [f64; EXACT_DIGITS + 1] =
    [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];

/// What a field holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Field {
    /// Nothing, or a word by which programs say "nothing": `nan`, `na`, `null`, in capitals or not.
    Absent,
    /// A finite number.
    Value(f64),
    /// Something else; infinities too.
    Unreadable,
}

/// Why a time cannot be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum NoTime {
    /// It is not a number.
    NotANumber,
    /// It is further from zero than 1e12 s.
    OutOfRange,
}

/// The number in a trimmed field.
pub(super) fn field(text: &[u8], style: Style) -> Field {
    match float(text, style) {
        Some(value) if value.is_finite() => Field::Value(value),
        _ if ["", "nan", "na", "null"]
            .iter()
            .any(|word| text.eq_ignore_ascii_case(word.as_bytes())) =>
        {
            Field::Absent
        }
        _ => Field::Unreadable,
    }
}

/// The time in a trimmed field whose unit has `decimal_places` before the microsecond: 6 for
/// seconds, -3 for nanoseconds.
///
/// Exact: the text's own digits, rounded half away from zero.
pub(super) fn micros(text: &[u8], decimal_places: i32, style: Style) -> Result<i64, NoTime> {
    if let Some(time) = few_micros(text, decimal_places, style) {
        return if time.abs() <= FURTHEST_US { Ok(time) } else { Err(NoTime::OutOfRange) };
    }
    let time = digits(text, decimal_places, style).or_else(|| {
        let plain = Plain::of(text, style)?;
        digits(plain.text(), decimal_places, Style::default())
    });
    match time {
        Some(time) => time.filter(|time| time.abs() <= FURTHEST_US).ok_or(NoTime::OutOfRange),
        None => {
            // Rare: an exponent.
            let value = float(text, style).filter(|value| value.is_finite());
            let value = value.ok_or(NoTime::NotANumber)?;
            let time = (value * 10_f64.powi(decimal_places)).round();
            if time.abs() <= FURTHEST_US as f64 { Ok(time as i64) } else { Err(NoTime::OutOfRange) }
        }
    }
}

/// A time such as `12.34` with no more decimals than microseconds have, in one pass: what
/// [`digits`] gives.
fn few_micros(text: &[u8], decimal_places: i32, style: Style) -> Option<i64> {
    let (is_negative, magnitude, places) = few_digits(text, style)?;
    let zeros = u32::try_from(decimal_places).ok()?.checked_sub(places)?;
    let magnitude = i64::try_from(magnitude).ok()?.checked_mul(10_i64.checked_pow(zeros)?)?;
    Some(if is_negative { -magnitude } else { magnitude })
}

/// `Some(None)` where the digits overflow, `None` where the text is not of the form `-12.34` or its
/// mark may part thousands.
fn digits(text: &[u8], decimal_places: i32, style: Style) -> Option<Option<i64>> {
    let (is_negative, unsigned) = match text {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] => (false, rest),
        _ => (false, text),
    };
    let point =
        unsigned.iter().position(|byte| matches!(byte, b'.' | b',')).unwrap_or(unsigned.len());
    let (whole, rest) = unsigned.split_at(point);
    let fraction = match rest.split_first() {
        Some((b',', _)) if style.commas_group => return None,
        Some((b'.', _)) if style.points_group => return None,
        Some((_, fraction)) => fraction,
        None => &[],
    };
    let is_plain =
        whole.iter().chain(fraction).all(u8::is_ascii_digit) && whole.len() + fraction.len() > 0;
    if !is_plain {
        return None;
    }
    let places = decimal_places.max(0) as usize;
    // Of a unit below the microsecond the last digits of the whole number are a fraction.
    let Some(taken) = whole.len().checked_sub(decimal_places.min(0).unsigned_abs() as usize) else {
        return Some(Some(0));
    };
    let (whole, below) = whole.split_at(taken);
    let padded = fraction.iter().copied().chain(std::iter::repeat(b'0')).take(places);
    let magnitude = whole.iter().copied().chain(padded).try_fold(0_i64, |value, digit| {
        value.checked_mul(10)?.checked_add(i64::from(digit - b'0'))
    });
    let next = below.first().or(fraction.get(places));
    let rounding = i64::from(next.is_some_and(|digit| *digit >= b'5'));
    Some(
        magnitude
            .and_then(|value| value.checked_add(rounding))
            .map(|value| if is_negative { -value } else { value }),
    )
}

fn float(text: &[u8], style: Style) -> Option<f64> {
    if let Some(value) = plain(text, style) {
        return Some(value);
    }
    let unlike = if style.reads_alike(text) { None } else { Plain::of(text, style) };
    match unlike {
        Some(unlike) => parsed(unlike.text()),
        None => parsed(text).or_else(|| parsed(Plain::of(text, style)?.text())),
    }
}

/// A number such as `-12.34` of so few digits that they and the power of ten below them are exact:
/// one division rounds it as it should be.
fn plain(text: &[u8], style: Style) -> Option<f64> {
    let (is_negative, digits, places) = few_digits(text, style)?;
    let magnitude = digits as f64 / POWERS[places as usize];
    Some(if is_negative { -magnitude } else { magnitude })
}

/// Whether a number such as `-12.34` is negative, its digits, no more than are exact, and how many
/// are decimals.
fn few_digits(text: &[u8], style: Style) -> Option<(bool, u64, u32)> {
    let (is_negative, unsigned) = match text {
        [b'-', rest @ ..] => (true, rest),
        _ => (false, text),
    };
    if unsigned.len() > EXACT_DIGITS {
        return None;
    }
    let (mut digits, mut point) = (0_u64, None);
    for (place, byte) in unsigned.iter().enumerate() {
        let digit = byte.wrapping_sub(b'0');
        if digit <= 9 {
            digits = 10 * digits + u64::from(digit);
        } else if point.is_none() && style.is_point(*byte) {
            point = Some(place);
        } else {
            return None;
        }
    }
    if unsigned.len() == usize::from(point.is_some()) {
        return None;
    }
    let places = point.map_or(0, |point| unsigned.len() - point - 1);
    Some((is_negative, digits, places as u32))
}

fn parsed(text: &[u8]) -> Option<f64> {
    let text = str::from_utf8(text).ok()?;
    match text.parse() {
        Ok(value) => Some(value),
        Err(_) if text.contains(',') && !text.contains('.') => {
            text.replacen(',', ".", 1).parse().ok()
        }
        Err(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trace::testing::seeded;
    use proptest::prelude::*;

    fn field(text: &[u8]) -> Field {
        super::field(text, Style::default())
    }

    fn micros(text: &[u8], decimal_places: i32) -> Result<i64, NoTime> {
        super::micros(text, decimal_places, Style::default())
    }

    fn float(text: &[u8]) -> Option<f64> {
        super::float(text, Style::default())
    }

    #[test]
    fn points_commas_and_exponents_are_read() {
        assert_eq!(field(b"101325"), Field::Value(101_325.0));
        assert_eq!(field(b"-12,5"), Field::Value(-12.5));
        assert_eq!(field(b"+.5"), Field::Value(0.5));
        assert_eq!(field(b"1.01325e5"), Field::Value(101_325.0));
    }

    #[test]
    fn nothing_and_no_number_are_told_apart() {
        for text in ["", "NaN", "nan", "NA", "null"] {
            assert_eq!(field(text.as_bytes()), Field::Absent, "{text}");
        }
        for text in ["inf", "-infinity", "abc", "1,2,3", "12 3", "--1", "1e999", "\u{fffd}"] {
            assert_eq!(field(text.as_bytes()), Field::Unreadable, "{text}");
        }
        assert_eq!(field(b"\xff\xfe"), Field::Unreadable);
    }

    #[test]
    fn times_keep_every_digit_and_are_rounded_half_away_from_zero() {
        assert_eq!(micros(b"0.0000005", 6), Ok(1));
        assert_eq!(micros(b"0.00000049999", 6), Ok(0));
        assert_eq!(micros(b"-0.0000015", 6), Ok(-2));
        assert_eq!(micros(b"1700000000.123456", 6), Ok(1_700_000_000_123_456));
        assert_eq!(micros(b"999999999999.999999", 6), Ok(999_999_999_999_999_999));
        assert_eq!(micros(b"12,5", 3), Ok(12_500));
        assert_eq!(micros(b"7.5", 0), Ok(8));
        assert_eq!(micros(b"1.5e3", 3), Ok(1_500_000));
        assert_eq!(micros(b"1721044800020000499", -3), Ok(1_721_044_800_020_000));
        assert_eq!(micros(b"-1721044800020000500.9", -3), Ok(-1_721_044_800_020_001));
        assert_eq!(
            [micros(b"499", -3), micros(b"500", -3), micros(b"9", -3)],
            [Ok(0), Ok(1), Ok(0)]
        );
    }

    #[test]
    fn absurd_times_and_words_are_refused() {
        for text in ["1000000000001", "-1000000000001", "99999999999999999999", "1e13"] {
            assert_eq!(micros(text.as_bytes(), 6), Err(NoTime::OutOfRange), "{text}");
        }
        for text in ["", "nan", "inf", "-", ".", "12:30:00", "1.2.3", "0x10"] {
            assert_eq!(micros(text.as_bytes(), 6), Err(NoTime::NotANumber), "{text}");
        }
    }

    proptest! {
        #![proptest_config(seeded())]

        /// The slow, obvious reference: rounding in 128-bit integers.
        #[test]
        fn any_decimal_text_is_the_nearest_microsecond(
            whole in 0_u64..1_000_000_000_000,
            nanos in 0_u32..1_000_000_000,
        ) {
            let text = format!("{whole}.{nanos:09}");
            let exact_nanos = i128::from(whole) * 1_000_000_000 + i128::from(nanos);
            let nearest = (exact_nanos + 500) / 1000;
            prop_assert_eq!(micros(text.as_bytes(), 6).map(i128::from), Ok(nearest));
        }

        /// The quick way gives what the other one does, wherever it gives anything.
        #[test]
        fn few_digits_are_the_same_time(
            text in prop_oneof!["-?[0-9]{0,12}[.,]?[0-9]{0,8}", "[-+0-9.,]{0,12}"],
            places in -3_i32..13,
            marks in any::<[bool; 2]>(),
        ) {
            let [points_group, commas_group] = marks;
            let style = Style { points_group, commas_group, ..Style::default() };
            if let Some(quick) = few_micros(text.as_bytes(), places, style) {
                prop_assert_eq!(digits(text.as_bytes(), places, style), Some(Some(quick)));
            }
        }

        /// The standard library's own reading, bit for bit.
        #[test]
        fn short_numbers_are_read_as_long_ones_are(
            text in prop_oneof!["-?[0-9]{0,9}[.]?[0-9]{0,9}", "[-+0-9.e]{0,12}"],
        ) {
            let expected = text.parse::<f64>().ok().map(f64::to_bits);
            prop_assert_eq!(float(text.as_bytes()).map(f64::to_bits), expected);
            let with_comma = text.replace('.', ",");
            if text.matches('.').count() < 2 {
                prop_assert_eq!(float(with_comma.as_bytes()).map(f64::to_bits), expected);
            }
        }

        #[test]
        fn no_bytes_at_all_make_it_panic(
            bytes in proptest::collection::vec(any::<u8>(), 0..40),
            places in -3_i32..13,
            marks in any::<[bool; 3]>(),
        ) {
            let [points_group, commas_group, last_comma_is_decimal] = marks;
            let style = Style { points_group, commas_group, last_comma_is_decimal };
            let _ = super::micros(&bytes, places, style);
            if let Field::Value(value) = super::field(&bytes, style) {
                prop_assert!(value.is_finite());
            }
        }
    }
}
