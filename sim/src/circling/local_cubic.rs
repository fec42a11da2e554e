//! Value and slope at a moment, from the samples around it: the cubic of least squares.
//!
//! For even samples it is the filter of Savitzky and Golay (Analytical Chemistry 36, 1627, 1964);
//! here the samples need not be even.

use nalgebra::{Matrix4, Vector4};

/// Fewer samples say nothing.
const FEWEST: usize = 5;

/// Samples of two coordinates at increasing times.
pub(super) struct Samples<'a> {
    /// In s.
    pub times_s: &'a [f64],
    /// In m.
    pub places_m: &'a [[f64; 2]],
}

impl Samples<'_> {
    /// Place and velocity at `at_s` from the samples within `half_s` of it; `None` where there are
    /// fewer than five, or none on one side.
    pub fn at(&self, at_s: f64, half_s: f64) -> Option<[[f64; 2]; 2]> {
        let from = self.times_s.partition_point(|time| *time < at_s - half_s);
        let to = self.times_s.partition_point(|time| *time <= at_s + half_s);
        let near = &self.times_s[from..to];
        if near.len() < FEWEST || near[0] > at_s || near[near.len() - 1] < at_s {
            return None;
        }
        let (mut normal, mut right) = (Matrix4::zeros(), [Vector4::zeros(); 2]);
        for (time, place) in near.iter().zip(&self.places_m[from..to]) {
            let x = (time - at_s) / half_s;
            let row = Vector4::new(1.0, x, x * x, x * x * x);
            normal += row * row.transpose();
            right[0] += row * place[0];
            right[1] += row * place[1];
        }
        let solver = normal.cholesky()?;
        let [east, north] = right.map(|right| solver.solve(&right));
        Some([[east[0], north[0]], [east[1] / half_s, north[1] / half_s]])
    }
}
