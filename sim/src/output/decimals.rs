//! Decimal numbers as text, the same digits as `format!("{value:.3}")` gives, by way of integers.
//!
//! ```text
//! value 10^D      exact in an f64: 24 binary digits of the f32 and at most 14 of 10^D's odd part
//! + 2^52          leaves the nearest integer, halves to even, in the low bits: as std rounds
//! digits          of that integer, two at a time
//! ```
//!
//! Below 2^51 each step is exact, so the text is that of the standard library. What is larger or no
//! number is left to the standard library itself.

use chirrup_core::Micros;
use std::io::Write;

/// Powers of ten by their exponent, as far as the odd part of `10^D`, `5^D`, has 14 binary digits.
const POWERS: [u32; 7] = [1, 10, 100, 1_000, 10_000, 100_000, 1_000_000];
/// Numbers from here on are left to the standard library, 2^51.
const TOO_LARGE: f64 = 2_251_799_813_685_248.0;
/// 2^52: the `f64`s from here to twice as much are the integers.
const INTEGERS: f64 = 4_503_599_627_370_496.0;
/// The digits of 2^51, its sign and a point take 18; a power of two to copy at once.
const ROOM: usize = 24;

/// The numbers below a hundred, two digits each.
const PAIRS: [[u8; 2]; 100] = {
    let mut pairs = [[0; 2]; 100];
    let mut number = 0;
    while number < 100 {
        pairs[number] = [b'0' + (number / 10) as u8, b'0' + (number % 10) as u8];
        number += 1;
    }
    pairs
};

/// Appends `value` with so many decimals.
pub fn push(text: &mut Vec<u8>, value: f32, decimals: usize) {
    // Known to the compiler, a power of ten is divided by without a division.
    match decimals {
        2 => push_with::<2>(text, value),
        3 => push_with::<3>(text, value),
        4 => push_with::<4>(text, value),
        _ => push_slowly(text, value, decimals),
    }
}

fn push_slowly(text: &mut Vec<u8>, value: f32, decimals: usize) {
    write!(text, "{value:.decimals$}").expect("memory can be written");
}

#[inline]
fn push_with<const DECIMALS: usize>(text: &mut Vec<u8>, value: f32) {
    let scaled = f64::from(value.abs()) * f64::from(POWERS[DECIMALS]);
    if scaled < TOO_LARGE {
        let nearest = (scaled + INTEGERS).to_bits() - INTEGERS.to_bits();
        let mut number = Number::default();
        let whole = number.take(nearest, DECIMALS);
        number.push(b'.');
        number.rest(whole);
        if value.is_sign_negative() {
            number.push(b'-');
        }
        number.append_to(text);
    } else {
        push_slowly(text, value, DECIMALS);
    }
}

/// Appends `time` in seconds with as many decimals as it has, down to the microsecond.
pub fn push_seconds(text: &mut Vec<u8>, time: Micros) {
    let micros = time.0.unsigned_abs();
    let (whole, mut below) = (micros / 1_000_000, (micros % 1_000_000) as u32);
    let mut number = Number::default();
    if below > 0 {
        let mut places = 6;
        while below.is_multiple_of(10) {
            (below, places) = (below / 10, places - 1);
        }
        number.take(u64::from(below), places);
        number.push(b'.');
    }
    number.rest(whole);
    if time.0 < 0 {
        number.push(b'-');
    }
    number.append_to(text);
}

/// A number that is written from its last digit to its first.
struct Number {
    /// The second half is there to be copied with it.
    text: [u8; 2 * ROOM],
    from: usize,
}

impl Default for Number {
    fn default() -> Self {
        Self { text: [0; 2 * ROOM], from: ROOM }
    }
}

impl Number {
    fn push(&mut self, byte: u8) {
        self.from -= 1;
        self.text[self.from] = byte;
    }

    fn push_pair(&mut self, pair: usize) {
        self.from -= 2;
        self.text[self.from..self.from + 2].copy_from_slice(&PAIRS[pair]);
    }

    /// Writes the last `count` digits and returns what is before them.
    fn take(&mut self, value: u64, count: usize) -> u64 {
        let power = u64::from(POWERS[count]);
        let (before, mut digits) = (value / power, (value % power) as u32);
        for _ in 0..count / 2 {
            self.push_pair((digits % 100) as usize);
            digits /= 100;
        }
        if count % 2 == 1 {
            self.push(b'0' + (digits % 10) as u8);
        }
        before
    }

    /// Writes all digits of `value`, one at least.
    fn rest(&mut self, mut value: u64) {
        while value >= 100 {
            self.push_pair((value % 100) as usize);
            value /= 100;
        }
        if value >= 10 {
            self.push_pair(value as usize);
        } else {
            self.push(b'0' + value as u8);
        }
    }

    /// Copies a fixed length, which is quicker than counting, and cuts it.
    fn append_to(&self, text: &mut Vec<u8>) {
        let end = text.len() + ROOM - self.from;
        text.extend_from_slice(&self.text[self.from..self.from + ROOM]);
        text.truncate(end);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::figures::{FIGURES, INERTIAL_FIGURES};
    use crate::time::Seconds;
    use crate::trace::testing::seeded;
    use proptest::prelude::*;

    /// The slow, obvious reference, for the decimals of every column.
    fn compare(value: f32) {
        for decimals in [2, 3, 4] {
            let mut text = b"before,".to_vec();
            push(&mut text, value, decimals);
            let expected = format!("before,{value:.decimals$}");
            assert_eq!(String::from_utf8_lossy(&text), expected, "{:#x}", value.to_bits());
        }
    }

    #[test]
    fn no_column_is_printed_the_slow_way() {
        let columns = FIGURES.iter().chain(&INERTIAL_FIGURES);
        assert!(columns.clone().all(|column| (2..=4).contains(&column.decimals)));
    }

    #[test]
    fn what_rounds_badly_is_printed_as_the_standard_library_does() {
        let hard = [0.0, 0.5, 1.5, 2.5, 0.125, 0.375, 0.0625, 9.9995, 99.99995, 0.00005, 0.99999];
        let large = [8_388_607.5, 8_388_608.0, 1e9, 2.251_799_7e11, 2.251_799_8e11, 1e20];
        let ends = [f32::MIN_POSITIVE, f32::from_bits(1), f32::MAX, f32::INFINITY, f32::NAN];
        for value in [&hard[..], &large, &ends].concat() {
            compare(value);
            compare(-value);
        }
    }

    /// A half at decimal D is an odd multiple of 1/2^(D+1): below 8192 these are all, up to D = 4.
    #[test]
    fn every_half_is_rounded_to_even() {
        for step in 0..(1 << 18) {
            let value = step as f32 / 32.0;
            compare(value);
            compare(-value);
        }
    }

    #[test]
    fn numbers_of_every_exponent_are_printed_as_the_standard_library_does() {
        for bits in (0..=u32::MAX).step_by(20_011) {
            compare(f32::from_bits(bits));
        }
    }

    /// Every number there is: `cargo test --release -p chirrup --lib -- --ignored every_number`.
    #[test]
    #[ignore = "hours"]
    fn every_number_there_is() {
        (0..=u32::MAX).for_each(|bits| compare(f32::from_bits(bits)));
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 4_096, ..seeded() })]

        #[test]
        fn any_number_is_printed_as_the_standard_library_does(value in prop::num::f32::ANY) {
            compare(value);
        }

        #[test]
        fn any_number_of_a_flight_too(value in -12_000.0..12_000.0_f32) {
            compare(value);
        }

        #[test]
        fn any_time_is_printed_as_elsewhere(
            micros in prop_oneof![any::<i64>(), -100_000_000..100_000_000_i64],
            unit in prop_oneof![Just(1_i64), Just(1_000), Just(20_000), Just(1_000_000)],
        ) {
            let time = Micros(micros.saturating_mul(unit));
            let mut text = Vec::new();
            push_seconds(&mut text, time);
            prop_assert_eq!(String::from_utf8_lossy(&text), Seconds(time).to_string());
        }
    }
}
