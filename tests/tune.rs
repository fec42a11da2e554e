//! `chirrup tune` and `compare`, on flights whose truth is known.

use crate::inspect::pull_ups;
use crate::support::{chirrup, complaint, folder, path, run, write};
use serde_json::Value;
use std::fs;

fn figures(args: &[&str]) -> Value {
    serde_json::from_str(&run(args)).expect("it is JSON")
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

#[test]
fn planted_errors_become_settings() {
    let folder = folder();
    // The pitot's line 120 ms late; a probe that gives 85 %, which 118 % corrects.
    let late =
        "[sensors.static]\nnoise_pa = 0.8\n[sensors.dynamic]\nnoise_pa = 0.8\ndelay_s = 0.12\n";
    let weak =
        "[sensors.static]\nnoise_pa = 0.8\n[sensors.probe]\nnoise_pa = 0.8\ncoefficient = -0.85\n";
    for (name, sensors, key, expected, within) in [
        ("late", late, "airspeed_delay_ms", 120.0, 10.0),
        ("weak", weak, "compensation_percent", 100.0 / 0.85, 2.0 / 0.85),
    ] {
        let scenario = write(&folder, "flight.toml", pull_ups(20, sensors));
        let (trace, tuned) =
            (path(&folder, &format!("{name}.csv")), path(&folder, &format!("{name}.toml")));
        run(&["fly", &scenario, "-o", &trace]);
        let energy = if name == "late" { "energy=electronic" } else { "energy=probe" };
        run(&["tune", &trace, "--settings", energy, "-o", &tuned]);
        let settings: toml::Table =
            fs::read_to_string(&tuned).expect("it is there").parse().expect("it is TOML");
        let found = settings[key].as_float().expect("a number");
        assert!((found - expected).abs() <= within, "{key} = {found}, planted {expected}");
        // The output is a settings file, and it is better on a flight not used for tuning.
        let unseen = path(&folder, "unseen.csv");
        run(&["fly", &scenario, "--seed", "2", "-o", &unseen]);
        let all = figures(&["compare", energy, &tuned, &unseen, "--json"]);
        assert!(number(&all["b_costs_more"]) < -0.1, "{all}");
    }
}

#[test]
fn what_is_recommended_is_no_worse_on_flights_it_never_saw() {
    let folder = folder();
    let flights: Vec<String> = (1..=4)
        .map(|seed| {
            let trace = path(&folder, &format!("{seed}.csv"));
            run(&[
                "fly",
                "weak-blue-day",
                "--seed",
                &seed.to_string(),
                "--sensor-rate",
                "10",
                "-o",
                &trace,
            ]);
            trace
        })
        .collect();
    let tuned = path(&folder, "tuned.toml");
    // From settings that are far too slow.
    let report = figures(&[
        "tune",
        &flights[0],
        &flights[1],
        "--settings",
        "filter=fixed,response_s=3",
        "-o",
        &tuned,
        "--json",
    ]);
    assert_eq!(report["recordings"][0]["truth"], "recorded");
    assert!(number(&report["sure"]["better_share"]) > 0.95, "{report}");
    let text = fs::read_to_string(&tuned).expect("it is there");
    assert!(text.starts_with("# Tuned by chirrup tune on "), "{text}");
    let unseen = figures(&[
        "compare",
        "filter=fixed,response_s=3",
        &tuned,
        &flights[2],
        &flights[3],
        "--json",
    ]);
    assert!(number(&unseen["b_costs_more"]) < 0.0, "{unseen}");
    let defaults =
        figures(&["compare", "response_s=1", &tuned, &flights[2], &flights[3], "--json"]);
    // The defaults are near the best here, so that equally good is the most to expect.
    assert!(number(&defaults["b_costs_more"]) < 0.01, "{defaults}");
    let worse = chirrup()
        .args([
            "compare",
            &tuned,
            "filter=fixed,response_s=3",
            &flights[2],
            "--fail-if-worse",
            "5%",
        ])
        .output()
        .expect("the program can be started");
    assert_eq!(worse.status.code(), Some(1));
    let said = String::from_utf8_lossy(&worse.stderr);
    assert!(said.contains("% more than") && said.contains("at most 5.0 % was allowed"), "{said}");
}

#[test]
fn pictures_are_drawn_and_streams_refused() {
    let folder = folder();
    let trace = path(&folder, "flight.csv");
    run(&["fly", "pull-ups", "-o", &trace]);
    for (command, name) in [("tune", "tune.svg"), ("inspect", "inspect.svg")] {
        let picture = path(&folder, name);
        run(&[command, &trace, "--plot", &picture]);
        assert!(fs::read_to_string(&picture).expect("it is there").contains("</svg>"));
    }
    let picture = path(&folder, "compare.svg");
    run(&["compare", "response_s=1", "filter=fixed", &trace, "--plot", &picture]);
    assert!(fs::read_to_string(&picture).expect("it is there").contains("Two settings compared"));
    assert!(complaint(&["tune", "-"], 2).contains("is read twice and must be a file"));
    assert!(
        complaint(&["compare", "response_s=1", "response_s=2", &trace, "--fail-if-worse", "x"], 2)
            .contains("expected a share")
    );
    assert!(complaint(&["inspect", &trace, &trace, "--plot", "p.svg"], 2).contains("of one trace"));
}

#[test]
fn nothing_is_written_over_what_is_read_nor_twice_into_one_file() {
    let folder = folder();
    let trace = path(&folder, "flight.csv");
    run(&["fly", "pull-ups", "-o", &trace]);
    let before = fs::read(&trace).expect("it is there");
    let sound = path(&folder, "both.html");
    for args in [
        vec!["inspect", &trace, "--csv", &trace],
        vec!["tune", &trace, "-o", &trace],
        vec!["report", &trace, "-o", &trace],
    ] {
        assert!(
            complaint(&args, 2).contains("flight.csv is the trace itself; give it another name"),
            "{args:?}"
        );
    }
    assert!(
        complaint(&["report", &trace, "-o", &sound, "--wav", &sound], 2)
            .contains("two outputs would be written to")
    );
    assert!(before == fs::read(&trace).expect("it is there"), "the trace is as it was");
}
