//! Total energy on flights of a point mass without drag in still air, where every reading other
//! than zero is false.
//!
//! The flights are integrated here, in double precision, from the equations of motion alone:
//!
//! ```text
//! dV/dt = -g sin(gamma)      dgamma/dt = g (n - cos(gamma)) / V      dh/dt = V sin(gamma)
//! ```

use crate::air::{rms, white};
use crate::support::{Table, folder, pressure_pa, run, write};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use std::fmt::Write;

const G: f64 = 9.80665;
const DT: f64 = 0.001;

/// Speed and height at every millisecond.
struct Flight(Vec<(f64, f64)>);

impl Flight {
    /// Level for 10 s, a pull-up from `from` m/s to 25 degrees or so, a push-over to level flight
    /// at 25 m/s, level again.
    fn zoom(start_m: f64, from: f64) -> Self {
        // How long to hold the climb so as to arrive at 25 m/s: found by halving.
        let (mut short, mut long) = (0.0, 6.0);
        for _ in 0..60 {
            let hold = 0.5 * (short + long);
            let slow =
                Self::pulled_up(start_m, from, hold).0.last().expect("a flight has moments").0
                    < 25.0;
            if slow { long = hold } else { short = hold }
        }
        Self::pulled_up(start_m, from, 0.5 * (short + long))
    }

    fn pulled_up(start_m: f64, from: f64, hold_s: f64) -> Self {
        let (mut v, mut gamma, mut h) = (from, 0.0_f64, start_m);
        let mut moments = vec![(v, h); 10_000];
        let mut held = 0.0;
        let mut pushing = false;
        while !(pushing && gamma <= 0.0) {
            let n = if pushing {
                0.2
            } else if gamma < 0.6 && held == 0.0 {
                2.0
            } else {
                held += DT;
                pushing = held >= hold_s;
                gamma.cos()
            };
            // The midpoint rule: an error of DT^2.
            let slope =
                |v: f64, gamma: f64| (-G * gamma.sin(), G * (n - gamma.cos()) / v, v * gamma.sin());
            let (dv, dgamma, _) = slope(v, gamma);
            let (dv, dgamma, dh) = slope(v + 0.5 * DT * dv, gamma + 0.5 * DT * dgamma);
            (v, gamma, h) = (v + DT * dv, gamma + DT * dgamma, h + DT * dh);
            moments.push((v, h));
        }
        moments.extend(vec![(v, h); 15_000]);
        Self(moments)
    }

    /// Speed and height `late` seconds before the moment `t`.
    fn at(&self, t: f64, late: f64) -> (f64, f64) {
        self.0[(((t - late) / DT).round().max(0.0)) as usize]
    }
}

/// What the sensors are like.
#[derive(Clone, Copy, Default)]
struct Sensors {
    noise_pa: f64,
    static_late_s: f64,
    pitot_late_s: f64,
    /// Of the whole atmosphere above the standard's, in kelvin.
    warmer_k: f64,
}

/// Static pressure at true height `h` in an atmosphere warmer than the standard's by `warmer`
/// everywhere: the hydrostatic equation, dp/dh = -g p / (R T), integrated in closed form for a
/// linear lapse.
fn static_pa(h: f64, warmer: f64) -> f64 {
    if warmer == 0.0 {
        pressure_pa(h)
    } else {
        101_325.0 * (1.0 - 0.0065 * h / (288.15 + warmer)).powf(G / (287.05287 * 0.0065))
    }
}

/// Impact pressure of compressible flow at true airspeed `v` (NACA Report 837), at static pressure
/// `p` and temperature `t`.
fn impact_pa(v: f64, p: f64, t: f64) -> f64 {
    p * ((1.0 + 0.2 * v * v / (1.4 * 287.05287 * t)).powf(3.5) - 1.0)
}

/// The flight as a trace at 50 Hz with a pitot, a probe of coefficient -1, and a thermometer where
/// it is warmer.
fn trace(flight: &Flight, sensors: Sensors) -> String {
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    let mut noise = || sensors.noise_pa * white(&mut rng);
    let mut text = String::from("time_s,static_pa,dynamic_pa,te_pa,oat_c\n");
    for step in 0..flight.0.len() / 20 {
        let t = step as f64 * 0.02;
        let kelvin = |h: f64| 288.15 + sensors.warmer_k - 0.0065 * h;
        let dynamic = |(v, h): (f64, f64)| impact_pa(v, static_pa(h, sensors.warmer_k), kelvin(h));
        let (now, then) = (flight.at(t, sensors.static_late_s), flight.at(t, sensors.pitot_late_s));
        let (p, q) = (static_pa(now.1, sensors.warmer_k) + noise(), dynamic(then) + noise());
        // A probe of coefficient -1: p - 1/2 rho V^2 (published-values, section 4).
        let (v, h) = flight.at(t, 0.0);
        let still = static_pa(h, sensors.warmer_k);
        let te = still - 0.5 * still / (287.05287 * kelvin(h)) * v * v + noise();
        writeln!(text, "{t:.2},{p:.4},{q:.4},{te:.4},{:.3}", kelvin(now.1) - 273.15)
            .expect("a string takes every line");
    }
    text
}

/// The table of readings, without the first five seconds.
struct Readings(Table, usize);

impl Readings {
    fn of(text: &str, settings: &str) -> Self {
        let folder = folder();
        let trace = write(&folder, "zoom.csv", text);
        let table = Table::read(&run(&["replay", &trace, "--csv", "-", "--settings", settings]));
        Self(table, 250)
    }

    fn column(&self, name: &str) -> &[f64] {
        &self.0.column(name)[self.1..]
    }

    fn worst(&self, name: &str) -> f64 {
        self.column(name).iter().fold(0.0, |worst: f64, value| worst.max(value.abs()))
    }
}

#[test]
fn the_zoom_of_these_tests_is_the_one_of_the_published_values() {
    // (2500 - 625) / (2 * 9.80665) = 95.60 m (published-values, section 4: mechanics).
    let flight = Flight::zoom(1000.0, 50.0);
    let (v, h) = *flight.0.last().expect("a flight has moments");
    assert!((v - 25.0).abs() < 0.01 && (h - 1095.60).abs() < 0.02, "{v} m/s, {h} m");
}

#[test]
fn a_zoom_reads_nothing_with_ideal_sensors_and_little_with_noisy_ones() {
    for start_m in [300.0, 1000.0, 4000.0] {
        let flight = Flight::zoom(start_m, 50.0);
        let ideal = Readings::of(&trace(&flight, Sensors::default()), "energy=electronic");
        let (bare, compensated) =
            (ideal.worst("vertical_speed_mps"), ideal.worst("te_vertical_speed_mps"));
        assert!(bare > 15.0, "uncompensated only {bare} m/s from {start_m} m");
        assert!(compensated < 0.05, "{compensated} m/s from {start_m} m");
        let noisy = trace(&flight, Sensors { noise_pa: 1.2, ..Sensors::default() });
        let noisy = Readings::of(&noisy, "energy=electronic");
        let error = rms(noisy.column("te_vertical_speed_mps").iter().copied());
        assert!(error < 0.3, "{error} m/s rms with 1.2 Pa of noise from {start_m} m");
    }
}

#[test]
fn probe_and_airspeed_agree_and_more_so_where_both_are_known() {
    for start_m in [300.0, 4000.0] {
        let text = trace(&Flight::zoom(start_m, 50.0), Sensors::default());
        let bare = Readings::of(&text, "energy=probe").worst("vertical_speed_mps");
        let both = Readings::of(&text, "energy=probe").worst("te_vertical_speed_mps");
        // The same without the airspeed: what the probe says alone.
        let alone: String = text
            .lines()
            .map(|line| {
                let fields: Vec<&str> = line.split(',').collect();
                format!("{},{},{},{}\n", fields[0], fields[1], fields[3], fields[4])
            })
            .collect();
        let alone = Readings::of(&alone, "energy=probe").worst("te_vertical_speed_mps");
        // The electronic reading is within 0.05 m/s of zero, so what the probe reads is where they
        // differ.
        assert!(alone < 0.015 * bare, "alone {alone} m/s of {bare} m/s from {start_m} m");
        assert!(alone > 5.0 * both, "with the airspeed {both} m/s, alone {alone} m/s");
    }
}

#[test]
fn warm_air_is_compensated_too() {
    let flight = Flight::zoom(1000.0, 50.0);
    let text = trace(&flight, Sensors { warmer_k: 20.0, ..Sensors::default() });
    for source in
        ["energy=electronic", "energy=probe", "energy=electronic,vertical_speed=corrected"]
    {
        let worst = Readings::of(&text, source).worst("te_vertical_speed_mps");
        assert!(worst < 0.06, "{source}: {worst} m/s");
    }
}

#[test]
fn a_line_that_is_100_ms_late_shows_a_false_metre_a_second_and_its_setting_takes_it_away() {
    let flight = Flight::zoom(1000.0, 50.0);
    for (static_late_s, pitot_late_s, setting) in
        [(0.0, 0.1, "airspeed_delay_ms=100"), (0.1, 0.0, "static_delay_ms=100")]
    {
        let text = trace(&flight, Sensors { static_late_s, pitot_late_s, ..Sensors::default() });
        let without = Readings::of(&text, "energy=electronic").worst("te_vertical_speed_mps");
        let with = Readings::of(&text, &format!("energy=electronic,{setting}"))
            .worst("te_vertical_speed_mps");
        assert!((0.8..1.2).contains(&without), "{setting}: {without} m/s without it");
        assert!(with < 0.06, "{setting}: {with} m/s left");
    }
}

#[test]
fn true_vertical_speed_is_the_rate_of_true_height() {
    // Climbs at 3 m/s of true height through air 20 K warmer than standard, at 25 m/s.
    let flight =
        Flight((0..90_000).map(|step| (25.0, 500.0 + 3.0 * f64::from(step) * DT)).collect());
    let text = trace(&flight, Sensors { warmer_k: 20.0, ..Sensors::default() });
    let settled = |settings: &str, column: &str| {
        rms(Readings::of(&text, settings).column(column)[500..].iter().copied())
    };
    assert!(
        (settled("energy=none,vertical_speed=corrected", "vertical_speed_mps") - 3.0).abs() < 0.01
    );
    // As an altimeter shows it: less by T_std / T, 283.9 / 304.0 in the middle of the flight.
    let standard = settled("energy=none", "vertical_speed_mps");
    let middle = 500.0 + 3.0 * 52.5;
    let pressure_height =
        (1.0 - (static_pa(middle, 20.0) / 101_325.0).powf(287.05287 * 0.0065 / G)) * 288.15
            / 0.0065;
    let expected = 3.0 * (288.15 - 0.0065 * pressure_height) / (308.15 - 0.0065 * middle);
    assert!((standard - expected).abs() < 0.01, "{standard} m/s, expected {expected} m/s");
}

#[test]
fn swapped_tubes_are_named() {
    let flight = Flight((0..30_000).map(|_| (28.0, 700.0)).collect());
    let text: String = trace(&flight, Sensors::default())
        .lines()
        .map(|line| {
            let mut fields: Vec<String> = line.split(',').map(String::from).collect();
            if let Ok(dynamic) = fields[2].parse::<f64>() {
                fields[2] = (-dynamic).to_string();
            }
            fields.join(",") + "\n"
        })
        .collect();
    let readings = Readings::of(&text, "energy=electronic");
    assert!(
        readings.0.status.iter().skip(250).all(|status| status == "check_tubes"),
        "{:?}",
        readings.0.status.last()
    );
    assert!(readings.worst("te_vertical_speed_mps") < 0.05, "and are no lift");
}
