//! `chirrup response`: its figures against closed forms, against the requirements of the adaptive
//! filter, and against the docs.

use crate::support::{complaint, folder, path, run};
use serde_json::Value;
use std::fs;
use std::path::Path;

/// The figures of `chirrup response` with `args`.
fn figures(args: &[&str]) -> Value {
    let text = run(&[&["response", "--only", "still", "--json"], args].concat());
    serde_json::from_str(&text).expect("it prints JSON")
}

/// The number at `place`, such as `/still_air/noise_mps`.
fn number(figures: &Value, place: &str) -> f64 {
    let value = figures.pointer(place).unwrap_or_else(|| panic!("there is no {place}"));
    value.as_f64().unwrap_or_else(|| panic!("{place} is {value}"))
}

fn rows<'a>(figures: &'a Value, place: &str) -> &'a Vec<Value> {
    figures
        .pointer(place)
        .and_then(Value::as_array)
        .unwrap_or_else(|| panic!("there is no list {place}"))
}

fn assert_within(share: f64, found: f64, expected: f64, what: &str) {
    assert!(
        (found / expected - 1.0).abs() <= share,
        "{what}: {found}, expected {expected} within {share}"
    );
}

#[test]
fn every_figure_is_there_and_finite() {
    let all = figures(&["--runs", "3"]);
    for place in [
        "/rate_hz",
        "/sensor_noise_m",
        "/seeds",
        "/settings/response_s",
        "/still_air/noise_mps",
        "/still_air/beyond_climb_threshold_fraction",
        "/still_air/equally_quiet_fixed_response_s",
        "/ramp/delay_s",
        "/ramp/fixed_delay_s",
        "/waves/amplitude_mps",
        "/limit/fixed_noise_of_ramp_delay_mps",
        "/limit/noise_ratio_of_ramp_delay",
        "/limit/equally_quick_fixed_response_s",
        "/limit/equally_quick_fixed_noise_mps",
        "/limit/noise_ratio_of_equal_lag",
        "/flight/present/error_mps",
        "/flight/best_fixed/response_s",
        "/flight/best_fixed/error_mps",
        "/flight/best_fixed/still_air_noise_mps",
        "/flight/equally_quiet_fixed/error_mps",
    ] {
        assert!(number(&all, place).is_finite(), "{place}");
    }
    let each = |list: &str, count: usize, names: &[&str]| {
        assert_eq!(rows(&all, list).len(), count, "{list}");
        for row in rows(&all, list) {
            names.iter().for_each(|name| assert!(number(row, name).is_finite(), "{list} {name}"));
        }
    };
    let lags = ["/present/lag_50_s", "/present/lag_90_s", "/fixed/lag_50_s", "/fixed/lag_90_s"];
    each("/edges", 12, &lags);
    each("/edges", 12, &["/from_mps", "/to_mps", "/edge_s", "/lag_50_ratio", "/lag_90_ratio"]);
    each("/edges", 12, &["/present/overshoot_fraction", "/fixed/overshoot_fraction"]);
    each(
        "/waves/points",
        8,
        &["/frequency_hz", "/gain", "/phase_lag_deg", "/fixed_gain", "/fixed_phase_lag_deg"],
    );
    each("/front", 11, &["/response_s", "/noise_mps", "/lag_50_s", "/lag_90_s"]);
}

#[test]
fn the_same_command_prints_the_same_text_and_fits_a_narrow_window() {
    let args =
        ["response", "--only", "still", "--runs", "2", "--sensor-rate", "20", "--noise", "0.3"];
    let text = run(&args);
    assert_eq!(text, run(&args));
    let longest = text.lines().map(str::len).max();
    assert!(longest <= Some(100), "a line of {longest:?} columns");
}

#[test]
fn the_fixed_filter_measures_as_the_textbook_says() {
    // published-values, section 5, for r = sigma^2 dt and w0 = sqrt 2 / delay: noise sqrt(r
    // w0^3 / (2 sqrt 2)), DC delay sqrt 2 / w0, gain 1 / sqrt(1 + (w / w0)^4), phase lag atan2(sqrt
    // 2 w / w0, 1 - (w / w0)^2).
    for (response_s, noise_m, rate_hz) in [(1.0_f64, 0.1_f64, 50.0), (0.5, 0.03, 100.0)] {
        let settings = format!("filter=fixed,response_s={response_s}");
        let found = figures(&[
            "--settings",
            &settings,
            "--noise",
            &noise_m.to_string(),
            "--sensor-rate",
            &rate_hz.to_string(),
        ]);
        let w0 = 2.0_f64.sqrt() / response_s;
        let noise_mps = (noise_m * noise_m / rate_hz * w0.powi(3) / (2.0 * 2.0_f64.sqrt())).sqrt();
        assert_within(0.03, number(&found, "/still_air/noise_mps"), noise_mps, "noise");
        assert_within(
            0.03,
            number(&found, "/still_air/equally_quiet_fixed_response_s"),
            response_s,
            "equal noise",
        );
        assert_within(0.03, number(&found, "/ramp/delay_s"), response_s, "delay");
        assert_within(
            0.03,
            number(&found, "/flight/equally_quiet_fixed/still_air_noise_mps"),
            noise_mps,
            "noise",
        );
        for wave in
            rows(&found, "/waves/points").iter().filter(|wave| number(wave, "/frequency_hz") < 0.6)
        {
            let ratio = std::f64::consts::TAU * number(wave, "/frequency_hz") / w0;
            assert_within(0.03, number(wave, "/gain"), 1.0 / (1.0 + ratio.powi(4)).sqrt(), "gain");
            let lag_deg = (2.0_f64.sqrt() * ratio).atan2(1.0 - ratio * ratio).to_degrees();
            assert_within(0.03, number(wave, "/phase_lag_deg"), lag_deg, "phase lag");
        }
        for edge in rows(&found, "/edges") {
            // It is its own yardstick.
            assert_within(0.05, number(edge, "/lag_50_ratio"), 1.0, "ratio of lags");
            assert_within(0.05, number(edge, "/lag_90_ratio"), 1.0, "ratio of lags");
        }
        assert_within(
            0.05,
            number(&found, "/limit/noise_ratio_of_equal_lag"),
            1.0,
            "its place on the front",
        );
    }
}

#[test]
fn the_adaptive_filter_is_as_quick_and_as_quiet_as_was_asked_for() {
    for noise_m in ["0.03", "0.1"] {
        let found = figures(&["--noise", noise_m]);
        for edge in rows(&found, "/edges") {
            let (from, to) = (number(edge, "/from_mps"), number(edge, "/to_mps"));
            let is_strong = from.max(to) > 1.5 && number(edge, "/edge_s") == 1.0;
            let most = if is_strong { 0.5 } else { 0.65 };
            for name in ["/lag_50_ratio", "/lag_90_ratio"] {
                assert!(number(edge, name) <= most, "{noise_m} m: {name} of {edge}");
            }
            assert!(number(edge, "/present/overshoot_fraction") <= 0.1, "{noise_m} m: {edge}");
        }
        // Error below that of the best fixed filter in hindsight, at no more than half its noise in
        // still air.
        let of = |filter: &str, what: &str| number(&found, &format!("/flight/{filter}/{what}"));
        let (error, noise) = ("error_mps", "still_air_noise_mps");
        assert!(of("present", error) < of("best_fixed", error), "{noise_m} m: {}", found["flight"]);
        assert!(
            of("present", noise) <= 0.5 * of("best_fixed", noise),
            "{noise_m} m: {}",
            found["flight"]
        );
    }
}

#[test]
fn the_picture_is_drawn_as_its_ending_says() {
    let folder = folder();
    let (svg, png) = (path(&folder, "r.svg"), path(&folder, "r.png"));
    for place in [&svg, &png] {
        run(&[
            "response",
            "--only",
            "still",
            "--runs",
            "1",
            "--sensor-rate",
            "10",
            "--plot",
            place,
        ]);
    }
    assert!(fs::read_to_string(svg).expect("it is there").starts_with("<svg"));
    assert!(fs::read(png).expect("it is there").starts_with(b"\x89PNG"));
}

#[test]
fn what_cannot_be_measured_is_exit_2_in_one_line() {
    for (args, part) in [
        (&["--sensor-rate", "0"][..], "--sensor-rate is 0, expected 1 to 200"),
        (&["--sensor-rate", "-5"], "--sensor-rate is -5, expected 1 to 200"),
        (&["--sensor-rate", "NaN"], "--sensor-rate is NaN, expected 1 to 200"),
        (&["--noise", "9"], "--noise is 9, expected 0.002 to 5"),
        (&["--runs", "0"], "--runs is 0, expected 1 to 1000"),
        (&["--plot", "r.jpg"], "--plot r.jpg: found no known ending, expected .svg or .png"),
        (&["--json", "--plot", "-"], "--json and --plot - both want standard output"),
        (&["--settings", "response_s=99"], "response_s is 99, expected 0.1 to 10"),
        (&["--settings", "respond=1"], "there is no setting respond"),
    ] {
        let message = complaint(&[&["response"], args].concat(), 2);
        assert!(message.starts_with("chirrup: ") && message.contains(part), "{args:?}: {message}");
    }
    let message = complaint(&["response", "--runs", "1", "--plot", "nowhere/r.png"], 1);
    assert!(message.contains("cannot write nowhere/r.png"), "{message}");
}

/// The tables in the docs: the mark that they stand between, and what prints them.
const TABLES: [(&str, &[&str]); 2] = [
    ("what chirrup response prints", &["response", "--only", "still"]),
    ("what it prints of rough air", &["response", "--only", "rough", "--rough-runs", "2"]),
];

#[test]
fn the_table_in_the_docs_is_what_the_program_prints() {
    let docs = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/src/response.md");
    let rewrites = std::env::var_os("CHIRRUP_REWRITE_DOCS").is_some_and(|value| value == "1");
    for (mark, args) in TABLES {
        let (begin, end) = (format!("<!-- {mark}: begin -->\n"), format!("<!-- {mark}: end -->\n"));
        let text = fs::read_to_string(&docs).expect("the docs are there");
        let (before, rest) = text.split_once(&begin).expect("the docs have the table's beginning");
        let (table, after) = rest.split_once(&end).expect("the docs have the table's end");
        let printed = format!("```text\n{}```\n", run(args));
        if rewrites {
            fs::write(&docs, format!("{before}{begin}{printed}{end}{after}"))
                .expect("the docs can be written");
        } else {
            assert_same_table(table, &printed);
        }
    }
}

fn assert_same_table(table: &str, printed: &str) {
    assert_eq!(
        table.lines().count(),
        printed.lines().count(),
        "the table has other lines; see docs/src/response.md"
    );
    for (written, printed) in table.lines().zip(printed.lines()) {
        assert!(
            agree(written, printed),
            "the docs say\n{written}\nand the program\n{printed}\nTo write them anew: \
             CHIRRUP_REWRITE_DOCS=1"
        );
    }
}

/// Whether two lines have the same words, and numbers that differ by rounding at most: one in the
/// last digit.
fn agree(written: &str, printed: &str) -> bool {
    let (written, printed): (Vec<_>, Vec<_>) =
        (written.split_whitespace().collect(), printed.split_whitespace().collect());
    written.len() == printed.len()
        && written.iter().zip(&printed).all(|(a, b)| a == b || are_near(a, b))
}

fn are_near(written: &str, printed: &str) -> bool {
    let (written, printed) =
        (written.trim_matches(['(', ')', ',']), printed.trim_matches(['(', ')', ',']));
    let (Ok(a), Ok(b)) = (written.parse::<f64>(), printed.parse::<f64>()) else { return false };
    let decimals = printed.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    (a - b).abs() <= 1.001 * 10.0_f64.powi(-(decimals as i32))
}

#[test]
fn lines_that_differ_by_more_than_rounding_do_not_agree() {
    assert!(agree("noise  0.0145 m/s (0.23 s)", "noise 0.0146 m/s (0.22 s)"));
    assert!(!agree("noise 0.0145 m/s", "noise 0.0147 m/s"));
    assert!(!agree("noise 0.0145 m/s", "sound 0.0145 m/s"));
    assert!(!agree("noise 0.0145 m/s", "noise 0.0145"));
}
