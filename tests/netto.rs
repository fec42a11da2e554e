//! Netto: the air's own vertical speed, from flights whose air is known.

use crate::air::rms;
use crate::support::{Table, folder, pressure_pa, run, write};
use std::fmt::Write;

/// A polar of our own, given twice: as points for the parabola below, and as settings.
const POINTS: [(f64, f64); 3] = [(18.0, 0.67), (25.0, 0.69), (40.0, 1.62)];

const SETTINGS: &str = "[polar]\nspeed_1_mps = 18\nsink_1_mps = 0.67\nspeed_2_mps = 25\nsink_2_mps = 0.69\n\
                        speed_3_mps = 40\nsink_3_mps = 1.62\n";

/// Lagrange's form of the parabola through the three points.
fn sink(speed: f64) -> f64 {
    let [(x1, y1), (x2, y2), (x3, y3)] = POINTS;
    y1 * (speed - x2) * (speed - x3) / ((x1 - x2) * (x1 - x3))
        + y2 * (speed - x1) * (speed - x3) / ((x2 - x1) * (x2 - x3))
        + y3 * (speed - x1) * (speed - x2) / ((x3 - x1) * (x3 - x2))
}

/// Density of the standard atmosphere below 11 km, kg/m3.
fn density(height: f64) -> f64 {
    pressure_pa(height) / (287.05287 * (288.15 - 0.0065 * height))
}

/// Three minutes at about `start` metres, indicated 20 to 50 m/s and back, in air that rises as `air(t)`.
fn flight(start: f64, air: impl Fn(f64) -> f64) -> String {
    let mut text = String::from("time_s,static_pa,tas_mps\n");
    let (mut height, dt) = (start, 0.02);
    let indicated = |t: f64| 35.0 - 15.0 * (std::f64::consts::TAU * t / 90.0).cos();
    for step in 0..9_000 {
        let t = f64::from(step) * dt;
        let ratio = (1.225 / density(height)).sqrt();
        let speed = indicated(t) * ratio;
        writeln!(text, "{t:.2},{:.3},{speed:.4}", pressure_pa(height)).expect("a string takes every line");
        let next = indicated(t + dt) * ratio;
        // Energy: what the air gives, less the drag; a change of speed is paid in height.
        height += (air(t) - ratio * sink(indicated(t))) * dt - (next * next - speed * speed) / (2.0 * 9.80665);
    }
    text
}

#[test]
fn netto_is_the_airs_own_rise_at_every_speed_and_height() {
    // Asked for: within 0.1 m/s rms over 20 to 50 m/s and 0 to 5000 m in smooth air.
    let folder = folder();
    let settings = write(&folder, "polar.toml", SETTINGS);
    let rise = |t: f64| 1.0 - (std::f64::consts::TAU * t / 60.0).cos();
    for start in [200.0, 2000.0, 5000.0] {
        let trace = write(&folder, "flight.csv", flight(start, rise));
        let table = Table::read(&run(&["replay", &trace, "--csv", "-", "--settings", &settings]));
        let errors = table.column("time_s").iter().zip(table.column("netto_mps"));
        let error = rms(errors.filter(|(time, _)| **time > 5.0).map(|(time, netto)| netto - rise(*time)));
        assert!(error < 0.1, "at {start} m: {error} m/s rms");
    }
}

#[test]
fn netto_is_absent_without_a_polar_without_airspeed_and_on_the_ground() {
    let folder = folder();
    let settings = write(&folder, "polar.toml", SETTINGS);
    let trace = write(&folder, "flight.csv", flight(500.0, |_| 0.0));
    let netto = |args: &[&str]| Table::read(&run(args)).column("netto_mps").to_vec();
    assert!(netto(&["replay", &trace, "--csv", "-"]).iter().all(|value| value.is_nan()));
    let bare = ["replay", &trace, "--csv", "-", "--settings", &settings, "--energy", "none"];
    assert!(netto(&bare).iter().all(|value| value.is_nan()));
    let parked = write(&folder, "parked.csv", "time_s,static_pa,tas_mps\n0,95000,0.5\n1,95000,0.4\n2,95000,0.5\n");
    assert!(netto(&["replay", &parked, "--csv", "-", "--settings", &settings]).iter().all(|value| value.is_nan()));
}
