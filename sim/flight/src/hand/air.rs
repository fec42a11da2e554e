//! The air: lift or sink set by hand, and a thermal to circle in.
//!
//! ```text
//! w = rise + strength exp(-(r / R)^2)      r: the glider's distance from the thermal's middle
//! ```
//!
//! The thermal's bell and its radius are a guess at a common shape; no source. A change by hand
//! arrives as at the edge of moving air some ten metres wide: through a first-order lag of 0.15 s,
//! a third of a second from 10 % to 90 %, at 27 m/s (a guess). The physics then decides how the
//! glider follows.

use super::craft::Turn;

/// Radius at which a thermal has fallen to 37 %, m (a guess).
pub const THERMAL_RADIUS_M: f64 = 120.0;
/// How fast the circle can be shifted, m/s; a pilot shifts it by some tens of metres in a circle.
const SHIFT_MPS: f64 = 6.0;
/// The lag of an edge, s.
const EDGE_S: f64 = 0.15;

/// The air motion to simulate.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Asked {
    /// Vertical speed of the air everywhere, m/s.
    pub rise_mps: f64,
    /// Vertical speed of the air in the middle of the thermal, m/s; only in a circle.
    pub thermal_mps: f64,
    /// Distance from the centre of the thermal to that of the circle, m.
    pub offset_m: f64,
}

/// The air around the glider.
#[derive(Clone, Copy, Debug, Default)]
pub struct Air {
    rise_mps: f64,
    offset_m: f64,
}

impl Air {
    /// Advances by `seconds` and returns the vertical speed of the air around the glider then, m/s.
    pub fn step(&mut self, asked: &Asked, turn: Turn, seconds: f64) -> f64 {
        let shift =
            (asked.offset_m - self.offset_m).clamp(-SHIFT_MPS * seconds, SHIFT_MPS * seconds);
        self.offset_m += shift;
        let rise_mps = asked.rise_mps + asked.thermal_mps * self.share_of_thermal(turn);
        self.rise_mps += (rise_mps - self.rise_mps) * seconds / EDGE_S;
        self.rise_mps
    }

    /// The thermal's strength at the glider, as a share.
    fn share_of_thermal(&self, turn: Turn) -> f64 {
        if !turn.radius_m.is_finite() {
            return 0.0;
        }
        let (r, d) = (turn.radius_m, self.offset_m);
        let squared = r * r + d * d + 2.0 * r * d * libm::cos(turn.heading_rad);
        libm::exp(-squared / (THERMAL_RADIUS_M * THERMAL_RADIUS_M))
    }

    /// Vertical speed of the air around the glider, m/s.
    pub fn rise_mps(&self) -> f64 {
        self.rise_mps
    }

    /// Distance from the centre of the thermal to that of the circle, m.
    pub fn offset_m(&self) -> f64 {
        self.offset_m
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    const STRAIGHT: Turn = Turn { radius_m: f64::INFINITY, heading_rad: 0.0 };

    #[test]
    fn a_step_of_the_rise_is_felt_after_a_lag_and_then_whole() {
        let (mut air, asked) =
            (Air::default(), Asked { rise_mps: 2.0, thermal_mps: 9.0, ..Asked::default() });
        for _ in 0..150 {
            air.step(&asked, STRAIGHT, 0.001);
        }
        // After one lag 1 - 1/e.
        assert_abs_diff_eq!(air.rise_mps(), 2.0 * 0.632, epsilon = 0.01);
        for _ in 0..1500 {
            air.step(&asked, STRAIGHT, 0.001);
        }
        assert_abs_diff_eq!(air.rise_mps(), 2.0, epsilon = 0.001);
    }

    #[test]
    fn a_circle_off_the_middle_is_better_on_one_side_and_a_centred_one_even() {
        let rise = |offset_m: f64, heading_rad: f64| {
            let mut air = Air { offset_m, ..Air::default() };
            let asked = Asked { thermal_mps: 4.0, offset_m, ..Asked::default() };
            let turn = Turn { radius_m: 90.0, heading_rad };
            (0..5000).fold(0.0, |_, _| air.step(&asked, turn, 0.002))
        };
        let (far, near) = (rise(60.0, 0.0), rise(60.0, core::f64::consts::PI));
        // 4 exp(-(150 / 120)^2) and 4 exp(-(30 / 120)^2).
        assert_abs_diff_eq!(far, 0.838, epsilon = 0.002);
        assert_abs_diff_eq!(near, 3.758, epsilon = 0.002);
        assert_abs_diff_eq!(rise(0.0, 0.0), rise(0.0, 2.0), epsilon = 1e-9);
    }
}
