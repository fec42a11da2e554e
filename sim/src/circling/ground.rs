//! Metres east and north of a place, from degrees.
//!
//! Radii of curvature of the ellipsoid WGS 84: NIMA TR8350.2, third edition, 2000 (a and 1/f; from
//! memory). Flat within the few kilometres of a climb: the error is below 1 m in 5 km.

use crate::trace::Position;

/// Equatorial radius of WGS 84, m.
const EQUATOR_M: f64 = 6_378_137.0;
/// Square of its first eccentricity.
const ECCENTRICITY_2: f64 = 6.694_379_990_14e-3;

/// A plane that touches the ground at a place.
#[derive(Clone, Copy, Debug)]
pub(super) struct Plane {
    origin: Position,
    east_m_per_deg: f64,
    north_m_per_deg: f64,
}

impl Plane {
    /// The plane at `origin`.
    pub fn at(origin: Position) -> Self {
        let (sine, cosine) = origin.latitude_deg.to_radians().sin_cos();
        let root = (1.0 - ECCENTRICITY_2 * sine * sine).sqrt();
        let across_m = EQUATOR_M / root;
        let along_m = across_m * (1.0 - ECCENTRICITY_2) / (root * root);
        Self {
            origin,
            east_m_per_deg: (across_m * cosine).to_radians(),
            north_m_per_deg: along_m.to_radians(),
        }
    }

    /// A position as metres east and north.
    pub fn metres(&self, position: &Position) -> [f64; 2] {
        let turn = position.longitude_deg - self.origin.longitude_deg;
        // Over the date line the short way.
        let turn = turn - 360.0 * (turn / 360.0).round();
        let north_deg = position.latitude_deg - self.origin.latitude_deg;
        [turn * self.east_m_per_deg, north_deg * self.north_m_per_deg]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn degrees_have_the_length_that_the_ellipsoid_gives_them() {
        let position = |latitude_deg, longitude_deg| Position {
            latitude_deg,
            longitude_deg,
            gnss_altitude_m: None,
        };
        // Length of a degree at 45 degrees on WGS 84: 111 132 m of latitude, 78 847 m of longitude
        // (Wikipedia, "Length of a degree of longitude"; from memory).
        let plane = Plane::at(position(45.0, 179.9));
        let [east, north] = plane.metres(&position(45.01, -179.9));
        assert_abs_diff_eq!(east, 0.2 * 78_847.0, epsilon = 1.0);
        assert_abs_diff_eq!(north, 1_111.3, epsilon = 0.2);
    }
}
