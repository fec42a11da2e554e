//! Settings in layers: files and `key=value`, later ones override earlier ones.

use crate::support::{complaint, folder, path, run, trace_of, write};
use serde_json::Value;

/// What `chirrup response` says the settings are, with `layers`.
fn settings(layers: &[&str]) -> Value {
    let mut args =
        vec!["response", "--only", "still", "--json", "--runs", "1", "--sensor-rate", "10"];
    args.extend(layers.iter().flat_map(|layer| ["--settings", layer]));
    let json: Value = serde_json::from_str(&run(&args)).expect("it is JSON");
    json["settings"].clone()
}

#[test]
fn a_later_layer_changes_what_it_names_and_nothing_else() {
    let folder = folder();
    let quick = write(&folder, "quick.toml", "filter = \"fixed\"\nresponse_s = 0.6\n");
    let quiet = write(&folder, "quiet.toml", "response_s = 2.0\n");
    let (quick, quiet) = (quick.as_str(), quiet.as_str());
    for (layers, filter, response_s) in [
        (&[][..], "adaptive", 1.0),
        (&[quick], "fixed", 0.6),
        (&[quick, quiet], "fixed", 2.0),
        (&[quiet, quick], "fixed", 0.6),
        (&[quiet, "filter=fixed"], "fixed", 2.0),
        (&["response_s=3", "filter=fixed", "response_s=0.3"], "fixed", 0.3),
        (&["response_s=3", quiet], "adaptive", 2.0),
    ] {
        let found = settings(layers);
        assert_eq!(found["filter"], filter, "{layers:?}: {found}");
        let response = found["response_s"].as_f64().expect("a number");
        assert!((response - response_s).abs() < 1e-6, "{layers:?}: {found}");
    }
}

#[test]
fn layers_reach_into_tables_and_lists_are_replaced_whole() {
    let folder = folder();
    let first = write(
        &folder,
        "first.toml",
        "[tone]\nvolume = 5.0\ntimbre = \"reed\"\nsink = [{ sink_mps = -1.6, pitch_hz = 300 }]\n\
         [polar]\ncircling_bank_deg = 30.0\n",
    );
    let second = write(
        &folder,
        "second.toml",
        "[tone]\ntimbre = \"mellow\"\nsink = [{ sink_mps = -1.6, pitch_hz = 320 }]\n\
         [polar]\nexpected_climb_mps = 2.0\n",
    );
    let found = settings(&[&first, &second, "polar.contamination_percent=20,tone.volume=6"]);
    assert_eq!(found["tone"]["volume"], 6.0);
    assert_eq!(found["tone"]["timbre"], "mellow");
    assert_eq!(found["tone"]["sink"].as_array().map(Vec::len), Some(1));
    assert_eq!(found["tone"]["sink"][0]["pitch_hz"], 320.0);
    assert_eq!(found["polar"]["circling_bank_deg"], 30.0);
    assert_eq!(found["polar"]["expected_climb_mps"], 2.0);
    assert_eq!(found["polar"]["contamination_percent"], 20.0);
    // A polar that the file below began can be changed, where there would else be none.
    let message = complaint(&["response", "--settings", "polar.contamination_percent=20"], 2);
    assert!(message.contains("polar.contamination_percent needs a polar to change"), "{message}");
}

#[test]
fn what_is_wrong_is_named_with_the_layer_it_is_in() {
    let folder = folder();
    let good = write(&folder, "good.toml", "# mine\nresponse_s = 0.6\n");
    for (name, text, line, part) in [
        ("range.toml", "filter = \"fixed\"\n\nresponse_s = 99\n", 3, "response_s is 99, expected"),
        ("word.toml", "filter = \"fixed\"\nenergy = \"magic\"\n", 2, "magic"),
        ("key.toml", "responce_s = 1\n", 1, "responce_s"),
        ("table.toml", "[tone]\nvolume = 5\n[tone]\n", 3, "found tone twice"),
    ] {
        let bad = write(&folder, name, text);
        let args = ["response", "--settings", &good, "--settings", &bad, "--settings", "noise_m=0"];
        let message = complaint(&args, 2);
        let (_, said) = message.split_once(&format!("{name}:{line}: ")).expect(&message);
        assert!(said.contains(part), "{message}");
    }
    for (words, part) in [
        ("response_s=99", "response_s=99: response_s is 99, expected 0.1 to 10"),
        ("responce_s=1", "responce_s=1: there is no setting responce_s"),
        ("none.toml", "cannot read settings none.toml: there is no such file"),
    ] {
        let message = complaint(&["response", "--settings", &good, "--settings", words], 2);
        assert!(message.contains(part), "{message}");
    }
}

#[test]
fn every_command_with_settings_takes_them_in_layers() {
    let folder = folder();
    let trace = write(&folder, "trace.csv", trace_of(10.0, 40.0, |t| 500.0 + t));
    let file = write(&folder, "first.toml", "response_s = 0.6\n");
    let page = path(&folder, "page.html");
    for args in [
        &["replay", &trace][..],
        &["inspect", &trace],
        &["tune", &trace],
        &["report", &trace, "-o", &page],
        &["response", "--runs", "1", "--sensor-rate", "10"],
        &["tone"],
    ] {
        let layered = [args, &["--settings", &file, "--settings", "response_s=0"]].concat();
        let message = complaint(&layered, 2);
        assert!(message.contains("response_s=0: response_s is 0, expected 0.1 to 10"), "{message}");
    }
}

#[test]
fn the_instrument_beside_the_first_has_layers_too() {
    let folder = folder();
    let trace = write(&folder, "trace.csv", trace_of(10.0, 10.0, |t| 500.0 + t));
    let file = write(&folder, "second.toml", "filter = \"fixed\"\n");
    let right = |against: &[&str]| {
        let mut args = vec!["replay", &trace, "--json", "--settings", "response_s=0.5"];
        args.extend(against.iter().flat_map(|layer| ["--against", layer]));
        let json: Value = serde_json::from_str(&run(&args)).expect("it is JSON");
        let settings = &json["instruments"][1]["settings"];
        (settings["filter"].clone(), settings["response_s"].clone())
    };
    // key=value changes the first instrument's, a file the defaults.
    assert_eq!(right(&["filter=fixed"]), ("fixed".into(), 0.5.into()));
    assert_eq!(right(&[&file]), ("fixed".into(), 1.0.into()));
    assert_eq!(right(&[&file, "response_s=2"]), ("fixed".into(), 2.0.into()));
}
