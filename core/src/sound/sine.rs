//! The sine in integers, for a processor without floats.

/// One, of the numbers here: 15 bits behind the point.
pub(crate) const ONE: i32 = 1 << 15;
/// Coefficients of the sine of a quarter of a turn.
const TERMS: [i32; 4] = [51_472, 21_165, 2_603, 142];
/// Half of the last bit.
const HALF: i32 = 1 << 14;

/// The product of two such numbers, rounded; their sizes multiplied must be less than 2.
#[inline(always)]
pub(crate) fn times(a: i32, b: i32) -> i32 {
    (a * b + HALF) >> 15
}

/// The sine of a phase, whose turn is 2^32; from -[`ONE`] to [`ONE`], and a bit more by rounding.
///
/// The phase is folded into a quarter of a turn to both sides, and the quarter `z`, from -1 to 1,
/// goes through `z (c1 - z^2 (c3 - z^2 (c5 - z^2 c7)))`. The coefficients are the minimax fit of
/// `sin(pi/2 z)`, whose own error is 6e-7; with the roundings it is within 7e-5.
#[inline(always)]
pub(crate) fn sine(phase: u32) -> i32 {
    let [c1, c3, c5, c7] = TERMS;
    let place = phase as i32;
    // Beyond a quarter the two topmost bits differ.
    let is_beyond = (place ^ (place << 1)) < 0;
    let folded = if is_beyond { i32::MIN.wrapping_sub(place) } else { place };
    let quarter = folded >> 15;
    let square = times(quarter, quarter);
    let inner = c3 - times(square, c5 - times(square, c7));
    times(quarter, c1 - times(square, inner))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sine_is_within_its_stated_error() {
        for step in 0..200_000_u32 {
            let phase = step.wrapping_mul(21_475);
            let exact = libm::sin(f64::from(phase) / 4_294_967_296.0 * std::f64::consts::TAU);
            let error = f64::from(sine(phase)) / f64::from(ONE) - exact;
            assert!(error.abs() < 7e-5, "{phase}: {error:e}");
            assert!(sine(phase).abs() <= ONE + 1, "{phase}");
        }
    }

    #[test]
    fn quarters_of_a_turn_are_exact() {
        assert_eq!([0, 1 << 30, 1 << 31, 3 << 30].map(sine), [0, ONE, 0, -ONE]);
    }
}
