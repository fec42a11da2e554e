//! The core against figures published by others. Each check names its source; none was made by this
//! project.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use chirrup_core::stages::{
    SEA_LEVEL_PRESSURE, SEA_LEVEL_TEMPERATURE, density, dynamic_from_true, equivalent_from_dynamic,
    kinetic_height, probe_height, temperature_at, true_from_calibrated, true_from_dynamic,
    true_from_equivalent,
};
use chirrup_core::{Metre, MetrePerSecond, Pascal, pressure_altitude, pressure_at};

/// ICAO Doc 7488/3, ISO 2533:1975, US Standard Atmosphere 1976: geopotential altitude m,
/// temperature K, pressure Pa, density kg/m3, pressure gradient Pa/m.
#[expect(clippy::excessive_precision, reason = "as printed")]
const STANDARD_ATMOSPHERE: [(f32, f32, f32, f32, f32); 17] = [
    (-1000.0, 294.65, 113_929.09, 1.346996, -13.2095),
    (-500.0, 291.40, 107_477.51, 1.284891, -12.6005),
    (0.0, 288.15, 101_325.00, 1.225000, -12.0131),
    (500.0, 284.90, 95_460.84, 1.167269, -11.4470),
    (1000.0, 281.65, 89_874.56, 1.111643, -10.9015),
    (1500.0, 278.40, 84_555.99, 1.058067, -10.3761),
    (2000.0, 275.15, 79_495.20, 1.006490, -9.8703),
    (3000.0, 268.65, 70_108.53, 0.909122, -8.9154),
    (4000.0, 262.15, 61_640.21, 0.819129, -8.0329),
    (5000.0, 255.65, 54_019.89, 0.736116, -7.2188),
    (6000.0, 249.15, 47_181.00, 0.659697, -6.4694),
    (8000.0, 236.15, 35_599.79, 0.525167, -5.1501),
    (10_000.0, 223.15, 26_436.24, 0.412706, -4.0473),
    (11_000.0, 216.65, 22_632.04, 0.363918, -3.5688),
    (12_000.0, 216.65, 19_330.38, 0.310828, -3.0482),
    (15_000.0, 216.65, 12_044.55, 0.193673, -1.8993),
    (20_000.0, 216.65, 5474.88, 0.088035, -0.8633),
];

#[test]
fn the_standard_atmosphere_is_the_icaos() {
    for (altitude, temperature, pressure, rho, gradient) in STANDARD_ATMOSPHERE {
        // The table's pressure ends at 0.01 Pa, worth 5 mm at 15 000 m; the f32 adds its own 1.5 cm
        // at most.
        assert_abs_diff_eq!(pressure_altitude(Pascal(pressure)).0, altitude, epsilon = 0.025);
        assert_relative_eq!(pressure_at(Metre(altitude)).0, pressure, max_relative = 2e-6);
        assert_abs_diff_eq!(temperature_at(Metre(altitude)).0, temperature, epsilon = 0.001);
        // The table's density ends at 1e-6 kg/m3.
        let found = density(Pascal(pressure), temperature_at(Metre(altitude))).0;
        assert_abs_diff_eq!(found, rho, epsilon = 0.5e-6 + 1e-6 * rho);
        if altitude == 11_000.0 {
            continue; // The gradient's middle would lie across the tropopause.
        }
        let measured =
            (pressure_at(Metre(altitude + 50.0)).0 - pressure_at(Metre(altitude - 50.0)).0) / 100.0;
        assert_relative_eq!(measured, gradient, max_relative = 2e-4);
    }
}

#[test]
fn indicated_airspeed_has_the_dynamic_pressure_of_bernoullis_relation() {
    // q = 1/2 rho0 V^2 (Bernoulli), rho0 = 1.225 kg/m3.
    for (speed, dynamic) in
        [(10.0, 61.25), (20.0, 245.0), (30.0, 551.25), (40.0, 980.0), (50.0, 1531.25)]
    {
        assert_relative_eq!(equivalent_from_dynamic(Pascal(dynamic)).0, speed, max_relative = 1e-6);
    }
}

#[test]
fn true_airspeed_grows_with_the_root_of_density() {
    // TAS = IAS sqrt(rho0 / rho), the standard atmosphere's densities: 30 m/s at 3000 m and 6000 m.
    for (altitude, expected) in [(3000.0, 34.824), (6000.0, 40.881)] {
        let (pressure, temperature) =
            (pressure_at(Metre(altitude)), temperature_at(Metre(altitude)));
        let speed = true_from_equivalent(MetrePerSecond(30.0), density(pressure, temperature));
        assert_relative_eq!(speed.0, expected, max_relative = 2e-5);
        // Calibrated airspeed, compressible: less than 0.15 % apart at these speeds and heights.
        let calibrated = true_from_calibrated(MetrePerSecond(30.0), pressure, temperature);
        assert_relative_eq!(calibrated.0, expected, max_relative = 1.5e-3);
    }
}

#[test]
fn impact_pressure_at_50_mps_is_that_of_compressible_flow() {
    // q_c / p = (1 + 0.2 M^2)^3.5 - 1: 1539.5 Pa at 50 m/s and sea level, 0.5 % above the
    // incompressible 1531.25 Pa.
    let dynamic =
        dynamic_from_true(MetrePerSecond(50.0), SEA_LEVEL_PRESSURE, SEA_LEVEL_TEMPERATURE);
    assert_abs_diff_eq!(dynamic.0, 1539.5, epsilon = 0.05);
    let speed = true_from_dynamic(Pascal(1539.5), SEA_LEVEL_PRESSURE, SEA_LEVEL_TEMPERATURE);
    assert_abs_diff_eq!(speed.0, 50.0, epsilon = 0.001);
    // As documented at equivalent_from_dynamic.
    assert_relative_eq!(
        equivalent_from_dynamic(Pascal(1539.5)).0 / 50.0,
        1.0027,
        max_relative = 1e-4
    );
}

#[test]
fn a_frictionless_zoom_gains_the_difference_of_the_kinetic_heights() {
    // (50^2 - 25^2) / (2 x 9.80665) = 95.60 m (mechanics).
    let gained = kinetic_height(MetrePerSecond(50.0)).0 - kinetic_height(MetrePerSecond(25.0)).0;
    assert_abs_diff_eq!(gained, 95.60, epsilon = 0.01);
}

#[test]
fn a_total_energy_probe_reads_the_static_pressure_less_the_dynamic_pressure() {
    // A probe of pressure coefficient -1 gives p - q. At 30 m/s that is the kinetic height of
    // 45.89 m higher, within the 1 % by which p - q is not linear in height.
    for altitude in [0.0, 2000.0, 5000.0] {
        let (pressure, temperature) =
            (pressure_at(Metre(altitude)), temperature_at(Metre(altitude)));
        let q = 0.5 * density(pressure, temperature).0 * 900.0;
        assert_relative_eq!(
            probe_height(Pascal(pressure.0 - q), Metre(altitude)).0,
            45.89,
            max_relative = 0.01
        );
    }
}
