//! Figures that `docs/src/inertial.md` repeats from the table of `docs/src/cost.md`.

use super::{read, root};

/// Rows of the table whose figure is repeated.
const REPEATED: [&str; 4] = [
    "The same with a pitot, in flight",
    "The same with a pitot and an inertial sensor",
    "The same with those and a satellite receiver",
    "Cortex-M4F, a sample, with pitot, polar and inertial sensor",
];

/// A whole number of more than four digits as the book writes it.
fn spaced(figure: &str) -> String {
    match figure.len().checked_sub(3) {
        Some(place) if place > 1 && !figure.contains('.') => {
            format!("{} {}", &figure[..place], &figure[place..])
        }
        _ => figure.to_owned(),
    }
}

#[test]
fn the_inertial_sensors_cost_is_that_of_the_table() {
    let book = root().join("docs/src");
    let (table, page) = (read(&book.join("cost.md")), read(&book.join("inertial.md")));
    let section = page.split("## What it costs").nth(1).expect("it has the section");
    let section = section.split("\n## ").next().expect("it has text");
    for what in REPEATED {
        let row = table.lines().find(|line| line.starts_with(&format!("| {what} |")));
        let figure = row.and_then(|row| row.split('|').nth(2)).expect("the table has it").trim();
        let said = spaced(figure);
        assert!(section.contains(&said), "inertial.md does not say {said} for '{what}'");
    }
}
