//! Whether one thing goes with another.

use crate::units::larger;

/// The oldest is forgotten over this, s.
const FORGET_S: f32 = 300.0;

/// What is left after `dt_s` of what was.
pub(super) fn kept(dt_s: f32) -> f32 {
    FORGET_S / (FORGET_S + dt_s)
}

/// Sums of squares and of products.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Correlation {
    xx: f32,
    yy: f32,
    xy: f32,
}

impl Correlation {
    pub(super) fn add(&mut self, dt_s: f32, x: f32, y: f32) {
        let keep = kept(dt_s);
        self.xx = keep * self.xx + dt_s * x * x;
        self.yy = keep * self.yy + dt_s * y * y;
        self.xy = keep * self.xy + dt_s * x * y;
    }

    /// How much of x there has been: its square times the time.
    pub(super) fn amount(&self) -> f32 {
        self.xx
    }

    /// From -1 to 1.
    pub(super) fn coefficient(&self) -> f32 {
        self.xy / larger(libm::sqrtf(self.xx * self.yy), 1.0e-9)
    }

    /// By how much y grows with x.
    pub(super) fn slope(&self) -> f32 {
        self.xy / larger(self.xx, 1.0e-9)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// Twenty turns of 1 s of what goes with them.
    fn of(pair: impl Fn(f32) -> (f32, f32)) -> Correlation {
        let mut correlation = Correlation::default();
        for step in 0..2000 {
            let (x, y) = pair(core::f32::consts::TAU * step as f32 / 100.0);
            correlation.add(0.01, x, y);
        }
        correlation
    }

    #[test]
    fn it_is_1_for_what_goes_together_and_0_for_what_has_nothing_to_do_with_it() {
        for (expected, found) in [
            (1.0, of(|turn| (turn.sin(), 3.0 * turn.sin()))),
            (-1.0, of(|turn| (turn.sin(), -0.2 * turn.sin()))),
            (0.0, of(|turn| (turn.sin(), turn.cos()))),
            // Half of its square has nothing to do with it.
            (0.5_f32.sqrt(), of(|turn| (turn.sin(), turn.sin() + turn.cos()))),
            (0.0, of(|_| (0.0, 0.0))),
        ] {
            assert_abs_diff_eq!(found.coefficient(), expected, epsilon = 2.0e-3);
        }
    }

    #[test]
    fn the_amount_is_the_square_times_the_time_and_is_forgotten_over_5_minutes() {
        let mut correlation = Correlation::default();
        (0..100).for_each(|_| correlation.add(0.01, 2.0, 0.0));
        assert_abs_diff_eq!(correlation.amount(), 4.0, epsilon = 0.02);
        (0..30_000).for_each(|_| correlation.add(0.01, 0.0, 1.0));
        assert_abs_diff_eq!(correlation.amount(), 4.0 * (-1.0_f32).exp(), epsilon = 0.02);
    }
}
