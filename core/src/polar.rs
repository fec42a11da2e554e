//! The glider's polar: how fast it sinks in still air at a given airspeed, whatever its mass, the
//! density and the state of its wings.
//!
//! A parabola through three points (speed, sink) measured at a reference mass and sea-level
//! density:
//!
//! ```text
//! S(V) = a + b V + c V^2
//! at mass m            speeds and sinks grow alike by sqrt(m / m_ref)
//! at density rho       true speeds and sinks grow alike by sqrt(rho0 / rho)
//! contaminated wings   sink grows by the percentage at every speed
//! in a turn            of load factor n = 1 / cos(bank): speeds grow by sqrt(n), sinks by n^1.5
//! ```
//!
//! The first two follow from steady gliding flight at one lift coefficient (any text on flight
//! mechanics); the parabola and the percentage are common practice, no source. The parabola is good
//! between its points and a little beyond; below the speed of least sink it turns up as a wing near
//! the stall does, but not for that reason.
//!
//! The best speed between climbs for an expected climb M, in air that rises by w, is where the line
//! from (0, M - w) touches the polar, S'(V) V = S(V) + M - w, which for a parabola is
//! `V = sqrt((a + M - w) / c)`; M = w = 0 gives the best glide. At height, where speeds and sinks
//! are all larger by `k = sqrt(rho0 / rho)`, the equivalent speed is that of (M - w) / k. The
//! tangent is common practice, no source.

use crate::error::{Expected, SettingsError};
use crate::settings::{PolarSettings, in_range};
use crate::units::MetrePerSecond;

/// Below this share of the speed of least sink nothing flies steadily, and the polar says nothing.
const SLOWEST: f32 = 0.7;
/// Beyond this share of the third point's speed the parabola is nobody's polar, and no speed to fly
/// lies there (a guess).
const FASTEST: f32 = 1.25;

/// The polar as it is in the air: with ballast and contaminated wings, at sea-level density.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Polar {
    a: f32,
    b: f32,
    c: f32,
    /// Sink in a turn of the set bank, in units of the least sink straight ahead.
    circling: f32,
    /// The fastest speed that the parabola is good for, m/s.
    fastest_mps: f32,
    /// Climb expected in the next thermal, m/s.
    expected_climb_mps: f32,
}

impl Polar {
    /// Works out the parabola.
    ///
    /// # Errors
    /// A setting out of range, points out of order, or three points that no polar goes through.
    pub fn new(settings: &PolarSettings) -> Result<Self, SettingsError> {
        check(settings)?;
        let [(x1, y1), (x2, y2), (x3, y3)] =
            settings.points().map(|(speed, sink)| (f64::from(speed), f64::from(sink)));
        // Newton's divided differences; in double precision because it is done once.
        let (first, second) = ((y2 - y1) / (x2 - x1), (y3 - y2) / (x3 - x2));
        let c = (second - first) / (x3 - x1);
        let b = first - c * (x1 + x2);
        let a = y1 - x1 * (b + c * x1);
        let heavier = f64::from(libm::sqrtf(settings.mass_kg / settings.reference_mass_kg));
        let dirtier = 1.0 + f64::from(settings.contamination_percent) / 100.0;
        let bank = settings.circling_bank_deg.to_radians();
        let load = 1.0 / libm::cosf(bank);
        let polar = Self {
            a: (a * heavier * dirtier) as f32,
            b: (b * dirtier) as f32,
            c: (c * dirtier / heavier) as f32,
            circling: load * libm::sqrtf(load),
            fastest_mps: FASTEST * settings.speed_3_mps * heavier as f32,
            expected_climb_mps: settings.expected_climb_mps,
        };
        let least = polar.least_sink();
        if c > 0.0 && b < 0.0 && least.1.0 > 0.0 {
            Ok(polar)
        } else {
            let expected = Expected::AtLeast(
                settings.sink_2_mps,
                "the three points must bend as a polar does",
            );
            Err(SettingsError {
                parameter: "polar.sink_3_mps",
                entry: None,
                value: settings.sink_3_mps,
                expected,
            })
        }
    }

    /// Sink, positive, at true airspeed `speed` where density is `rho0 / density_ratio`; `None`
    /// below flying speed.
    ///
    /// `density_ratio` is `sqrt(rho0 / rho)`: 1 at sea level, 1.16 at 3000 m.
    pub fn sink(&self, speed: MetrePerSecond, density_ratio: f32) -> Option<MetrePerSecond> {
        let equivalent = speed.0 / density_ratio;
        let (slowest, _) = self.least_sink();
        if equivalent < SLOWEST * slowest.0 {
            return None;
        }
        Some(MetrePerSecond(density_ratio * self.at(equivalent)))
    }

    /// Speed of least sink and that sink, at sea-level density.
    pub fn least_sink(&self) -> (MetrePerSecond, MetrePerSecond) {
        let speed = -self.b / (2.0 * self.c);
        (MetrePerSecond(speed), MetrePerSecond(self.at(speed)))
    }

    /// Sink in a turn of the set bank at its best speed, where density is `rho0 / density_ratio^2`.
    pub fn circling_sink(&self, density_ratio: f32) -> MetrePerSecond {
        MetrePerSecond(density_ratio * self.circling * self.least_sink().1.0)
    }

    /// Best equivalent airspeed towards the climb that the settings expect, in air that rises by
    /// `air` meanwhile.
    ///
    /// From the speed of least sink up to 1.25 times the third point's speed.
    pub fn speed_to_fly(&self, air: MetrePerSecond, density_ratio: f32) -> MetrePerSecond {
        self.speed_towards(MetrePerSecond(self.expected_climb_mps), air, density_ratio)
    }

    /// Best equivalent airspeed towards an expected `climb`; see [`Polar::speed_to_fly`].
    pub fn speed_towards(
        &self,
        climb: MetrePerSecond,
        air: MetrePerSecond,
        density_ratio: f32,
    ) -> MetrePerSecond {
        let (slowest, _) = self.least_sink();
        let squared = (self.a + (climb.0 - air.0) / density_ratio) / self.c;
        let speed = if squared > 0.0 { libm::sqrtf(squared) } else { 0.0 };
        // In air that rises by more than is expected the tangent leaves the polar; nobody flies
        // slower than least sink.
        let fast_enough = if speed > slowest.0 { speed } else { slowest.0 };
        MetrePerSecond(if fast_enough < self.fastest_mps { fast_enough } else { self.fastest_mps })
    }

    /// Best glide ratio: distance for height in still air, the same at every density.
    pub fn best_glide_ratio(&self) -> f32 {
        let speed = self.speed_towards(MetrePerSecond(0.0), MetrePerSecond(0.0), 1.0);
        speed.0 / self.at(speed.0)
    }

    fn at(&self, speed_mps: f32) -> f32 {
        self.a + speed_mps * (self.b + self.c * speed_mps)
    }
}

fn check(settings: &PolarSettings) -> Result<(), SettingsError> {
    in_range("polar.speed_1_mps", settings.speed_1_mps, 10.0, 80.0)?;
    in_range("polar.speed_2_mps", settings.speed_2_mps, 10.0, 80.0)?;
    in_range("polar.speed_3_mps", settings.speed_3_mps, 10.0, 80.0)?;
    in_range("polar.sink_1_mps", settings.sink_1_mps, 0.2, 10.0)?;
    in_range("polar.sink_2_mps", settings.sink_2_mps, 0.2, 10.0)?;
    in_range("polar.sink_3_mps", settings.sink_3_mps, 0.2, 10.0)?;
    in_range("polar.reference_mass_kg", settings.reference_mass_kg, 100.0, 1000.0)?;
    in_range("polar.mass_kg", settings.mass_kg, 100.0, 1000.0)?;
    in_range("polar.contamination_percent", settings.contamination_percent, 0.0, 50.0)?;
    in_range("polar.circling_bank_deg", settings.circling_bank_deg, 0.0, 60.0)?;
    in_range("polar.expected_climb_mps", settings.expected_climb_mps, 0.0, 10.0)?;
    for (parameter, value, before) in [
        ("polar.speed_2_mps", settings.speed_2_mps, settings.speed_1_mps),
        ("polar.speed_3_mps", settings.speed_3_mps, settings.speed_2_mps),
    ] {
        if value <= before {
            let expected = Expected::MoreThanBefore(before);
            return Err(SettingsError { parameter, entry: None, value, expected });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{METRES_PER_FOOT, METRES_PER_STATUTE_MILE};
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    /// A training glider of our own: 26.4 to 1 at its best.
    fn trainer() -> PolarSettings {
        PolarSettings {
            speed_1_mps: 18.0,
            sink_1_mps: 0.88,
            speed_2_mps: 24.0,
            sink_2_mps: 0.91,
            speed_3_mps: 35.0,
            sink_3_mps: 1.89,
            ..PolarSettings::default()
        }
    }

    fn polar(settings: PolarSettings) -> Polar {
        Polar::new(&settings).unwrap()
    }

    #[test]
    fn the_parabola_goes_through_its_points() {
        let (settings, polar) = (trainer(), polar(trainer()));
        for (speed, sink) in settings.points() {
            assert_relative_eq!(
                polar.sink(MetrePerSecond(speed), 1.0).unwrap().0,
                sink,
                max_relative = 1e-5
            );
        }
    }

    #[test]
    fn a_low_performance_glider_covers_five_miles_for_a_thousand_feet() {
        // Common practice, no source: 5 statute miles while it descends 1000 ft, a glide ratio of
        // 26.4.
        let miles = polar(trainer()).best_glide_ratio() * 1000.0 * METRES_PER_FOOT
            / METRES_PER_STATUTE_MILE;
        assert_abs_diff_eq!(miles, 5.0, epsilon = 0.05);
    }

    #[test]
    fn the_best_speed_is_where_the_tangent_touches() {
        // The slow, obvious reference: of all speeds the one at which a climb of M and the glide
        // after it go furthest in a given time, V M / (M + S(V)); for M = 0 the one of the best
        // V / S.
        let polar = polar(trainer());
        for climb in [0.0, 0.5, 1.0, 2.0, 4.0] {
            for (air, k) in [(0.0, 1.0), (-1.0, 1.0), (0.4, 1.0), (0.0, 1.16), (-0.7, 1.16)] {
                let sink = |speed: f32| polar.sink(MetrePerSecond(k * speed), k).unwrap().0 - air;
                let pace = |speed: f32| k * speed / (climb + sink(speed));
                let slowest = polar.least_sink().0.0;
                let speeds =
                    (1500..4375).map(|step| step as f32 * 0.01).filter(|speed| *speed >= slowest);
                let best = speeds.max_by(|a, b| pace(*a).total_cmp(&pace(*b))).unwrap();
                let found = polar.speed_towards(MetrePerSecond(climb), MetrePerSecond(air), k);
                assert_abs_diff_eq!(found.0, best, epsilon = 0.05);
            }
        }
    }

    #[test]
    fn no_speed_to_fly_lies_beyond_the_polar() {
        let polar = polar(trainer());
        let speed = |air: f32| polar.speed_to_fly(MetrePerSecond(air), 1.0).0;
        assert_relative_eq!(speed(20.0), polar.least_sink().0.0);
        assert_relative_eq!(speed(-50.0), 1.25 * 35.0);
    }

    #[test]
    fn mass_and_density_leave_the_glide_ratio_alone_and_dirt_does_not() {
        let light = polar(trainer());
        let heavy =
            polar(PolarSettings { mass_kg: 2.0 * trainer().reference_mass_kg, ..trainer() });
        assert_relative_eq!(
            heavy.best_glide_ratio(),
            light.best_glide_ratio(),
            max_relative = 1e-4
        );
        assert_relative_eq!(
            heavy.least_sink().1.0,
            light.least_sink().1.0 * 2.0_f32.sqrt(),
            max_relative = 1e-4
        );
        // At 3000 m the ratio sqrt(rho0 / rho) is 1.1608 (standard atmosphere): as fast and as
        // steep as IAS 30 m/s.
        let (low, high) = (
            light.sink(MetrePerSecond(30.0), 1.0).unwrap(),
            light.sink(MetrePerSecond(34.824), 1.1608).unwrap(),
        );
        assert_relative_eq!(high.0, low.0 * 1.1608, max_relative = 1e-4);
        let dirty = polar(PolarSettings { contamination_percent: 20.0, ..trainer() });
        assert_relative_eq!(
            dirty.best_glide_ratio(),
            light.best_glide_ratio() / 1.2,
            max_relative = 1e-4
        );
    }

    #[test]
    fn a_turn_costs_what_its_load_factor_makes_of_the_least_sink() {
        let flat = polar(PolarSettings { circling_bank_deg: 0.0, ..trainer() });
        assert_relative_eq!(flat.circling_sink(1.0).0, flat.least_sink().1.0, max_relative = 1e-6);
        // 45 degrees: n = sqrt 2, n^1.5 = 1.6818.
        let steep = polar(PolarSettings { circling_bank_deg: 45.0, ..trainer() });
        assert_relative_eq!(
            steep.circling_sink(1.0).0,
            1.6818 * steep.least_sink().1.0,
            max_relative = 1e-4
        );
    }

    #[test]
    fn below_flying_speed_the_polar_says_nothing() {
        assert_eq!(polar(trainer()).sink(MetrePerSecond(5.0), 1.0), None);
    }

    #[test]
    fn points_that_make_no_polar_are_refused_by_name() {
        let refused = |settings: PolarSettings| Polar::new(&settings).unwrap_err().parameter;
        assert_eq!(refused(PolarSettings { speed_2_mps: 17.0, ..trainer() }), "polar.speed_2_mps");
        assert_eq!(refused(PolarSettings { sink_3_mps: 0.8, ..trainer() }), "polar.sink_3_mps");
        assert_eq!(refused(PolarSettings { mass_kg: f32::NAN, ..trainer() }), "polar.mass_kg");
    }
}
