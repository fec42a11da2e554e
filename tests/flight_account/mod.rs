//! The account of a flight: launch, release, landing, climbs, and what a badge could rest on.
//!
//! Real flights are held against figures read by hand, our own recordings against their own truth,
//! and made flights against the simulator's.

mod limits;
mod made;
mod own;
mod plans;
mod real;
mod tempting;
mod unseen;

use crate::support::run;
use serde_json::Value;

/// What `inspect` says of the flight in a file.
fn flight(path: &str, more: &[&str]) -> Value {
    let mut args = vec!["inspect", path, "--json"];
    args.extend(more);
    let found: Value = serde_json::from_str(&run(&args)).expect("JSON");
    found[0]["flight"].clone()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

/// The limits that it says are reached, such as `duration 18000`.
fn reached(flight: &Value) -> Vec<String> {
    let list = flight["badges"]["reached"].as_array().expect("a list");
    let words = |one: &Value| format!("{} {}", one["what"].as_str().expect("text"), one["limit"]);
    list.iter().map(words).collect()
}

/// What must hold of every flight, whatever it is.
fn holds_together(flight: &Value) {
    let time = |name: &str| flight[name].as_f64();
    let order: Vec<f64> =
        ["take_off_s", "release_s", "landing_s"].into_iter().filter_map(time).collect();
    assert!(order.is_sorted(), "{flight}");
    for name in ["take_off", "release", "landing"] {
        let event = &flight[name];
        if !event.is_null() {
            let at_s = number(&event["at_s"]);
            assert!((number(&event["earliest_s"])..=number(&event["latest_s"])).contains(&at_s));
        }
    }
    assert!(number(&flight["best_gain_m"]) >= 0.0);
    let mut until_s = time("release_s").unwrap_or(f64::MIN);
    for climb in flight["climbs"].as_array().expect("a list") {
        let (from_s, to_s) = (number(&climb["from_s"]), number(&climb["to_s"]));
        assert!(from_s >= until_s && to_s > from_s, "{climb} after {until_s}");
        assert!(number(&climb["gain_m"]) > 0.0 && number(&climb["mean_mps"]) > 0.0);
        until_s = to_s;
    }
}
