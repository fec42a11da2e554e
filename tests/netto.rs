//! Netto: the air's own vertical speed, on flights with known air motion.

use crate::air::rms;
use crate::support::{Table, folder, pressure_pa, run, write};
use std::fmt::Write;

/// A polar of our own, given twice: as points for the parabola below, and as settings.
const POINTS: [(f64, f64); 3] = [(18.0, 0.67), (25.0, 0.69), (40.0, 1.62)];

const SETTINGS: &str = "[polar]\nspeed_1_mps = 18\nsink_1_mps = 0.67\nspeed_2_mps = 25\nsink_2_mps \
                        = 0.69\n\
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

/// Three minutes at about `start` metres, indicated 20 to 50 m/s and back, in air that rises as
/// `air(t)`.
fn flight(start: f64, air: impl Fn(f64) -> f64) -> String {
    let mut text = String::from("time_s,static_pa,tas_mps\n");
    let (mut height, dt) = (start, 0.02);
    let indicated = |t: f64| 35.0 - 15.0 * (std::f64::consts::TAU * t / 90.0).cos();
    for step in 0..9_000 {
        let t = f64::from(step) * dt;
        let ratio = (1.225 / density(height)).sqrt();
        let speed = indicated(t) * ratio;
        writeln!(text, "{t:.2},{:.3},{speed:.4}", pressure_pa(height))
            .expect("a string takes every line");
        let next = indicated(t + dt) * ratio;
        // Energy: what the air gives, less the drag; a change of speed costs height.
        height += (air(t) - ratio * sink(indicated(t))) * dt
            - (next * next - speed * speed) / (2.0 * 9.80665);
    }
    text
}

#[test]
fn netto_is_the_airs_own_rise_at_every_speed_and_height() {
    // Required: within 0.1 m/s rms over 20 to 50 m/s and 0 to 5000 m in smooth air.
    let folder = folder();
    let settings = write(&folder, "polar.toml", SETTINGS);
    let rise = |t: f64| 1.0 - (std::f64::consts::TAU * t / 60.0).cos();
    for start in [200.0, 2000.0, 5000.0] {
        let trace = write(&folder, "flight.csv", flight(start, rise));
        let table = Table::read(&run(&["replay", &trace, "--csv", "-", "--settings", &settings]));
        let errors = table.column("time_s").iter().zip(table.column("netto_mps"));
        let error =
            rms(errors.filter(|(time, _)| **time > 5.0).map(|(time, netto)| netto - rise(*time)));
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
    let parked = write(
        &folder,
        "parked.csv",
        "time_s,static_pa,tas_mps\n0,95000,0.5\n1,95000,0.4\n2,95000,0.5\n",
    );
    assert!(
        netto(&["replay", &parked, "--csv", "-", "--settings", &settings])
            .iter()
            .all(|value| value.is_nan())
    );
}

#[test]
fn relative_netto_is_the_air_less_the_sink_of_circling() {
    let folder = folder();
    let settings = write(&folder, "polar.toml", format!("{SETTINGS}circling_bank_deg = 40\n"));
    let trace = write(&folder, "flight.csv", flight(1500.0, |_| 0.0));
    let table = Table::read(&run(&["replay", &trace, "--csv", "-", "--settings", &settings]));
    let least = (1000..4000).map(|speed| sink(f64::from(speed) * 0.01)).fold(f64::MAX, f64::min);
    // Load factor 1 / cos 40 = 1.3054, and its 1.5th power: steady turns, any text on flight
    // mechanics.
    let circling = least * 1.305_407_f64.powf(1.5);
    for ((height, netto), relative) in table
        .column("altitude_m")
        .iter()
        .zip(table.column("netto_mps"))
        .zip(table.column("relative_netto_mps"))
    {
        let expected = circling * (1.225 / density(*height)).sqrt();
        assert!(
            (netto - relative - expected).abs() < 0.002,
            "{netto} and {relative}, {expected} apart"
        );
    }
}

#[test]
fn the_speed_to_fly_is_the_one_that_gets_furthest() {
    // In air that sinks or rises steadily towards a climb of 2 m/s: of all speeds the one at which
    // glide and climb together cover the distance soonest.
    let folder = folder();
    let settings = write(&folder, "polar.toml", format!("{SETTINGS}expected_climb_mps = 2\n"));
    for air in [0.0, -1.0, 1.5] {
        let trace = write(&folder, "flight.csv", flight(2500.0, |_| air));
        let table = Table::read(&run(&["replay", &trace, "--csv", "-", "--settings", &settings]));
        let (height, found) =
            (table.column("altitude_m")[4_000], table.column("speed_to_fly_mps")[4_000]);
        let k = (1.225 / density(height)).sqrt();
        let pace = |speed: f64| k * speed / (2.0 + k * sink(speed) - air);
        let speeds = (2000..5000).map(|speed| f64::from(speed) * 0.01);
        let best = speeds.max_by(|a, b| pace(*a).total_cmp(&pace(*b))).expect("there are speeds");
        assert!(
            (found - best).abs() < 0.5,
            "in air of {air} m/s: {found} m/s, expected {best} m/s"
        );
    }
}

#[test]
fn a_climb_is_told_with_its_gain_and_its_average_since_it_began() {
    // A minute of glide, two in air that rises by 3 m/s, a minute of glide, at changing speeds:
    // what the energy gains is rise less sink, and a pull-up is not a climb.
    let folder = folder();
    let trace = write(
        &folder,
        "flight.csv",
        flight(900.0, |t| if (60.0..140.0).contains(&t) { 3.0 } else { 0.0 }),
    );
    let table =
        Table::read(&run(&["replay", &trace, "--csv", "-", "--settings", "energy=electronic"]));
    let (times, gains) = (table.column("time_s"), table.column("climb_gain_m"));
    let energies: Vec<f64> = table
        .column("altitude_m")
        .iter()
        .zip(table.column("tas_mps"))
        .map(|(height, speed)| height + speed * speed / (2.0 * 9.80665))
        .collect();
    let during: Vec<usize> = (0..times.len()).filter(|&row| !gains[row].is_nan()).collect();
    let (first, last) = (times[during[0]], times[during[during.len() - 1]]);
    assert!(
        (64.0..80.0).contains(&first) && (145.0..175.0).contains(&last),
        "from {first} to {last} s"
    );
    let at = |seconds: f64| (seconds * 50.0) as usize;
    let (gain, average) = (gains[at(139.0)], table.column("climb_average_mps")[at(139.0)]);
    assert!((gain - (energies[at(139.0)] - energies[at(60.0)])).abs() < 4.0, "{gain} m");
    let mean = (energies[at(139.0)] - energies[at(62.0)]) / 77.0;
    assert!((average - mean).abs() < 0.1, "{average} m/s, expected {mean} m/s");
}
