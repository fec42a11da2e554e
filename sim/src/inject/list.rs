//! The catalogue as people read it: on a terminal, and in the docs.

use super::catalogue::{CATALOGUE, Entry, Lift, Place};
use crate::text_table::{Column, Table};
use std::fmt::Write;

/// What `--inject list` prints.
pub fn list() -> String {
    let mut text = String::from(
        "Faults for --inject FAULT[:AXIS][@TIME[,DURATION]]; docs/src/faults.md describes each.\n\
         AXIS is x, y or z, for a fault of one of the inertial sensor's axes.\n\n",
    );
    let mut faults = Table::new([Column::left("").wide(15), Column::left("").gap(1)]);
    for entry in CATALOGUE.iter().filter(|entry| matches!(entry.place, Place::Trace(_))) {
        faults.row([entry.name, entry.injected]);
    }
    text += &faults.to_string();
    text.push_str(
        "\nFor example:\n  \
         chirrup replay flight.csv --inject frozen@2:30,10 --wav frozen.wav --plot frozen.png\n",
    );
    text
}

/// The table of `docs/src/faults.md` for the faults of one place, in Markdown.
pub fn table(is_here: impl Fn(&Place) -> bool) -> String {
    let mut text = String::from(
        "| fault | what is done | how it is noticed, and within | heard | shown \
         | how it ends, and within | false lift | tests |\n\
         |---|---|---|---|---|---|---|---|\n",
    );
    for entry in CATALOGUE.iter().filter(|entry| is_here(&entry.place)) {
        let Entry {
            name,
            injected,
            noticed,
            within_s,
            heard,
            shown,
            recovers,
            recovers_s,
            lift,
            tests,
            ..
        } = entry;
        let is_of_trace = matches!(entry.place, Place::Trace(_));
        let lift = match lift {
            _ if !is_of_trace => "none".into(),
            Lift::Never => "none".into(),
            Lift::FollowsStick(most_s) => {
                format!("at most {most_s} s against the rate of height; pitch inputs are audible")
            }
            Lift::AtMost(_, measured) | Lift::Limit(measured) => String::from(*measured),
        };
        let tests = tests.iter().map(|test| format!("`{test}`")).collect::<Vec<_>>().join(", ");
        let (noticed, recovers) = (timed(noticed, *within_s), timed(recovers, *recovers_s));
        let _ = writeln!(
            text,
            "| `{name}` | {injected} | {noticed} | {heard} | {shown} | {recovers} | {lift} \
             | {tests} |"
        );
    }
    text
}

fn timed(text: &str, seconds: Option<f32>) -> String {
    seconds.map_or_else(|| text.to_owned(), |seconds| format!("{text}; {seconds} s"))
}
