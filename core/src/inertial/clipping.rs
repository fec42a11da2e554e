//! Whether the force is at the end of the sensor's range.
//!
//! A force beyond the range reads the end of the range, time and again to the last bit, while the
//! other axes go on having noise.

use super::vector::Vector;
use crate::units::larger;

/// So many samples in a row with one largest force are no chance (a guess).
const REPEATS: u8 = 10;
/// Smaller forces are no end of any range, m/s2: a sensor must read its own weight.
const LEAST_MPS2: f32 = 10.8;
/// Without so much noise from sample to sample nothing can be said, m/s2 (a guess).
const NOISE_MPS2: f32 = 0.01;

/// State of the look-out for clipping.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Clipping {
    largest: f32,
    repeats: u8,
}

impl Clipping {
    /// Takes the force, the largest of its single readings where that is known, and the variance of
    /// its noise.
    pub(super) fn see(&mut self, [x, y, z]: Vector, largest: Option<f32>, variance: f32) {
        let largest = largest.unwrap_or(larger(larger(x.abs(), y.abs()), z.abs()));
        let is_noisy = variance > NOISE_MPS2 * NOISE_MPS2;
        let is_end = largest == self.largest && largest > LEAST_MPS2 && is_noisy;
        self.repeats = if is_end { self.repeats.saturating_add(1) } else { 0 };
        self.largest = largest;
    }

    pub(super) fn is(&self) -> bool {
        self.repeats >= REPEATS
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_force_that_stays_at_one_value_beyond_its_weight_is_clipped() {
        let clipped = |z: fn(u32) -> f32, noise: f32| {
            let mut clipping = Clipping::default();
            for step in 0..20 {
                clipping.see([0.0, 0.0, z(step)], None, noise * noise);
            }
            clipping.is()
        };
        assert!(clipped(|_| -11.768, 0.1));
        // At rest, with noise, and in a flight computed without any.
        assert!(!clipped(|_| -9.807, 0.1));
        assert!(!clipped(|step| -11.768 + 0.005 * (step % 3) as f32, 0.1));
        assert!(!clipped(|_| -11.768, 0.0));
    }
}
