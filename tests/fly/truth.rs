//! A replay of a simulated trace: the errors of the readings.

use super::{ORRIN, scenario};
use crate::support::{Table, folder, path, run, write};
use serde_json::Value;
use std::fs;

/// The account of a replay of a scenario of the user's own.
fn replayed(text: &str, fly: &[&str], replay: &[&str]) -> Value {
    let folder = folder();
    let (file, trace) = (write(&folder, "mine.toml", text), path(&folder, "trace.csv"));
    run(&[&["fly", &file, "-o", &trace, "--json"], fly].concat());
    serde_json::from_str(&run(&[&["replay", &trace, "--json"], replay].concat())).expect("JSON")
}

fn number(account: &Value, reading: &str, key: &str) -> f64 {
    let value = &account["instruments"][0]["against_truth"][reading][key];
    value.as_f64().unwrap_or_else(|| panic!("no {reading} {key}: {account}"))
}

/// A zoom from 50 to 25 m/s without drag, with steady flight before and after.
fn zoom() -> String {
    scenario(
        ORRIN,
        "stall_mps = 14\nfrictionless = true\n[start]\nheight_m = 600\nspeed_mps = 50\n\
         [[leg]]\nphase = \"fast\"\nfor_s = 15\nspeed_mps = 50\n\
         [[leg]]\nphase = \"zoom\"\nfor_s = 20\nspeed_mps = 25\nacceleration_mps2 = 4\nmost_load = \
         2\nleast_load = 0.4\n\
         [sensors]\nrate_hz = 50\n[sensors.static]\nnoise_pa = 1.2\n[sensors.dynamic]\nnoise_pa = \
         1.2\n",
    )
}

#[test]
fn a_zoom_is_no_climb_with_ideal_sensors_and_hardly_one_with_noisy_ones() {
    // Required: within 0.05 m/s of zero with ideal sensors, 0.3 m/s rms with 1.2 Pa of noise (an
    // MS5611 at OSR 4096, data sheet, from memory), while the uncompensated reading passes 15 m/s.
    let ideal = replayed(&zoom(), &["--ideal"], &["--energy", "electronic"]);
    let range = &ideal["instruments"][0]["te_vertical_speed_mps"];
    for end in ["lowest", "highest"] {
        let reading = range[end].as_f64().expect("a number");
        assert!(reading.abs() < 0.05, "{end} reading {reading} m/s");
    }
    let bare = ideal["instruments"][0]["vertical_speed_mps"]["highest"].as_f64().expect("a number");
    assert!(bare > 15.0, "uncompensated {bare} m/s");
    let noisy = replayed(&zoom(), &[], &["--energy", "electronic"]);
    assert!(number(&noisy, "sounded", "rms_mps") < 0.3, "{noisy}");
}

#[test]
fn a_fixed_filter_is_as_late_as_it_is_told() {
    // A swinging vertical speed, slow against the filter: the delay of the fixed filter is its
    // setting. The air rises slowly here: the energy of the glider's own rise, w^2 / (2 g), is
    // gained before any pressure shows it, which makes every reading late by another w / g, 0.3 s
    // at 3 m/s.
    let street = "stall_mps = 16\n[start]\nheight_m = 1500\nspeed_mps = 30\n\
                  [[street]]\neast_m = 0\nnorth_m = 0\ncourse_deg = 0\nstrength_mps = \
                  0.5\nhalf_width_m = 600\nswell = 1\nspacing_m = 900\ntop_m = 4000\n\
                  [[leg]]\nphase = \"street\"\nheading_deg = 0\nfor_s = 200\nspeed_mps = \
                  30\n[sensors]\nrate_hz = 20\n";
    for response_s in [0.5, 1.0, 2.0] {
        let settings = format!("filter=fixed,response_s={response_s}");
        let account = replayed(&scenario(ORRIN, street), &["--ideal"], &["--settings", &settings]);
        let lag = number(&account, "sounded", "lag_s");
        assert!((lag - response_s).abs() < 0.16, "{lag} s for {response_s} s");
    }
}

#[test]
fn netto_reads_the_air_and_says_so() {
    let folder = folder();
    let settings = write(
        &folder,
        "polar.toml",
        "[polar]\nspeed_1_mps = 20\nsink_1_mps = 0.67\nspeed_2_mps = 27\nsink_2_mps = \
         0.74\nspeed_3_mps = 42\n\
         sink_3_mps = 1.85\nreference_mass_kg = 360\nmass_kg = 360\n",
    );
    let street = "stall_mps = 16\n[start]\nheight_m = 2500\nspeed_mps = 28\n\
                  [[street]]\neast_m = 0\nnorth_m = 0\ncourse_deg = 0\nstrength_mps = \
                  2\nhalf_width_m = 600\nswell = 1\nspacing_m = 3000\ntop_m = 6000\n\
                  [[leg]]\nphase = \"slow\"\nheading_deg = 0\nfor_s = 60\nspeed_mps = 22\n\
                  [[leg]]\nphase = \"fast\"\nheading_deg = 0\nfor_s = 60\nspeed_mps = 40\n";
    let account = replayed(
        &scenario(ORRIN, street),
        &["--ideal", "--sensor-rate", "50"],
        &["--settings", &settings],
    );
    // Required: 0.1 m/s rms in smooth air; the simulator's polar and the instrument's meet in their
    // three points.
    assert!(number(&account, "netto", "rms_mps") < 0.1, "{account}");
    assert!(number(&account, "netto", "bias_mps").abs() < 0.05, "{account}");
}

#[test]
fn a_trace_without_truth_is_not_compared() {
    let folder = folder();
    let trace = write(&folder, "trace.csv", crate::support::trace_of(20.0, 30.0, |t| 500.0 + t));
    let account: Value = serde_json::from_str(&run(&["replay", &trace, "--json"])).expect("JSON");
    assert!(account["instruments"][0].get("against_truth").is_none(), "{account}");
    assert!(!run(&["replay", &trace]).contains("truth"));
}

#[test]
fn gusts_are_no_climb_but_a_quick_filter_makes_much_of_them() {
    let folder = folder();
    let glide = |more: &[&str]| -> (Table, Value) {
        let trace = path(&folder, "glide.csv");
        run(&[&["fly", "rough-glide", "-o", &trace], more].concat());
        let account = run(&[
            "replay",
            &trace,
            "--energy",
            "electronic",
            "--json",
            "--settings",
            "filter=fixed,response_s=0.3",
        ]);
        // Without the comment and the last column, which is a word.
        let text = fs::read_to_string(&trace).expect("it is there");
        let rows = text.lines().skip(1).filter_map(|line| Some(line.rsplit_once(',')?.0));
        let text = rows.collect::<Vec<_>>().join("\n");
        (Table::read(&text), serde_json::from_str(&account).expect("JSON"))
    };
    let rms_about_mean = |values: &[f64]| {
        let known: Vec<f64> = values.iter().copied().filter(|value| value.is_finite()).collect();
        let mean = known.iter().sum::<f64>() / known.len() as f64;
        (known.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / known.len() as f64).sqrt()
    };
    let (gusty, heard) = glide(&[]);
    // Only the drag changes with the gusts: a few percent of the sink.
    let truth = rms_about_mean(gusty.column("truth_climb_mps"));
    assert!(truth < 0.05, "the true climb changes by {truth} m/s rms");
    let errors = &heard["instruments"][0]["against_truth"];
    // The energy of the airspeed changes by V / g times what the gust changes: in means over a
    // second, with gusts of the correlation exp(-V t / L), by (V / g) sigma
    // sqrt(2 (1 - exp(-V / L))) = 0.8 m/s rms. A quick filter passes most of that on.
    let rms = number(&heard, "sounded", "rms_mps");
    assert!((0.5..0.9).contains(&rms), "{errors}");
    assert!(number(&heard, "false_climb", "beeps") > 100.0, "{errors}");
    assert!(number(&heard, "false_climb", "spells") > 2.0, "{errors}");
    let (calm, heard) = glide(&["--calm"]);
    assert!(rms_about_mean(calm.column("truth_climb_mps")) < 0.05);
    assert_eq!(number(&heard, "false_climb", "spells"), 0.0);
    // Gusts of 0.5 m/s rms along and across: in the airspeed only those along are seen.
    let speed = |table: &Table| -> Vec<f64> {
        // Half the density at 1500 to 900 m, 1.08 to 1.12 kg/m3, times V^2.
        table.column("dynamic_pa").iter().map(|q| (2.0 * q / 1.10).sqrt()).collect()
    };
    let gusts = rms_about_mean(&speed(&gusty));
    assert!((0.35..0.65).contains(&gusts), "{gusts} m/s rms in the airspeed");
}
