//! Convection: thermals as bells of lift in a ring of sink, streets as bands of lift between bands
//! of sink.
//!
//! ```text
//! thermal   w = w0 f(z) (1 - r^2 / R^2) exp(-r^2 / R^2)             r from its core
//! street    w = w0 f(z) (1 - d^2 / D^2) exp(-d^2 / (2 D^2)) (1 + s sin(2 pi x / X))
//!           d from its middle, x along it
//! column    w = w0 s(1/2 - (r - R) / e)                           s(x) = 3 x^2 - 2 x^3, 0 to 1
//! height    f(z) = z^(1/3) (1 - 1.1 z) / 0.4577
//!           z = 0.909 (height above the ground) / (height of the top)
//! ```
//!
//! A thermal with an edge of the width e is a column, the same at every height between the ground
//! and its top: not a real thermal, but an entry of a known strength and width.
//!
//! Both other shapes carry as much air down as up at every height: their integrals over the plane,
//! and across the band, are zero. Lift turns to sink at r = R and d = D. The thermal's is Gedeon's
//! (Dynamic analysis of dolphin-style thermal cross-country flight, 1973, from memory), the band is
//! the same idea in one dimension. The strength by height is that of the updraughts of a convective
//! layer (Lenschow and Stephens, The role of thermals in the convective boundary layer, 1980, from
//! memory), scaled to 1 where it is strongest, a quarter of the way up; it ends at the top.

use super::settings::{StreetSettings, ThermalSettings};
use crate::physics::vector::Vector;
use std::f64::consts::TAU;

/// Where Lenschow's profile falls to zero.
const END: f64 = 1.0 / 1.1;
/// Its greatest value, (1/4.4)^(1/3) 3/4.
const GREATEST: f64 = 0.457_695_917;
/// Beyond this many squares of the radius any thermal has less than a millimetre a second.
const NEGLIGIBLE: f64 = 16.0;

/// Strength by height: 0 at the ground, 1 where it is strongest, 0 from the top upwards.
#[derive(Clone, Copy, Debug)]
struct Layer {
    ground_m: f64,
    depth_m: f64,
}

impl Layer {
    fn holds(self, height_m: f64) -> bool {
        height_m > self.ground_m && height_m < self.ground_m + self.depth_m
    }

    fn share(self, height_m: f64) -> f64 {
        let z = END * (height_m - self.ground_m) / self.depth_m;
        if z > 0.0 && z < END { libm::cbrt(z) * (1.0 - 1.1 * z) / GREATEST } else { 0.0 }
    }
}

/// A thermal in the frame that drifts with the wind.
#[derive(Clone, Copy, Debug)]
pub(super) struct Thermal {
    core: Vector,
    strength_mps: f64,
    radius_m: f64,
    edge_m: Option<f64>,
    layer: Layer,
}

impl Thermal {
    pub fn new(settings: &ThermalSettings, ground_m: f64) -> Self {
        Self {
            core: Vector { east: settings.east_m, north: settings.north_m, up: 0.0 },
            strength_mps: settings.strength_mps,
            radius_m: settings.radius_m,
            edge_m: settings.edge_m,
            layer: Layer { ground_m, depth_m: settings.top_m - ground_m },
        }
    }

    /// Vertical speed of the air in m/s at a place of the drifting frame.
    pub fn rise(&self, place: Vector) -> f64 {
        let away = (place - self.core).level();
        if let Some(edge_m) = self.edge_m {
            let inside = (0.5 - (away.length() - self.radius_m) / edge_m).clamp(0.0, 1.0);
            let share = inside * inside * (3.0 - 2.0 * inside);
            return if self.layer.holds(place.up) { self.strength_mps * share } else { 0.0 };
        }
        let squares = away.dot(away) / (self.radius_m * self.radius_m);
        if squares > NEGLIGIBLE {
            return 0.0;
        }
        self.strength_mps * self.layer.share(place.up) * (1.0 - squares) * libm::exp(-squares)
    }
}

/// A street in the frame that drifts with the wind.
#[derive(Clone, Copy, Debug)]
pub(super) struct Street {
    middle: Vector,
    along: Vector,
    strength_mps: f64,
    width_squared: f64,
    swell: f64,
    spacing_m: f64,
    layer: Layer,
}

impl Street {
    pub fn new(settings: &StreetSettings, ground_m: f64) -> Self {
        Self {
            middle: Vector { east: settings.east_m, north: settings.north_m, up: 0.0 },
            along: Vector::on_course(settings.course_deg.to_radians()),
            strength_mps: settings.strength_mps,
            width_squared: settings.half_width_m * settings.half_width_m,
            swell: settings.swell,
            spacing_m: settings.spacing_m,
            layer: Layer { ground_m, depth_m: settings.top_m - ground_m },
        }
    }

    /// Vertical speed of the air in m/s at a place of the drifting frame.
    pub fn rise(&self, place: Vector) -> f64 {
        let from_middle = (place - self.middle).level();
        let off = from_middle.without(self.along);
        let squares = off.dot(off) / self.width_squared;
        if squares > 2.0 * NEGLIGIBLE {
            return 0.0;
        }
        let swell =
            1.0 + self.swell * libm::sin(TAU * from_middle.dot(self.along) / self.spacing_m);
        self.strength_mps
            * self.layer.share(place.up)
            * (1.0 - squares)
            * libm::exp(-0.5 * squares)
            * swell
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    fn thermal() -> Thermal {
        Thermal::new(
            &ThermalSettings {
                name: "t".into(),
                east_m: 0.0,
                north_m: 0.0,
                strength_mps: 3.0,
                radius_m: 120.0,
                top_m: 1500.0,
                edge_m: None,
            },
            200.0,
        )
    }

    fn street() -> Street {
        Street::new(
            &StreetSettings {
                east_m: 0.0,
                north_m: 0.0,
                course_deg: 0.0,
                strength_mps: 2.0,
                half_width_m: 300.0,
                swell: 0.0,
                spacing_m: 2000.0,
                top_m: 1500.0,
            },
            200.0,
        )
    }

    fn at(east: f64, up: f64) -> Vector {
        Vector { east, north: 0.0, up }
    }

    /// Height at which the profile is strongest: a quarter of the way up.
    const STRONGEST_M: f64 = 200.0 + 1300.0 / 4.0;

    #[test]
    fn rise_turns_to_sink_at_the_radius() {
        assert_relative_eq!(thermal().rise(at(0.0, STRONGEST_M)), 3.0, max_relative = 1e-5);
        assert!(
            thermal().rise(at(119.0, STRONGEST_M)) > 0.0
                && thermal().rise(at(121.0, STRONGEST_M)) < 0.0
        );
        assert!(
            street().rise(at(299.0, STRONGEST_M)) > 0.0
                && street().rise(at(301.0, STRONGEST_M)) < 0.0
        );
    }

    #[test]
    fn a_column_is_even_inside_nothing_outside_and_half_at_its_radius() {
        let column = Thermal { edge_m: Some(40.0), ..thermal() };
        for up in [201.0, STRONGEST_M, 1499.0] {
            for (away, expected) in [(0.0, 3.0), (100.0, 3.0), (120.0, 1.5), (140.0, 0.0)] {
                assert_abs_diff_eq!(column.rise(at(away, up)), expected, epsilon = 1e-9);
            }
        }
        assert_eq!(column.rise(at(0.0, 199.0)) + column.rise(at(0.0, 1501.0)), 0.0);
    }

    #[test]
    fn as_much_air_goes_down_as_up() {
        let sum = |rise: &dyn Fn(f64) -> f64| {
            (0..200_000).map(|step| rise(f64::from(step) * 0.01)).sum::<f64>()
        };
        let ring = sum(&|r| r * thermal().rise(at(r, STRONGEST_M)));
        let up = sum(&|r| r * thermal().rise(at(r, STRONGEST_M)).max(0.0));
        assert_abs_diff_eq!(ring / up, 0.0, epsilon = 1e-4);
        let band = sum(&|d| street().rise(at(d, STRONGEST_M)));
        let up = sum(&|d| street().rise(at(d, STRONGEST_M)).max(0.0));
        assert_abs_diff_eq!(band / up, 0.0, epsilon = 1e-3);
    }

    #[test]
    fn there_is_nothing_at_the_ground_and_above_the_top() {
        for height_m in [100.0, 200.0, 1500.0, 3000.0] {
            assert_eq!(thermal().rise(at(0.0, height_m)), 0.0);
        }
    }
}
