//! The glider: a point mass whose drag is right at every speed, load, mass and density.
//!
//! Drag in units of the weight, at equivalent airspeed V and load factor n, for the reference mass:
//!
//! ```text
//! D / (m g) = a V^2 + b n + c n^2 / V^2          parasitic, in between, induced
//! ```
//!
//! This is a drag polar of the second degree in the lift coefficient, C_D = C0 + C1 C_L + C2 C_L^2,
//! since C_L goes as n / V^2. The points of the glider's polar (speed, sink) give a, b and c: see
//! [`super::drag_law`]. At another mass the same coefficients hold at the same C_L. It follows,
//! without being put in, that in a steady turn speeds grow by sqrt(n) and sinks by n^1.5, and that
//! ballast moves the polar along the lines through its origin.
//!
//! Source: any text on flight mechanics. Airbrakes and spin add drag that goes as V^2.

use super::atmosphere::GRAVITY_MPS2;
use super::drag_law::{self, PolarPoint};
use serde::Deserialize;

/// Lift coefficient's slope over its greatest value, 1/rad: 5.7 over 1.4, a slender wing's (a
/// guess).
const SLOPE_OVER_STALL: f64 = 4.0;

/// The glider, in the keys of the instrument's own `[polar]`.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, expecting = "a table such as [glider]")]
pub struct GliderSettings {
    /// What it is called.
    pub name: String,
    /// Points of its polar, three to eight, each faster than the one before.
    pub points: Vec<PolarPoint>,
    /// Mass at which the points were measured, kg. 100 to 1000.
    pub reference_mass_kg: f64,
    /// Mass today without ballast: the glider with its crew, kg. 100 to 1000, default the reference
    /// mass.
    pub empty_mass_kg: Option<f64>,
    /// Ballast in addition, kg. 0 to 500, default 0.
    #[serde(default)]
    pub ballast_kg: f64,
    /// Extra drag of dirty wings, in percent. 0 to 50, default 0.
    #[serde(default)]
    pub contamination_percent: f64,
    /// Equivalent airspeed of the stall at the reference mass, m/s. 8 to 40.
    pub stall_mps: f64,
    /// Glide ratio with full airbrakes at the second point's speed. 3 to 20, default 6.
    #[serde(default = "six")]
    pub airbrake_glide_ratio: f64,
    /// No drag at all: not a real glider, but the simplest check of a compensation. Default false.
    #[serde(default)]
    pub frictionless: bool,
}

fn six() -> f64 {
    6.0
}

impl GliderSettings {
    /// Today's mass in kg.
    pub fn mass_kg(&self) -> f64 {
        self.empty_mass_kg.unwrap_or(self.reference_mass_kg) + self.ballast_kg
    }
}

/// A glider as it flies today.
#[derive(Clone, Copy, Debug)]
pub struct Glider {
    parasitic: f64,
    between: f64,
    induced: f64,
    airbrake: f64,
    /// Equivalent airspeed at which it stalls at a load factor of 1, today's mass, in m/s.
    pub stall_mps: f64,
}

/// Additions to the clean glider's drag.
#[derive(Clone, Copy, Debug, Default)]
pub struct Configuration {
    /// How far the airbrakes are out, 0 to 1.
    pub airbrake: f64,
    /// Drag of the spin, in units of the weight, at an equivalent airspeed of 1 m/s.
    pub spin: f64,
}

impl Glider {
    /// The glider of checked settings; `None` where the points do not give a valid polar.
    pub fn new(settings: &GliderSettings) -> Option<Self> {
        let [a, b, c] = drag_law::through(&settings.points)?;
        let dirt =
            if settings.frictionless { 0.0 } else { 1.0 + settings.contamination_percent / 100.0 };
        // At another mass the same lift coefficient is flown at a speed larger by
        // sqrt(mass / reference).
        let heavier = settings.mass_kg() / settings.reference_mass_kg;
        let PolarPoint { speed_mps: speed, sink_mps: sink } = *settings.points.get(1)?;
        let airbrake = (1.0 / settings.airbrake_glide_ratio - sink / speed) / (speed * speed);
        Some(Self {
            parasitic: a * dirt / heavier,
            between: b * dirt,
            induced: c * dirt * heavier,
            airbrake: airbrake.max(0.0) / heavier,
            stall_mps: settings.stall_mps * heavier.sqrt(),
        })
    }

    /// Deceleration by drag in m/s2 at the square of the equivalent airspeed in (m/s)^2.
    pub fn drag_mps2(
        &self,
        speed_squared: f64,
        load_factor: f64,
        configuration: Configuration,
    ) -> f64 {
        let parasitic =
            self.parasitic + self.airbrake * configuration.airbrake + configuration.spin;
        let induced = self.induced * load_factor * load_factor / speed_squared.max(1.0);
        GRAVITY_MPS2 * (parasitic * speed_squared + self.between * load_factor.abs() + induced)
    }

    /// Sine of the angle of a steady straight glide at an equivalent airspeed in m/s: sink over
    /// speed.
    pub fn steady_slope(&self, speed_mps: f64) -> f64 {
        let drag = |load: f64| {
            self.drag_mps2(speed_mps * speed_mps, load, Configuration::default()) / GRAVITY_MPS2
        };
        // The load depends only on the square of the angle: each iteration gains at least two
        // digits.
        (0..8).fold(drag(1.0), |slope, _| drag((1.0 - slope * slope).max(0.0).sqrt()))
    }

    /// The greatest load factor that its wing can carry at an equivalent airspeed in m/s.
    pub fn stall_load_factor(&self, speed_mps: f64) -> f64 {
        (speed_mps / self.stall_mps) * (speed_mps / self.stall_mps)
    }

    /// Its response to a vertical gust, in s: the time constant of its heave at an equivalent
    /// airspeed in m/s, where true airspeeds are `speed_ratio` times as large.
    ///
    /// A gust w changes the angle of attack by w / V and so the load factor by `SLOPE_OVER_STALL`
    /// (V / V_stall)^2 w / V.
    pub fn heave_s(&self, speed_mps: f64, speed_ratio: f64) -> f64 {
        speed_mps.max(1.0) * speed_ratio / self.lift_per_radian_mps2(speed_mps)
    }

    /// Lift per radian of angle of attack, m/s2, at an equivalent airspeed in m/s.
    pub fn lift_per_radian_mps2(&self, speed_mps: f64) -> f64 {
        GRAVITY_MPS2 * (SLOPE_OVER_STALL * self.stall_load_factor(speed_mps).max(0.25))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn trainer() -> GliderSettings {
        toml::from_str(
            "name = \"t\"\nreference_mass_kg = 400\nstall_mps = 16\npoints = [\
             { speed_mps = 18, sink_mps = 0.88 }, { speed_mps = 24, sink_mps = 0.91 },\
             { speed_mps = 35, sink_mps = 1.89 }]",
        )
        .unwrap()
    }

    /// Sink of a steady glide at load factor cos of the angle, times the load: solved by iteration.
    fn sink(glider: &Glider, speed: f64) -> f64 {
        let mut slope: f64 = 0.03;
        for _ in 0..50 {
            let load = (1.0 - slope * slope).sqrt();
            slope = glider.drag_mps2(speed * speed, load, Configuration::default()) / GRAVITY_MPS2;
        }
        slope * speed
    }

    #[test]
    fn its_polar_goes_through_its_points() {
        let glider = Glider::new(&trainer()).unwrap();
        for PolarPoint { speed_mps, sink_mps } in trainer().points {
            assert_relative_eq!(sink(&glider, speed_mps), sink_mps, max_relative = 1e-9);
        }
    }

    #[test]
    fn ballast_moves_the_polar_along_lines_through_the_origin() {
        let light = Glider::new(&trainer()).unwrap();
        let heavy = Glider::new(&GliderSettings { ballast_kg: 176.0, ..trainer() }).unwrap();
        // 576 / 400 = 1.2 squared.
        assert_relative_eq!(
            sink(&heavy, 1.2 * 25.0),
            1.2 * sink(&light, 25.0),
            max_relative = 1e-9
        );
        assert_relative_eq!(heavy.stall_mps, 1.2 * 16.0, max_relative = 1e-12);
    }

    #[test]
    fn a_glider_weighs_what_is_empty_and_its_ballast() {
        let settings =
            GliderSettings { empty_mass_kg: Some(376.0), ballast_kg: 200.0, ..trainer() };
        assert_eq!(settings.mass_kg(), 576.0);
        let ballasted = GliderSettings { ballast_kg: 176.0, ..trainer() };
        let at = |settings: &GliderSettings| sink(&Glider::new(settings).unwrap(), 30.0);
        assert_eq!(at(&settings), at(&ballasted));
    }

    #[test]
    fn airbrakes_give_their_glide_ratio() {
        let glider = Glider::new(&trainer()).unwrap();
        let drag = glider.drag_mps2(24.0 * 24.0, 1.0, Configuration { airbrake: 1.0, spin: 0.0 });
        assert_relative_eq!(
            GRAVITY_MPS2 / drag,
            trainer().airbrake_glide_ratio,
            max_relative = 2e-3
        );
    }

    #[test]
    fn points_that_make_no_polar_are_none() {
        let mut bent = trainer();
        bent.points[1].sink_mps = 2.5;
        assert!(Glider::new(&bent).is_none());
    }
}
