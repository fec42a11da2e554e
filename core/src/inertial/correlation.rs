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
}
