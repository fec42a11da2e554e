//! What `chirrup inspect` says of an inertial sensor and a satellite receiver: what was planted in
//! a simulated flight, and what the README of the real recordings says of them.

use crate::inspect::pull_ups;
use crate::support::{folder, run, shared, write};
use serde_json::Value;

fn inspect(trace: &str) -> Value {
    let all: Value = serde_json::from_str(&run(&["inspect", trace, "--json"])).expect("it is JSON");
    all[0].clone()
}

fn flown(scenario: &str) -> Value {
    let folder = folder();
    let scenario = write(&folder, "flight.toml", scenario);
    let trace = folder.path().join("flight.csv");
    let trace = trace.to_str().expect("the path is text");
    run(&["fly", &scenario, "-o", trace]);
    inspect(trace)
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

fn says(found: &Value, words: &str) -> bool {
    let findings = found["findings"].as_array().expect("a list");
    findings.iter().any(|finding| finding.as_str().is_some_and(|text| text.contains(words)))
}

/// Stands for half a minute, then the winch and pull-ups.
fn from_the_ground(sensors: &str) -> String {
    let text = pull_ups(50, sensors);
    let (before, after) = text.split_once("[[leg]]").expect("it has legs");
    let before = before.replace("height_m = 2500\nspeed_mps = 28\n", "");
    format!(
        "{before}[[leg]]\nphase = \"stands\"\nhow = \"wait\"\nfor_s = 30\n\
         [[leg]]\nphase = \"winch\"\nhow = \"winch\"\ncable_m = 2800\n[[leg]]{after}"
    )
}

#[test]
fn planted_vibration_biases_mounting_and_delay_are_found() {
    let found = flown(&from_the_ground(
        "[sensors.static]\nnoise_pa = 1\n[sensors.inertial]\nmounted_deg = [180, 0, 3]\n\
         vibration_mps2 = 1\n[sensors.gnss]\ndelay_s = 0.44\n",
    ));
    let sensor = &found["inertial"];
    assert!((number(&sensor["rate_hz"]) - 50.0).abs() < 0.1, "{sensor}");
    // Three axes of 1 m/s2.
    let vibration = number(&sensor["vibration_mps2"]);
    assert!((vibration / 3.0_f64.sqrt() - 1.0).abs() < 0.1, "{sensor}");
    assert_eq!(sensor["down"], "-z");
    // Two biases of 15 mg and cross-axis errors beside them, and the scale along gravity.
    assert!(number(&sensor["down_off_deg"]) < 1.8, "{sensor}");
    let rest = &sensor["at_rest"];
    assert!(number(&rest["from_s"]) < 1.0 && number(&rest["for_s"]) > 25.0, "{rest}");
    for bias in rest["gyro_bias_dps"].as_array().expect("three") {
        assert!((number(bias).abs() - 0.3).abs() < 0.05, "{rest}");
    }
    assert!(number(&rest["too_much_mps2"]).abs() < 0.25, "{rest}");
    let receiver = &found["gnss"];
    assert!((number(&receiver["rate_hz"]) - 5.0).abs() < 0.1, "{receiver}");
    assert!((number(&receiver["delay_s"]) - 0.44).abs() < 0.05, "{receiver}");
    assert!(says(&found, "-z axis points down"), "{}", found["findings"]);
    assert!(says(&found, "0.44 s late") || says(&found, "0.42 s late"), "{}", found["findings"]);
}

#[test]
fn a_sensor_that_is_clipped_and_shaken_is_named() {
    let found = flown(&from_the_ground("[sensors.inertial]\nvibration_mps2 = 8\nlargest_g = 2\n"));
    let sensor = &found["inertial"];
    assert!(number(&sensor["clipped_samples"]) > 100.0, "{sensor}");
    assert!((number(&sensor["largest_mps2"]) - 19.6).abs() < 0.1, "{sensor}");
    assert!(sensor["at_rest"].is_null(), "{sensor}");
    assert!(says(&found, "is much: mount the sensor softer"), "{}", found["findings"]);
    assert!(says(&found, "the end of the sensor's range"), "{}", found["findings"]);
    // What an instrument would make of it, and what to do.
    let trusts = found["felt"]["inertial_trust_s"].as_array().expect("a list");
    assert!(trusts.iter().any(|time| time["trust"] == "shaken"), "{}", found["felt"]);
    assert!(says(&found, "shaken: it vibrates too much; put"), "{}", found["findings"]);
}

#[test]
fn a_trace_without_them_has_neither() {
    let found = flown(&pull_ups(20, ""));
    assert!(found.get("inertial").is_none() && found.get("gnss").is_none(), "{found}");
}

/// Recording, inertial samples a second, vibration in m/s2 and delay of the receiver in s as their
/// READMEs have them. The receiver's of two cannot be seen in the pressure: one flight hardly
/// changes its rate of descent, the other's pressure has steps of a metre.
const SHARED: [(&str, f64, f64, Option<f64>); 4] = [
    ("inertial-flights/fixedwing-imu136-150s.csv", 136.0, 0.5, Some(0.30)),
    ("inertial-flights/motorglider-model-imu50-330s.csv", 50.0, 0.3, None),
    ("inertial-flights/fullsize-imu50-stall-30s.csv", 50.0, 1.2, None),
    ("rough-air/thermals-circles-stick-gusts.csv", 50.0, 0.03, Some(0.1)),
];

#[test]
fn the_recordings_of_others_are_as_their_readme_says() {
    for (name, rate_hz, vibration_mps2, delay_s) in SHARED {
        let Some(path) = shared(name) else { return };
        let found = inspect(path.to_str().expect("the path is text"));
        let sensor = &found["inertial"];
        assert!((number(&sensor["rate_hz"]) - rate_hz).abs() < 1.0, "{name}: {sensor}");
        // Above 5 Hz a gust is felt too: 0.1 m/s2 of it.
        let vibration = number(&sensor["vibration_mps2"]);
        let expected = (0.7 * vibration_mps2)..(1.3 * vibration_mps2 + 0.1);
        assert!(expected.contains(&vibration), "{name}: {sensor}");
        assert_eq!(sensor["down"], "z", "{name}");
        // "The cheap gyro reads 12..17 % LOW".
        let is_low = says(&found, "gyro_gain: its turn rates are wrong by more than 8 %");
        assert_eq!(is_low, name.contains("fullsize"), "{name}: {}", found["findings"]);
        let found_s = found["gnss"]["delay_s"].as_f64();
        match delay_s {
            Some(delay_s) => {
                assert!(
                    found_s.is_some_and(|it| (it - delay_s).abs() < 0.05),
                    "{name}: {found_s:?}"
                );
            }
            None => assert_eq!(found_s, None, "{name}"),
        }
    }
}
