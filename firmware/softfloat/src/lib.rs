//! Sums and products of `f32` in integers of 32 bits, for a Cortex-M0+: bit for bit as in IEEE 754.
//!
//! The compiler's own routines are for any processor: they multiply 64 bits wide, which a
//! Cortex-M0+ does in software, so they take two to three times as long. Rounding is to nearest,
//! ties to even; subnormals are kept; NaN payloads are not kept. A board that uses them calls
//! [`routines`]; nothing else changes for calling code.
//!
//! ```text
//! sum       align the smaller with three extra bits, the last sticky; add; round
//! product   24 x 24 bits by four products of 16 x 16; upper 32 bits and a sticky bit; round
//! ```

#![no_std]
#![forbid(unsafe_op_in_unsafe_fn)]

#[cfg(test)]
extern crate std;

const SIGN: u32 = 0x8000_0000;
const FRACTION: u32 = 0x007F_FFFF;
const HIDDEN: u32 = 0x0080_0000;
const INFINITE: u32 = 0x7F80_0000;
const NAN: u32 = 0x7FC0_0000;

/// `a + b`, both as the bits of an `f32`.
#[inline]
pub fn add(a: u32, b: u32) -> u32 {
    // The larger first, by magnitude.
    let (a, b) = if b << 1 > a << 1 { (b, a) } else { (a, b) };
    let (exponent, lesser) = ((a >> 23) & 0xFF, (b >> 23) & 0xFF);
    if exponent == 0xFF {
        return sum_of_no_number(a, b);
    }
    // Three extra bits; a subnormal has the exponent 1 and no hidden bit.
    let (mut x, mut exponent) = (significand(a, exponent) << 3, exponent.max(1));
    let (mut y, apart) = (significand(b, lesser) << 3, exponent - lesser.max(1));
    if apart > 0 {
        y = if apart < 27 {
            y >> apart | u32::from(y << (32 - apart) != 0)
        } else {
            u32::from(y != 0)
        };
    }
    if (a ^ b) & SIGN == 0 {
        x += y;
        if x >= HIDDEN << 4 {
            x = x >> 1 | x & 1;
            exponent += 1;
        }
    } else {
        x -= y;
        if x == 0 {
            return 0;
        }
        if x < HIDDEN << 3 {
            let shift = if x >= HIDDEN << 2 { 1 } else { x.leading_zeros() - 5 };
            let shift = shift.min(exponent - 1);
            x <<= shift;
            exponent -= shift;
        }
    }
    let mut significand = (x + 4) >> 3;
    if x << 29 == SIGN {
        significand &= !1;
    }
    // The hidden bit adds one to the exponent, so one less is put there; rounding up may carry into
    // it, and rightly, as far as an infinity: there no sum is larger than twice the greatest
    // number, whose fraction the carry has made zero but for rounding.
    let packed = ((exponent - 1) << 23) + significand;
    (a & SIGN) | if packed >= INFINITE { INFINITE } else { packed }
}

/// `a - b`, both as the bits of an `f32`.
#[inline]
pub fn subtract(a: u32, b: u32) -> u32 {
    add(a, b ^ SIGN)
}

/// `a * b`, both as the bits of an `f32`.
#[inline]
pub fn multiply(a: u32, b: u32) -> u32 {
    let (first, second) = ((a >> 23) & 0xFF, (b >> 23) & 0xFF);
    if first.wrapping_sub(1) >= 0xFE || second.wrapping_sub(1) >= 0xFE {
        return product_of_the_odd(a, b);
    }
    let (x, y) = (a & FRACTION | HIDDEN, b & FRACTION | HIDDEN);
    let (x_low, x_high, y_low, y_high) = (x & 0xFFFF, x >> 16, y & 0xFFFF, y >> 16);
    let low = x_low * y_low;
    // The product's upper 32 of 48 bits.
    let mut product = ((x_high * y_high) << 16) + x_high * y_low + x_low * y_high + (low >> 16);
    let mut exponent = first + second;
    if (product as i32) < 0 {
        exponent += 1;
    } else {
        product <<= 1;
    }
    // Less 127 for the second bias, and 1 for the hidden bit.
    let exponent = exponent.wrapping_sub(128);
    if exponent >= 0xFE {
        return product_of_the_odd(a, b);
    }
    let mut significand = ((product >> 7) + 1) >> 1;
    if product << 24 == SIGN && low << 16 == 0 {
        significand &= !1;
    }
    (a ^ b) & SIGN | ((exponent << 23) + significand)
}

#[inline]
fn significand(bits: u32, exponent: u32) -> u32 {
    let fraction = bits & FRACTION;
    if exponent == 0 { fraction } else { fraction | HIDDEN }
}

fn is_nan(bits: u32) -> bool {
    bits & !SIGN > INFINITE
}

/// A sum with an infinity or a NaN, the larger first.
#[cold]
fn sum_of_no_number(a: u32, b: u32) -> u32 {
    let opposites = b & !SIGN == INFINITE && (a ^ b) & SIGN != 0;
    if is_nan(a) || opposites { NAN } else { a }
}

/// A significand from 2^23 to 2^24 and its exponent, of any number except zero.
fn normal(bits: u32) -> (u64, i32) {
    let exponent = (bits >> 23) & 0xFF;
    if exponent > 0 {
        return (u64::from(bits & FRACTION | HIDDEN), exponent as i32);
    }
    let shift = (bits & FRACTION).leading_zeros() - 8;
    (u64::from(bits & FRACTION) << shift, 1 - shift as i32)
}

/// A number from 48 bits with the uppermost set, rounded, with whatever exponent: an infinity, a
/// subnormal, or zero as it comes.
fn from_wide(exponent: i32, wide: u64) -> u32 {
    if exponent >= 0xFF {
        return INFINITE;
    }
    let shift = (1 - exponent).clamp(0, 50) as u32;
    let wide = wide >> shift | u64::from(wide & ((1 << shift) - 1) != 0);
    let (significand, below) = ((wide >> 24) as u32, wide as u32 & 0x00FF_FFFF);
    let packed = if shift > 0 { significand } else { ((exponent - 1) << 23) as u32 + significand };
    packed + u32::from(below > 0x0080_0000 || below == 0x0080_0000 && packed & 1 == 1)
}

/// A product with a zero, a subnormal, an infinity or a NaN in it or for it.
#[cold]
fn product_of_the_odd(a: u32, b: u32) -> u32 {
    let sign = (a ^ b) & SIGN;
    let (x, y) = (a & !SIGN, b & !SIGN);
    if is_nan(a) || is_nan(b) || x == INFINITE && y == 0 || x == 0 && y == INFINITE {
        return NAN;
    }
    if x == INFINITE || y == INFINITE {
        return sign | INFINITE;
    }
    if x == 0 || y == 0 {
        return sign;
    }
    let ((x, first), (y, second)) = (normal(x), normal(y));
    let (product, exponent) = (x * y, first + second - 127);
    sign | if product >> 47 == 1 {
        from_wide(exponent + 1, product)
    } else {
        from_wide(exponent, product << 1)
    }
}

/// The routines by the names under which compiled code calls them, for the one crate of a program
/// that is its board.
///
/// Source of the names: Arm, "Run-time ABI for the Arm Architecture"; they pass floats in integer
/// registers.
#[macro_export]
macro_rules! routines {
    () => {
        #[unsafe(no_mangle)]
        extern "C" fn __aeabi_fadd(a: u32, b: u32) -> u32 {
            $crate::add(a, b)
        }

        #[unsafe(no_mangle)]
        extern "C" fn __aeabi_fsub(a: u32, b: u32) -> u32 {
            $crate::subtract(a, b)
        }

        #[unsafe(no_mangle)]
        extern "C" fn __aeabi_fmul(a: u32, b: u32) -> u32 {
            $crate::multiply(a, b)
        }
    };
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    /// Compares all three with this computer's processor.
    fn check(a: u32, b: u32) {
        let (x, y) = (f32::from_bits(a), f32::from_bits(b));
        let pairs =
            [("+", add(a, b), x + y), ("-", subtract(a, b), x - y), ("*", multiply(a, b), x * y)];
        for (operation, found, expected) in pairs {
            let same =
                found == expected.to_bits() || expected.is_nan() && f32::from_bits(found).is_nan();
            assert!(
                same,
                "{a:08x} {operation} {b:08x} is {:08x}, not {found:08x}",
                expected.to_bits()
            );
        }
    }

    /// Knuth's and Lewis's generator, scrambled so that low bits are as good as high ones.
    fn random(state: &mut u64) -> u32 {
        *state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (*state >> 32) as u32 ^ (*state >> 11) as u32
    }

    #[test]
    fn every_pair_of_special_numbers_matches_the_processor() {
        let exponents = [
            0, 1, 2, 23, 24, 25, 102, 103, 126, 127, 128, 149, 150, 151, 152, 230, 252, 253, 254,
            255,
        ];
        let fractions = [
            0, 1, 2, 3, 0x3F_FFFF, 0x40_0000, 0x40_0001, 0x55_5555, 0x7F_FFFD, 0x7F_FFFE, 0x7F_FFFF,
        ];
        let numbers: Vec<u32> = exponents
            .into_iter()
            .flat_map(|exponent| fractions.map(|fraction| exponent << 23 | fraction))
            .flat_map(|bits| [bits, bits | SIGN])
            .collect();
        for &a in &numbers {
            for &b in &numbers {
                check(a, b);
            }
        }
    }

    #[test]
    fn millions_of_random_pairs_match_the_processor() {
        let mut state = 1;
        for _ in 0..4_000_000 {
            let (a, b) = (random(&mut state), random(&mut state));
            check(a, b);
            // Of nearly the same exponent, where sums cancel and align by a few bits.
            check(a, a & 0xFF80_0000 ^ (b & 0x8FFF_FFFF) >> 4 & 0x01FF_FFFF ^ b & SIGN);
            // Products about the least and the greatest number.
            check(
                a & 0x807F_FFFF | (b & 0x3F) << 23,
                b & 0x807F_FFFF | ((a >> 3 & 0x3F) + 100) << 23,
            );
        }
    }
}
