//! Powers of two, in which amplitudes are reckoned.

use core::f32::consts::LN_2;

/// Decibels of a doubled amplitude.
pub(crate) const DOUBLE_DB: f32 = 6.0206;

/// Two to the power `log2`, for shares of the time and of full scale: `log2` is taken as from -30
/// to 0. As near as [`two_to`].
pub(crate) fn power_of_two(log2: f32) -> f32 {
    two_to(log2.min(0.0))
}

/// Two to the power `log2`, which is taken as from -30 to 30.
///
/// Within 3e-7 of the true power, which is 0.0005 cents of a pitch, by the series of the
/// exponential function. `libm::exp2f` is exact to the last bit but works in double precision: for
/// one pitch a sample that took a tenth of a Cortex-M4F's sample, and the ear cannot hear the
/// difference.
pub(crate) fn two_to(log2: f32) -> f32 {
    let log2 = log2.clamp(-30.0, 30.0);
    // The nearest whole number, and a rest of at most a half.
    let whole = (if log2 < 0.0 { log2 - 0.5 } else { log2 + 0.5 }) as i32;
    let rest = log2 - whole as f32;
    // ln(2)^n / n!, highest n first.
    let series = [1.540_353e-4, 1.333_355_8e-3, 9.618_129e-3, 0.055_504_11, 0.240_226_5, LN_2, 1.0];
    let power = series.iter().fold(0.0, |sum, term| sum * rest + term);
    power * f32::from_bits(((whole + 127) as u32) << 23)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_power_of_two_is_within_its_stated_error() {
        for step in -29_999..30_000 {
            let log2 = 1.0e-3 * step as f32;
            let exact = libm::exp2(f64::from(log2));
            let error = f64::from(two_to(log2)) / exact - 1.0;
            assert!(error.abs() < 3.0e-7, "{log2}: {error:e}");
            assert_eq!(power_of_two(log2), two_to(log2).min(1.0));
        }
        assert_eq!([power_of_two(0.0), power_of_two(-1.0), power_of_two(-2.0)], [1.0, 0.5, 0.25]);
        assert!((0.0..=1.0).contains(&power_of_two(f32::MAX)) && power_of_two(f32::MIN) >= 0.0);
    }
}
