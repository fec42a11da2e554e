//! The glider's polar: its sink in still air at a given airspeed, for any mass, air density and
//! state of the wings.
//!
//! A parabola through three points (speed, sink) measured at a reference mass and sea-level
//! density, or a least-squares fit to four to eight points:
//!
//! ```text
//! S(V) = a + b V + c V^2
//! at mass m            speeds and sinks both scale by sqrt(m / m_ref)
//! at density rho       true speeds and sinks both scale by sqrt(rho0 / rho)
//! contaminated wings   sink grows by the percentage at every speed
//! in a turn            load factor n = 1 / cos(bank): speeds scale by sqrt(n), sinks by n^1.5
//! ```
//!
//! The first two follow from steady gliding flight at one lift coefficient (any text on flight
//! mechanics); the parabola and the percentage are common practice, no source. The parabola is good
//! between its points and a little beyond; below the speed of least sink it turns up as the real
//! polar does near the stall, but not for that physical reason.
//!
//! The best speed between climbs for an expected climb M, in air that rises by w, is where the line
//! from (0, M - w) touches the polar, S'(V) V = S(V) + M - w, which for a parabola is
//! `V = sqrt((a + M - w) / c)`; M = w = 0 gives the best glide. At height, where speeds and sinks
//! are all larger by `k = sqrt(rho0 / rho)`, the equivalent speed is that of (M - w) / k. The
//! tangent is common practice, no source.

use crate::error::{Expected, SettingsError};
use crate::rows::{Group, Kind};
use crate::units::{MetrePerSecond, larger, smaller};
use heapless::Vec;

/// Below this share of the speed of least sink no glider flies steadily, and the polar gives no
/// value.
const SLOWEST: f32 = 0.7;
/// Above this multiple of the last point's speed the parabola no longer describes a glider, so no
/// speed to fly is given there (a guess).
const FASTEST: f32 = 1.25;
/// Load factors for which the polar's law is used.
const LEAST_LOAD: f32 = 0.5;
const MOST_LOAD: f32 = 4.0;
/// The fewest points that make a parabola.
const LEAST_POINTS: usize = 3;
/// The most points that a polar may have.
pub(crate) const MOST_POLAR_POINTS: usize = 8;

setting_entry! {
    /// A point of the polar: indicated airspeed and sink, at sea-level density.
    pub struct PolarPoint {
        speed_mps: "m/s", 10.0..=80.0, "indicated airspeed";
        sink_mps: "m/s", 0.2..=10.0, "sink, positive";
    }
}

setting_group! {
    /// The glider's polar: its points, and today's mass and wing condition.
    pub struct PolarSettings = "polar.",
        "The glider's polar, without which there is neither netto (the air's own vertical speed) \
        nor a speed to fly. This one is of a glider of our own invention, best glide about 37: put \
        your own in its place." {
        points: Vec<PolarPoint, MOST_POLAR_POINTS> = invented_points(), "",
            Kind::list::<PolarPoint>(LEAST_POINTS, MOST_POLAR_POINTS),
            "Points of the polar, each faster than the one before: three give a parabola exactly, \
            more the parabola of least squares.";
        reference_mass_kg: f32 = 360.0, "kg", Kind::number(100.0, 1000.0),
            "Mass at which the points were measured.";
        empty_mass_kg: f32 = 360.0, "kg", Kind::number(100.0, 1000.0),
            "Mass today without ballast: the glider and whoever sits in it.";
        ballast_kg: f32 = 0.0, "kg", Kind::number(0.0, 500.0),
            "Water ballast today.";
        contamination_percent: f32 = 0.0, "%", Kind::number(0.0, 50.0),
            "How much more it sinks with insects or rain on the wings.";
        circling_bank_deg: f32 = 40.0, "deg", Kind::number(0.0, 60.0),
            "Bank in thermals, for relative netto.";
        expected_climb_mps: f32 = 1.0, "m/s", Kind::number(0.0, 10.0),
            "Climb expected in the next thermal, for the speed to fly.";
    }
}

fn invented_points() -> Vec<PolarPoint, MOST_POLAR_POINTS> {
    [[20.0, 0.67], [27.0, 0.74], [42.0, 1.85]]
        .map(|[speed_mps, sink_mps]| PolarPoint { speed_mps, sink_mps })
        .into_iter()
        .collect()
}

impl PolarSettings {
    /// Mass today, kg.
    pub fn mass_kg(&self) -> f32 {
        self.empty_mass_kg + self.ballast_kg
    }
}

/// The polar ready to use: with ballast and contaminated wings, at sea-level density.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Polar {
    a: f32,
    b: f32,
    c: f32,
    /// Sink in a turn at the set bank, as a multiple of the least sink in straight flight.
    circling: f32,
    /// The fastest speed for which the parabola is valid, m/s.
    fastest_mps: f32,
    /// Climb expected in the next thermal, m/s.
    expected_climb_mps: f32,
}

impl Polar {
    /// Works out the parabola.
    ///
    /// # Errors
    /// A setting out of range, points out of order, or points that cannot lie on a polar.
    pub fn new(settings: &PolarSettings) -> Result<Self, SettingsError> {
        settings.check_ranges()?;
        check_order(settings)?;
        let [a, b, c] = parabola(&settings.points);
        let heavier = f64::from(libm::sqrtf(settings.mass_kg() / settings.reference_mass_kg));
        let dirtier = 1.0 + f64::from(settings.contamination_percent) / 100.0;
        let bank = settings.circling_bank_deg.to_radians();
        let load = 1.0 / libm::cosf(bank);
        let last = settings.points.last();
        let polar = Self {
            a: (a * heavier * dirtier) as f32,
            b: (b * dirtier) as f32,
            c: (c * dirtier / heavier) as f32,
            circling: load * libm::sqrtf(load),
            fastest_mps: FASTEST * last.map_or(0.0, |point| point.speed_mps) * heavier as f32,
            expected_climb_mps: settings.expected_climb_mps,
        };
        let least = polar.least_sink();
        if c > 0.0 && b < 0.0 && least.1.0 > 0.0 { Ok(polar) } else { Err(bends_wrong(settings)) }
    }

    /// Sink, positive, at true airspeed `speed` where density is `rho0 / density_ratio`; `None`
    /// below flying speed.
    ///
    /// `density_ratio` is `sqrt(rho0 / rho)`: 1 at sea level, 1.16 at 3000 m.
    pub fn sink(&self, speed: MetrePerSecond, density_ratio: f32) -> Option<MetrePerSecond> {
        self.sink_under(1.0, speed, density_ratio)
    }

    /// The same under a load factor: in a turn or a pull-up the wing carries `load` times the
    /// weight, and at one lift coefficient speeds grow by its root and sinks by that cubed.
    ///
    /// Load factors below 0.5 and above 4 count as these: beyond, no polar knows (guesses).
    pub fn sink_under(
        &self,
        load: f32,
        speed: MetrePerSecond,
        density_ratio: f32,
    ) -> Option<MetrePerSecond> {
        let load = smaller(larger(load, LEAST_LOAD), MOST_LOAD);
        // Without an inertial sensor it is always 1, and a root is dear.
        let root = if load == 1.0 { 1.0 } else { libm::sqrtf(load) };
        let equivalent = speed.0 / (density_ratio * root);
        let (slowest, _) = self.least_sink();
        if equivalent < SLOWEST * slowest.0 {
            return None;
        }
        Some(MetrePerSecond(density_ratio * load * root * self.at(equivalent)))
    }

    /// Speed of least sink and that sink, at sea-level density.
    pub(crate) fn least_sink(&self) -> (MetrePerSecond, MetrePerSecond) {
        let speed = -self.b / (2.0 * self.c);
        (MetrePerSecond(speed), MetrePerSecond(self.at(speed)))
    }

    /// Sink in a turn at the set bank and its best speed, where density is `rho0 /
    /// density_ratio^2`.
    pub(crate) fn circling_sink(&self, density_ratio: f32) -> MetrePerSecond {
        MetrePerSecond(density_ratio * self.circling * self.least_sink().1.0)
    }

    /// Speed to fly (equivalent airspeed) for the expected climb in the settings, in air that rises
    /// at `air`.
    ///
    /// From the speed of least sink up to 1.25 times the third point's speed.
    pub(crate) fn speed_to_fly(&self, air: MetrePerSecond, density_ratio: f32) -> MetrePerSecond {
        self.speed_towards(MetrePerSecond(self.expected_climb_mps), air, density_ratio)
    }

    /// Speed to fly (equivalent airspeed) for an expected `climb`; see [`Polar::speed_to_fly`].
    pub(crate) fn speed_towards(
        &self,
        climb: MetrePerSecond,
        air: MetrePerSecond,
        density_ratio: f32,
    ) -> MetrePerSecond {
        let (slowest, _) = self.least_sink();
        let squared = (self.a + (climb.0 - air.0) / density_ratio) / self.c;
        let speed = if squared > 0.0 { libm::sqrtf(squared) } else { 0.0 };
        // In air that rises faster than the expected climb, the tangent does not touch the polar;
        // the speed of least sink is the slowest.
        let fast_enough = if speed > slowest.0 { speed } else { slowest.0 };
        MetrePerSecond(if fast_enough < self.fastest_mps { fast_enough } else { self.fastest_mps })
    }

    fn at(&self, speed_mps: f32) -> f32 {
        self.a + speed_mps * (self.b + self.c * speed_mps)
    }
}

/// `[a, b, c]` of the parabola `a + b V + c V^2` through three points, or the least-squares fit to
/// more points.
///
/// In double precision because it is done once. Three points by Newton's divided differences, more
/// by [`least_squares`].
fn parabola(points: &[PolarPoint]) -> [f64; 3] {
    let at = |point: &PolarPoint| (f64::from(point.speed_mps), f64::from(point.sink_mps));
    let [(x1, y1), (x2, y2), (x3, y3)] = match points {
        [one, two, three] => [at(one), at(two), at(three)],
        _ => return least_squares(points.iter().map(at)),
    };
    let (first, second) = ((y2 - y1) / (x2 - x1), (y3 - y2) / (x3 - x2));
    let c = (second - first) / (x3 - x1);
    let b = first - c * (x1 + x2);
    [y1 - x1 * (b + c * x1), b, c]
}

/// The least-squares parabola, using polynomials that are orthogonal over the points (Forsythe
/// 1957, from memory): 1, V - m, and (V - m)^2 - s (V - m) - q.
fn least_squares(points: impl Iterator<Item = (f64, f64)> + Clone) -> [f64; 3] {
    let mean = |of: &dyn Fn(f64, f64) -> f64| {
        let (sum, count) =
            points.clone().fold((0.0, 0.0), |(sum, count), (x, y)| (sum + of(x, y), count + 1.0));
        sum / count
    };
    let m = mean(&|x, _| x);
    let q = mean(&|x, _| (x - m) * (x - m));
    let s = mean(&|x, _| (x - m) * (x - m) * (x - m)) / q;
    let bend = |x: f64| (x - m) * (x - m) - s * (x - m) - q;
    let level = mean(&|_, y| y);
    let slope = mean(&|x, y| y * (x - m)) / q;
    let c = mean(&|x, y| y * bend(x)) / mean(&|x, _| bend(x) * bend(x));
    let b = slope - c * (2.0 * m + s);
    [level - slope * m + c * (m * m + s * m - q), b, c]
}

/// What to say of points through which no polar goes.
fn bends_wrong(settings: &PolarSettings) -> SettingsError {
    let sink = |back| settings.points.iter().nth_back(back).map_or(0.0, |point| point.sink_mps);
    let (before, value) = (sink(1), sink(0));
    let expected = if value < before {
        Expected::AtLeast(before, "the points must bend as a polar does")
    } else {
        Expected::Shape("points that bend as a polar does: beyond the least sink, ever steeper")
    };
    let entry = Some(("polar.points", settings.points.len()));
    SettingsError { parameter: "sink_mps", entry, value, expected }
}

fn check_order(settings: &PolarSettings) -> Result<(), SettingsError> {
    for (index, pair) in settings.points.windows(2).enumerate() {
        let [before, point] = pair else { continue };
        if point.speed_mps <= before.speed_mps {
            return Err(SettingsError {
                parameter: "speed_mps",
                entry: Some(("polar.points", index + 2)),
                value: point.speed_mps,
                expected: Expected::MoreThanBefore(before.speed_mps),
            });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    fn with_points(points: &[[f32; 2]]) -> PolarSettings {
        let point = |&[speed_mps, sink_mps]: &[f32; 2]| PolarPoint { speed_mps, sink_mps };
        PolarSettings { points: points.iter().map(point).collect(), ..PolarSettings::default() }
    }

    /// A training glider of our own: best glide 26.4 to 1.
    fn trainer() -> PolarSettings {
        with_points(&[[18.0, 0.88], [24.0, 0.91], [35.0, 1.89]])
    }

    /// Distance for height in still air, the same at every density.
    fn best_glide_ratio(polar: &Polar) -> f32 {
        let speed = polar.speed_towards(MetrePerSecond(0.0), MetrePerSecond(0.0), 1.0);
        speed.0 / polar.at(speed.0)
    }

    fn polar(settings: PolarSettings) -> Polar {
        Polar::new(&settings).unwrap()
    }

    #[test]
    fn the_parabola_goes_through_its_points() {
        let (settings, polar) = (trainer(), polar(trainer()));
        for PolarPoint { speed_mps, sink_mps } in settings.points {
            assert_relative_eq!(
                polar.sink(MetrePerSecond(speed_mps), 1.0).unwrap().0,
                sink_mps,
                max_relative = 1e-5
            );
        }
    }

    #[test]
    fn a_low_performance_glider_covers_five_miles_per_thousand_feet() {
        // Common practice, no source: 5 statute miles while it descends 1000 ft, a glide ratio of
        // 26.4.
        let miles = best_glide_ratio(&polar(trainer())) * 1000.0 * 0.3048 / 1609.344;
        assert_abs_diff_eq!(miles, 5.0, epsilon = 0.05);
    }

    #[test]
    fn the_best_speed_is_where_the_tangent_touches() {
        // Slow but simple reference: among all speeds, the one at which a climb of M and the glide
        // after it cover the most distance in a given time, V M / (M + S(V)); for M = 0 the one
        // with the best V / S.
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
    fn mass_and_density_do_not_change_the_glide_ratio_but_dirt_does() {
        let light = polar(trainer());
        let heavy = polar(PolarSettings { ballast_kg: trainer().reference_mass_kg, ..trainer() });
        assert_relative_eq!(
            best_glide_ratio(&heavy),
            best_glide_ratio(&light),
            max_relative = 1e-4
        );
        assert_relative_eq!(
            heavy.least_sink().1.0,
            light.least_sink().1.0 * 2.0_f32.sqrt(),
            max_relative = 1e-4
        );
        // At 3000 m the ratio sqrt(rho0 / rho) is 1.1608 (standard atmosphere): that much faster,
        // with the glide ratio of IAS 30 m/s.
        let (low, high) = (
            light.sink(MetrePerSecond(30.0), 1.0).unwrap(),
            light.sink(MetrePerSecond(34.824), 1.1608).unwrap(),
        );
        assert_relative_eq!(high.0, low.0 * 1.1608, max_relative = 1e-4);
        let dirty = polar(PolarSettings { contamination_percent: 20.0, ..trainer() });
        assert_relative_eq!(
            best_glide_ratio(&dirty),
            best_glide_ratio(&light) / 1.2,
            max_relative = 1e-4
        );
    }

    #[test]
    fn sink_in_a_turn_is_the_least_sink_times_the_load_factor_term() {
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
    fn under_load_sink_is_that_of_the_same_lift_coefficient() {
        let polar = polar(trainer());
        for bank_deg in [0.0_f32, 30.0, 40.0, 60.0] {
            let load = 1.0 / bank_deg.to_radians().cos();
            for speed in [22.0, 25.0, 30.0, 38.0] {
                // Points (V sqrt n, S n^1.5) of the polar in a turn, from any point of it in
                // straight flight; here at 3000 m, where the ratio is 1.1608.
                let straight = polar.sink(MetrePerSecond(speed), 1.1608).unwrap();
                let turning = MetrePerSecond(speed * load.sqrt());
                let found = polar.sink_under(load, turning, 1.1608).unwrap();
                assert_relative_eq!(found.0, straight.0 * load.powf(1.5), max_relative = 1e-5);
            }
        }
        // What is said of a turn of 40 degrees at 27 m/s without the load factor is this much low.
        let (load, speed) = (1.0 / 40.0_f32.to_radians().cos(), MetrePerSecond(27.0));
        let low = polar.sink_under(load, speed, 1.0).unwrap().0 - polar.sink(speed, 1.0).unwrap().0;
        assert!((0.1..0.6).contains(&low), "{low}");
        // No load, or none that is a number, is no reason to have no reading.
        for load in [-1.0, 0.0, 0.5, f32::NAN] {
            let found = polar.sink_under(load, speed, 1.0).unwrap();
            assert_eq!(found, polar.sink_under(0.5, speed, 1.0).unwrap(), "{load}");
        }
    }

    #[test]
    fn below_flying_speed_the_polar_gives_no_value() {
        assert_eq!(polar(trainer()).sink(MetrePerSecond(5.0), 1.0), None);
    }

    #[test]
    fn points_that_cannot_be_a_polar_are_rejected_by_name() {
        let refused =
            |settings: PolarSettings| std::format!("{}", Polar::new(&settings).unwrap_err());
        assert_eq!(
            refused(with_points(&[[18.0, 0.88], [17.0, 0.91], [35.0, 1.89]])),
            "polar.points, entry 2: speed_mps is 17, expected more than 18, the entry before"
        );
        assert_eq!(
            refused(with_points(&[[18.0, 0.88], [24.0, 0.91], [35.0, 0.8]])),
            "polar.points, entry 3: sink_mps is 0.8, expected at least 0.91 (the points must bend \
             as a polar does)"
        );
        assert_eq!(
            refused(with_points(&[[20.0, 0.7], [30.0, 1.5], [40.0, 1.6]])),
            "polar.points, entry 3: sink_mps is 1.6, expected points that bend as a polar does: \
             beyond the least sink, ever steeper"
        );
        assert_eq!(
            refused(with_points(&[[18.0, 0.88], [24.0, 0.91]])),
            "polar.points is 2, expected at least 3 (entries in the list)"
        );
        assert_eq!(
            refused(PolarSettings { empty_mass_kg: f32::NAN, ..trainer() }),
            "polar.empty_mass_kg is NaN, expected 100 to 1000"
        );
    }

    #[test]
    fn more_than_three_points_give_the_least_squares_parabola() {
        // numpy.polyfit of these six points, degree 2, at 20, 30 and 38 m/s.
        let settings = with_points(&[
            [18.0, 0.88],
            [22.0, 0.86],
            [24.0, 0.91],
            [28.0, 1.12],
            [35.0, 1.89],
            [40.0, 2.55],
        ]);
        let polar = polar(settings);
        for (speed, sink) in [(20.0, 0.849_128), (30.0, 1.295_852), (38.0, 2.255_085)] {
            let found = polar.sink(MetrePerSecond(speed), 1.0).unwrap().0;
            assert_abs_diff_eq!(found, sink, epsilon = 1.0e-5);
        }
    }
}
