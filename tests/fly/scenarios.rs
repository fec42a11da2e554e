//! Scenarios as people write them: the messages for errors, and that the same text gives the same
//! bytes.

use super::{ORRIN, scenario};
use crate::support::{complaint, folder, path, run, write};
use chirrup_flight::plan::builtin::{ALL, ROUGH};
use chirrup_flight::plan::check;
use chirrup_flight::plan::flight::Flight;
use proptest::prelude::*;

const FLIGHT: &str = "stall_mps = 16\n[start]\nheight_m = 1000\n[turbulence]\nrms_mps = 0.5\n\
                      [[leg]]\nphase = \"glide\"\nfor_s = 20\n[sensors.static]\nnoise_pa = 1\n";

fn said(text: &str) -> String {
    let folder = folder();
    let file = write(&folder, "mine.toml", text);
    let message = complaint(&["fly", &file, "-o", &path(&folder, "out.csv")], 2);
    assert!(!folder.path().join("out.csv").exists(), "nothing is left: {message}");
    message.replace(&file, "mine.toml")
}

#[test]
fn what_is_wrong_in_a_scenario_is_named_with_its_line() {
    let good = scenario(ORRIN, FLIGHT);
    for (from, to, message) in [
        ("for_s = 20", "for_s = -3", "mine.toml:19: leg 1: for_s is -3, expected 0.1 to 36000"),
        (
            "height_m = 1000",
            "height_m = 5",
            "mine.toml:14: start.height_m is 5, expected 20 to 12000",
        ),
        (
            "stall_mps = 16",
            "stall_mps = 99",
            "mine.toml:12: glider.stall_mps is 99, expected 8 to 40",
        ),
        (
            "speed_mps = 27",
            "speed_mps = 19",
            "mine.toml:7: glider.points 2: speed_mps is 19, expected more than 20, the point \
             before",
        ),
        (
            "sink_mps = 1.85",
            "sink_mps = 0.75",
            "mine.toml:8: glider.points 3: sink_mps is 0.75, expected one with which the points \
             bend as a polar does",
        ),
        (
            "{ speed_mps = 42, sink_mps = 1.85 },\n",
            "",
            "mine.toml:5: glider.points is a list of 2, expected three to eight points",
        ),
        (
            "empty_mass_kg = 360",
            "empty_mass_kg = 60",
            "mine.toml:10: glider.empty_mass_kg is 60, expected 100 to 1000",
        ),
        (
            "name = \"Orrin 15\"\n",
            "name = \"Orrin 15\"\nspeed_1_mps = 19.5\nsink_1_mps = 0.7\n",
            "mine.toml:5: glider.speed_1_mps is of an earlier version; now write \
             points = [{ speed_mps = 19.5, sink_mps = 0.7 }, { speed_mps = .., sink_mps = .. }, \
             { speed_mps = .., sink_mps = .. }]",
        ),
        (
            "for_s = 20",
            "speed_mps = 25",
            "mine.toml:17: leg 1: for_s is absent, expected an end: for_s, until_height_m, \
             turn_deg or towards_m",
        ),
        (
            "\"glide\"",
            "\"two words\"",
            "mine.toml:18: leg 1: phase is \"two words\", expected one word of letters, digits, - \
             and _",
        ),
        (
            "for_s = 20",
            "for_s = 20\ncircle = \"nowhere\"",
            "mine.toml:20: leg 1: circle is \"nowhere\", expected the name of a [[thermal]]",
        ),
        (
            "phase = \"glide\"",
            "phase = \"glide\"\nhow = \"winch\"",
            "mine.toml:19: leg 1: how is \"winch\" in the air, expected fly, spin, loop or land",
        ),
        (
            "noise_pa = 1",
            "noise_pa = 101",
            "mine.toml:21: sensors.static.noise_pa is 101, expected 0 to 100",
        ),
        (
            "rms_mps = 0.5",
            "gust_rms_mps = 6",
            "mine.toml:16: turbulence.gust_rms_mps is 6, expected 0 to 5",
        ),
        (
            "rms_mps = 0.5",
            "up_length_m = 100",
            "mine.toml:15: turbulence.rms_mps is absent, expected rms_mps, gust_rms_mps or \
             up_rms_mps",
        ),
        (
            "rms_mps = 0.5",
            "up_rms_mps = 0.5\ngust_length_m = 100",
            "mine.toml:17: turbulence.gust_length_m is 100, expected gust_rms_mps beside it",
        ),
        (
            "height_m = 1000",
            "height_m = nan",
            "mine.toml:14: start.height_m is NaN, expected 20 to 12000",
        ),
    ] {
        let text = good.replacen(from, to, 1);
        assert_ne!(text, good, "{from}");
        assert_eq!(said(&text), format!("chirrup: {message}"));
    }
    for (from, to, part) in [
        ("for_s = 20", "fors = 20", "mine.toml:19: unknown field `fors`"),
        (
            "for_s = 20",
            "for_s = \"long\"",
            "mine.toml:19: invalid type: string \"long\", expected a number",
        ),
        ("[[leg]]", "[leg]", "expected a list of entries"),
        ("rms_mps = 0.5", "rms_mps = ", "mine.toml:16: "),
        ("reference_mass_kg = 360\n", "", "missing field `reference_mass_kg`"),
    ] {
        let message = said(&good.replacen(from, to, 1));
        assert!(message.contains(part) && message.contains("--show"), "{message}");
    }
}

#[test]
fn a_leg_into_the_ground_is_named_and_leaves_no_file() {
    let message = said(&scenario(
        ORRIN,
        "stall_mps = 16\n[start]\nheight_m = 100\n[[leg]]\nphase = \"glide\"\nfor_s = 2000\n",
    ));
    assert!(
        message.contains("mine.toml:15: leg 1 (glide) flies into the ground at 2:"),
        "{message}"
    );
    assert!(message.contains("how = \"land\""), "{message}");
}

#[test]
fn what_is_typed_wrong_says_what_to_type() {
    let folder = folder();
    let file = write(&folder, "mine.toml", scenario(ORRIN, FLIGHT));
    for (args, part) in [
        (vec!["fly"], "`chirrup fly --list`"),
        (vec!["fly", "nowhere"], "unknown scenario nowhere"),
        (vec!["fly", "ridge"], "type `chirrup fly ridge -o trace.csv`"),
        (vec!["fly", &file, "-o", &file], "is the scenario itself"),
        (vec!["fly", "ridge", "-o", "-", "--json"], "both want standard output"),
        (
            vec!["fly", "ridge", "-o", "-", "--sensor-rate", "1000"],
            "--sensor-rate is 1000, expected 0.1 to 200",
        ),
    ] {
        let message = complaint(&args, 2);
        assert!(message.contains(part), "{args:?}: {message}");
    }
}

#[test]
fn every_built_in_scenario_is_listed_shown_and_the_same_when_read_from_a_file() {
    let list = run(&["fly", "--list"]);
    let entries: serde_json::Value =
        serde_json::from_str(&run(&["fly", "--list", "--json"])).expect("JSON");
    assert_eq!(entries.as_array().map(Vec::len), Some(ALL.len() + ROUGH.len()));
    for built_in in ALL.into_iter().chain(ROUGH) {
        assert!(list.lines().any(|line| line.starts_with(built_in.name)), "{list}");
        assert_eq!(run(&["fly", built_in.name, "--show"]), built_in.text);
    }
    let folder = folder();
    let file = write(&folder, "mine.toml", run(&["fly", "pull-ups", "--show"]));
    let rows = |text: String| text.lines().skip(1).map(str::to_owned).collect::<Vec<_>>();
    assert_eq!(rows(run(&["fly", &file, "-o", "-"])), rows(run(&["fly", "pull-ups", "-o", "-"])));
}

#[test]
fn the_seed_decides_the_bytes_and_nothing_else_does() {
    let folder = folder();
    let file = write(&folder, "mine.toml", scenario(ORRIN, FLIGHT));
    let made = |seed: &str| run(&["fly", &file, "--seed", seed, "-o", "-"]);
    assert_eq!(made("3"), made("3"));
    assert_ne!(made("3"), made("4"));
    // Ideal sensors at another rate see the same flight.
    let truth = |args: &[&str]| {
        let text = run(&[&["fly", &file, "-o", "-"], args].concat());
        let column = |line: &str| line.rsplit(',').nth(1).map(str::to_owned);
        text.lines().filter(|line| line.starts_with("10,")).map(column).collect::<Vec<_>>()
    };
    assert_eq!(truth(&["--ideal", "--sensor-rate", "50"]), truth(&[]));
    assert_eq!(truth(&[]).len(), 1);
}

/// Any leg within the range of a scenario, including reckless ones.
fn any_leg() -> impl Strategy<Value = String> {
    let how = prop_oneof![4 => Just("fly"), 1 => Just("loop"), 1 => Just("spin")];
    (
        how,
        10.0..80.0_f64,
        0.1..9.0_f64,
        1.05..6.0_f64,
        -2.0..0.95_f64,
        -75.0..75.0_f64,
        0.0..100.0_f64,
    )
        .prop_map(|(how, speed, acceleration, most, least, bank, brakes)| {
            format!(
                "[[leg]]\nphase = \"{how}\"\nhow = \"{how}\"\nfor_s = 12\nspeed_mps = \
                 {speed}\nacceleration_mps2 = {acceleration}\n\
                 most_load = {most}\nleast_load = {least}\nbank_deg = {bank}\nairbrake_percent = \
                 {brakes}\n"
            )
        })
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 24,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(4),
        ..ProptestConfig::default()
    })]

    #[test]
    fn however_rashly_it_is_flown_only_numbers_come_out(
        legs in prop::collection::vec(any_leg(), 1..5),
        height in 1500.0..12_000.0_f64,
        wind in 0.0..40.0_f64,
        rough in 0.0..5.0_f64,
    ) {
        let rest = format!(
            "stall_mps = 16\n[start]\nheight_m = {height}\n[wind]\nspeed_mps = \
             {wind}\n[turbulence]\nrms_mps = {rough}\n{}",
            legs.concat()
        );
        let (scenario, glider) = check::read("any.toml", &scenario(ORRIN, &rest)).expect("it is in \
            its ranges");
        let mut flight = Flight::new(&scenario, glider, 1);
        while let Ok(true) = flight.advance() {
            let moment = flight.moment();
            let speeds = [moment.velocity.length(), moment.airspeed_mps];
            let numbers = [moment.place.up, speeds[0], speeds[1], moment.load_factor];
            prop_assert!(numbers.into_iter().all(f64::is_finite), "{moment:?}");
            let is_slow = moment.airspeed_mps < 250.0;
            prop_assert!(is_slow && moment.load_factor.abs() < 40.0, "{moment:?}");
        }
    }
}
