//! Seeded random numbers for the tests of this folder.

/// Noise of unit variance from a linear congruential generator (Knuth's MMIX constants).
pub(super) struct Noise(pub(super) u64);

impl Noise {
    /// Uniform; the median of its magnitude is 0.866 sigma.
    pub(super) fn uniform(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 11) as f64 / (1_u64 << 53) as f64 - 0.5) * 12.0_f64.sqrt()
    }

    /// A sum of twelve, close enough to normal.
    pub(super) fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() / 12.0_f64.sqrt()
    }
}
