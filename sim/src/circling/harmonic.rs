//! A turn's strength by heading: least squares of the energy height,
//! h = h0 + a t + b ∫cos ψ dt + c ∫sin ψ dt.

use nalgebra::{Matrix4, Vector4};
use std::f64::consts::FRAC_PI_2;

/// The height is so late against the heading, s: see `bell_fit`.
const LATE_S: f64 = 0.5;
/// The direction of the better side is said where the climb swings by more than this, m/s.
pub(super) const LEAST_MPS: f64 = 1.0;

/// The climb of a turn: its mean, and how it varies with the heading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Harmonic {
    /// Mean climb, m/s.
    pub mean_mps: f64,
    /// Parts that go with the cosine and the sine of the heading, m/s.
    pub by_heading_mps: [f64; 2],
}

impl Harmonic {
    /// Of the seconds `from` to `to` (whole ones around a turn) of headings in rad and energy
    /// heights in m, one each second.
    pub fn of(headings_rad: &[f64], energy_m: &[f64], (from, to): (f64, f64)) -> Option<Self> {
        let last = headings_rad.len().min(energy_m.len()).checked_sub(1)?;
        let (first, last) = ((from.floor().max(0.0)) as usize, (to.ceil() as usize).min(last));
        let (mut normal, mut right) = (Matrix4::zeros(), Vector4::zeros());
        let (mut cosine, mut sine) = (0.0, 0.0);
        for second in first..=last {
            if second > first {
                let (one, other) = (headings_rad[second - 1], headings_rad[second]);
                cosine += 0.5 * (one.cos() + other.cos());
                sine += 0.5 * (one.sin() + other.sin());
            }
            let row = Vector4::new(1.0, (second - first) as f64, cosine, sine);
            normal += row * row.transpose();
            right += row * (energy_m[second] - energy_m[first]);
        }
        let [_, mean_mps, cosine, sine] = normal.cholesky()?.solve(&right).into();
        Some(Self { mean_mps, by_heading_mps: [cosine, sine] })
    }

    /// How much the climb swings round the turn: half of best less worst, m/s.
    pub fn swing_mps(&self) -> f64 {
        self.by_heading_mps[0].hypot(self.by_heading_mps[1])
    }

    /// The side of the circle on which the climb is best, seen from its middle, as m/s north and
    /// east, for a turn to the right (1) or the left (-1) that takes so long.
    pub fn better_side_mps(&self, sense: f64, lasts_s: f64) -> [f64; 2] {
        let heading = self.by_heading_mps[1].atan2(self.by_heading_mps[0]);
        // Who turns right flies on the left side of the middle, seen along the heading.
        let late = std::f64::consts::TAU * LATE_S / lasts_s;
        let bearing = heading - sense * (FRAC_PI_2 + late);
        [bearing.cos() * self.swing_mps(), bearing.sin() * self.swing_mps()]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn mean_swing_and_side_of_a_turn_come_back() {
        for sense in [1.0, -1.0] {
            let headings: Vec<f64> =
                (0..41).map(|second| sense * 0.3 * f64::from(second)).collect();
            // Best on the east side of the circle: a turn to the right flies south there. The
            // height is late by half a second.
            let rise = |heading: f64| 2.0 + 1.5 * (heading - sense * FRAC_PI_2 - FRAC_PI_2).cos();
            let mut height = 0.0;
            let mut heights = Vec::new();
            for second in 0..41 {
                heights.push(height);
                for part in 0..10 {
                    let at = f64::from(second) + (f64::from(part) + 0.5) / 10.0 - LATE_S;
                    height += 0.1 * rise(sense * 0.3 * at);
                }
            }
            let harmonic = Harmonic::of(&headings, &heights, (5.0, 5.0 + 20.94)).expect("a turn");
            assert_abs_diff_eq!(harmonic.mean_mps, 2.0, epsilon = 0.02);
            assert_abs_diff_eq!(harmonic.swing_mps(), 1.5, epsilon = 0.02);
            let [north, east] = harmonic.better_side_mps(sense, 20.94);
            assert_abs_diff_eq!(north, 0.0, epsilon = 0.05);
            assert_abs_diff_eq!(east, 1.5, epsilon = 0.05);
        }
        assert_eq!(Harmonic::of(&[0.0; 3], &[0.0; 3], (0.0, 2.0)), None);
    }
}
