//! The account of a flight: launch, release, landing, and what a badge could rest on.

mod made;
mod plans;

use crate::support::{folder, run, write};
use made::{Made, Writes, written};
use serde_json::Value;

/// What `inspect` says of the flight in a file.
fn flight(path: &str, more: &[&str]) -> Value {
    let mut args = vec!["inspect", path, "--json"];
    args.extend(more);
    let found: Value = serde_json::from_str(&run(&args)).expect("JSON");
    found[0]["flight"].clone()
}

fn found(made: &Made, writes: &Writes) -> Value {
    let folder = folder();
    let name = if writes.positions { "made.igc" } else { "made.csv" };
    flight(&write(&folder, name, written(&made.fixes, writes)), &[])
}

#[test]
fn table_of_made_flights() {
    for (number, plan) in plans::all().iter().enumerate() {
        for seed in [1, 2] {
            let made = made::fly(&plan.text, 100 * number as u64 + seed);
            println!("== {} {seed}: {:?} land {:?}", plan.name, made.launches, made.landings);
            for (step_s, airspeed, positions) in [
                (1, true, true),
                (2, false, true),
                (5, false, true),
                (1, true, false),
                (2, false, false),
            ] {
                let engine = plan.kinds[0] == "engine" && positions;
                let writes = Writes { step_s, airspeed, positions, engine, barometer: true };
                let found = found(&made, &writes);
                let event = |name: &str| {
                    let event = &found[name];
                    if event.is_null() {
                        return "-".to_owned();
                    }
                    format!(
                        "{}[{}..{}]{} {}",
                        event["at_s"],
                        event["earliest_s"],
                        event["latest_s"],
                        event["confidence"],
                        event["why"]
                    )
                };
                println!(
                    "  {step_s} s air {airspeed} pos {positions}: off {} | {} {} | rel {} | land {} others {}",
                    found["take_off_s"],
                    found["launch"]["kind"],
                    found["launch"]["gain_m"],
                    event("release"),
                    event("landing"),
                    found["others"]
                );
            }
        }
    }
}

#[test]
fn dump_one() {
    let plan = plans::all().into_iter().find(|plan| plan.name == "rough tow").unwrap();
    let made = made::fly(&plan.text, 702);
    for fix in made.fixes.iter().filter(|fix| (280.0..420.0).contains(&fix.time_s)) {
        println!(
            "{:.0} h {:.1} v {:.1} e {:.1}",
            fix.time_s,
            fix.height_m,
            fix.tas_mps,
            fix.height_m + fix.tas_mps * fix.tas_mps / 19.6133
        );
    }
}
