//! `chirrup inspect`: finds the errors planted in a simulated flight.

use crate::support::{complaint, folder, path, pressure_pa, real_flight, run, write};
use serde_json::Value;
use std::fmt::Write;

/// Eight pull-ups in calm air, with these tables of sensors.
pub fn pull_ups(rate_hz: u32, sensors: &str) -> String {
    let mut text = String::from(
        "name = \"Pull-ups\"\nabout = \"For a test.\"\n[glider]\nname = \"Test 15\"\npoints = [\n\
         { speed_mps = 20, sink_mps = 0.67 },\n{ speed_mps = 27, sink_mps = 0.74 },\n\
         { speed_mps = 42, sink_mps = 1.85 }]\nreference_mass_kg = 360\nstall_mps = 17.5\n\
         [start]\nheight_m = 2500\nspeed_mps = 28\n",
    );
    for (place, (fast, slow)) in
        [(45, 25), (40, 24), (48, 26), (42, 25), (38, 23), (50, 27), (44, 24), (41, 26)]
            .iter()
            .enumerate()
    {
        let brisk = 2.0 + 0.5 * (place % 4) as f64;
        for (phase, speed) in [("dive", fast), ("pull-up", slow)] {
            writeln!(
                text,
                "[[leg]]\nphase = \"{phase}\"\nfor_s = 13\nspeed_mps = {speed}\nacceleration_mps2 \
                 = {brisk:.1}"
            )
            .expect("text");
        }
    }
    write!(text, "[sensors]\nrate_hz = {rate_hz}\n{sensors}").expect("text");
    text
}

fn inspected(scenario: &str) -> Value {
    let folder = folder();
    let (scenario, trace) =
        (write(&folder, "flight.toml", scenario), folder.path().join("flight.csv"));
    let trace = trace.to_str().expect("the path is text");
    run(&["fly", &scenario, "-o", trace]);
    let all: Value = serde_json::from_str(&run(&["inspect", trace, "--json"])).expect("it is JSON");
    all[0].clone()
}

fn fit_of(source: &str, found: &Value) -> Value {
    let fits = found["energy"].as_array().expect("a list");
    fits.iter().find(|fit| fit["source"] == source).expect("the source is there").clone()
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

#[test]
fn planted_noise_is_found_within_a_tenth() {
    for noise in [0.3, 1.2, 2.5] {
        let found = inspected(&pull_ups(
            50,
            &format!(
                "[sensors.static]\nnoise_pa = {noise}\n[sensors.dynamic]\nnoise_pa = {noise}\n"
            ),
        ));
        for channel in ["static_pressure", "dynamic_pressure"] {
            let white = number(&found[channel]["white"]);
            assert!((white / noise - 1.0).abs() < 0.1, "{channel}: {white} Pa of {noise} Pa");
        }
    }
}

#[test]
fn gusts_are_told_from_the_noise_of_the_airspeed_within_a_fifth() {
    // Gusts u with the length L change the airspeed V by u sqrt(2 V / L) in a second.
    for (noise, gust) in [(0.5, 0.3), (1.5, 0.6)] {
        let found = inspected(&format!(
            "{}[turbulence]\ngust_rms_mps = {gust}\ngust_length_m = 150\n",
            pull_ups(50, &format!("[sensors.dynamic]\nnoise_pa = {noise}\n"))
        ));
        let white = number(&found["dynamic_pressure"]["white"]);
        assert!((white / noise - 1.0).abs() < 0.2, "{white} Pa of {noise} Pa");
        // The mean speed of the flight is 34 m/s by the plan's legs, 38 m/s at its height.
        let expected = gust * (2.0 * 38.0 / 150.0_f64).sqrt();
        let within = number(&found["gusts"]["within_1_s_mps"]);
        assert!((within / expected - 1.0).abs() < 0.2, "{within} m/s, planted {expected} m/s");
    }
}

#[test]
fn planted_delays_are_found_within_10_ms() {
    let noise = "noise_pa = 0.8\n";
    for (static_s, dynamic_s, expected) in
        [(0.0, 0.06, 60.0), (0.0, 0.12, 120.0), (0.12, 0.0, -120.0), (0.0, 0.0, 0.0)]
    {
        let sensors = format!(
            "[sensors.static]\n{noise}delay_s = {static_s}\n[sensors.dynamic]\n{noise}delay_s = \
             {dynamic_s}\n"
        );
        let fit = &fit_of("electronic", &inspected(&pull_ups(50, &sensors)));
        let late = number(&fit["late"]["ms"]);
        assert!((late - expected).abs() < 10.0, "{late} ms late, planted {expected} ms");
        assert!((number(&fit["percent"]) - 100.0).abs() < 2.0, "{fit}");
    }
}

#[test]
fn a_planted_error_of_the_probe_is_found_within_two_points() {
    for (coefficient, delay_s) in [(-0.85, 0.0), (-1.1, 0.0), (-1.0, 0.06), (-0.85, 0.12)] {
        let sensors = format!(
            "[sensors.static]\nnoise_pa = 0.8\n[sensors.probe]\nnoise_pa = 0.8\ncoefficient = \
             {coefficient}\ndelay_s = {delay_s}\n"
        );
        let fit = &fit_of("probe", &inspected(&pull_ups(50, &sensors)));
        let gives = 1e4 / number(&fit["percent"]);
        assert!(
            (gives + 100.0 * coefficient).abs() < 2.0,
            "the probe gives {gives} %, planted {coefficient}"
        );
    }
}

#[test]
fn a_real_sailplane_asks_for_the_whole_compensation() {
    let Some(flight) = real_flight("sailplane-1hz-tas-vat.igc") else { return };
    let found: Value =
        serde_json::from_str(&run(&["inspect", flight.to_str().expect("text"), "--json"]))
            .expect("it is JSON");
    let fit = &found[0]["energy"][0];
    assert!((number(&fit["percent"]) - 100.0).abs() < 5.0, "{fit}");
    // At one sample a second in thermals it cannot be surer than this, and must not say so.
    assert!((3.0..20.0).contains(&number(&fit["percent_error"])), "{fit}");
    assert_eq!(found[0]["flight"]["launch"]["kind"], "tow");
}

#[test]
fn the_noise_of_real_sensors_is_what_is_known_of_them() {
    // From the notes beside the recordings: 0.96 Pa rms at rest, 2.2 Pa rms above 1 Hz in the air.
    let cases = [
        ("static-88hz.csv", "time=t_s,static=p_pa:Pa", 0.96),
        ("fixedwing-72hz-pressure-eas.csv", "time=t_s,static=p_pa:Pa,ias=eas_mps", 2.2),
    ];
    for (name, columns, expected) in cases {
        let Some(trace) = real_flight(name) else { return };
        let found =
            run(&["inspect", trace.to_str().expect("text"), "--columns", columns, "--json"]);
        let found: Value = serde_json::from_str(&found).expect("it is JSON");
        let rms = number(&found[0]["static_pressure"]["above_1_hz"]);
        assert!((rms / expected - 1.0).abs() < 0.15, "{name}: {rms} Pa");
    }
}

#[test]
fn whole_metres_of_a_recorder_are_steps_and_no_slow_sensor() {
    let Some(flight) = real_flight("sailplane-1hz-tas-vat.igc") else { return };
    let found: Value =
        serde_json::from_str(&run(&["inspect", flight.to_str().expect("text"), "--json"]))
            .expect("it is JSON");
    let pressure = &found[0]["static_pressure"];
    assert_eq!(pressure["repeats"], "steps", "{pressure}");
    let metres = number(&pressure["quantum"]) / number(&found[0]["pascals_per_metre"]);
    assert!((metres - 1.0).abs() < 0.02, "{metres} m");
}

#[test]
fn a_barometer_on_a_desk_has_a_picture_of_its_noise_and_a_flight_says_that_it_is_one() {
    let folder = folder();
    let flown = path(&folder, "flown.csv");
    run(&["fly", "pull-ups", "-o", &flown]);
    let plot = path(&folder, "plot.svg");
    run(&["inspect", &flown, "--plot", &plot]);
    let picture = std::fs::read_to_string(&plot).expect("it was written");
    assert!(picture.contains("Allan deviation of flight and noise together"), "in the air");
    let Some(desk) = real_flight("static-88hz.csv") else { return };
    let columns = "time=t_s,static=p_pa:Pa";
    let desk = desk.to_str().expect("text");
    run(&["inspect", desk, "--columns", columns, "--plot", &plot]);
    let picture = std::fs::read_to_string(&plot).expect("it was written");
    assert!(picture.contains("Allan deviation at rest, for 26 s"), "on a desk");
}

#[test]
fn a_real_winch_launch_is_known_as_one() {
    let Some(flight) = real_flight("winch-launch-2s.igc") else { return };
    let found: Value =
        serde_json::from_str(&run(&["inspect", flight.to_str().expect("text"), "--json"]))
            .expect("it is JSON");
    let launch = &found[0]["flight"]["launch"];
    // From the notes beside it: 418 m in 30 s, up to 20.7 m/s over 10 s; the last of the climb is
    // slower.
    assert_eq!(launch["kind"], "winch");
    assert!((418.0..480.0).contains(&number(&launch["gain_m"])), "{launch}");
    assert!((number(&launch["best_climb_mps"]) - 20.7).abs() < 1.0, "{launch}");
}

/// A glide of four minutes at 1 Hz whose sensor steps up after a minute, with one wrong sample.
fn glide_with_a_step() -> String {
    let mut text = String::from("time_s,static_pa\n");
    for t in 0..240 {
        let off = match t {
            20 => -600.0,
            60.. => 340.0,
            _ => 0.0,
        };
        let height = 1500.0 - 0.7 * f64::from(t) + off;
        writeln!(text, "{t},{:.2}", pressure_pa(height)).expect("text");
    }
    text
}

#[test]
fn a_step_is_told_with_its_time_and_size_in_text_json_and_report() {
    let folder = folder();
    let trace = write(&folder, "step.csv", glide_with_a_step());
    let found: Value = serde_json::from_str(&run(&["inspect", &trace, "--json"])).expect("JSON");
    let steps = &found[0]["steps"];
    assert_eq!((&steps["count"], &steps["wrong_samples"]), (&1.into(), &1.into()), "{steps}");
    assert_eq!(number(&steps["first"][0]["at_s"]), 60.0);
    assert!((number(&steps["first"][0]["size_m"]) - 340.0).abs() < 1.0, "{steps}");
    assert!(number(&found[0]["flight"]["best_gain_m"]) < 1.0, "{}", found[0]["flight"]);
    assert!(found[0]["flight"]["take_off_s"].is_null(), "{}", found[0]["flight"]);
    let page = path(&folder, "page.html");
    run(&["report", &trace, "-o", &page]);
    let page = std::fs::read_to_string(page).expect("it was written");
    for text in [&run(&["inspect", &trace]), &page] {
        assert!(text.contains("the height steps as no glider flies: +340 m at 1:00;"), "{text}");
        assert!(text.contains("the samples around them contradict: 1;"), "{text}");
    }
}

#[test]
fn real_flights_have_no_steps() {
    for name in ["winch-launch-2s.igc", "sailplane-1hz-tas-vat.igc", "midnight-mixed-rate.igc"] {
        let Some(flight) = real_flight(name) else { return };
        let found = run(&["inspect", flight.to_str().expect("text"), "--json"]);
        let found: Value = serde_json::from_str(&found).expect("it is JSON");
        let steps = &found[0]["steps"];
        assert_eq!((&steps["count"], &steps["wrong_samples"]), (&0.into(), &0.into()), "{name}");
    }
}

#[test]
fn what_cannot_be_inspected_is_said_in_one_line() {
    let folder = folder();
    let trace = write(&folder, "short.csv", "time_s,static_pa\n0,95000\n");
    assert!(
        complaint(&["inspect", &trace], 1).contains("found 1 usable samples, expected two or more")
    );
}
