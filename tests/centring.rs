//! How good the figures of `circling` are: on thermals made by `chirrup_flight::centring`, whose
//! truth is known, and on real flights.
//!
//! The pilots, the thermals and the truth share no code with the analysis, which sees an IGC file:
//! a fix a second, heights in whole metres, positions in thousandths of a minute.

mod books;
mod by_height;
mod even;
mod gyro;
mod judged;
mod made;
mod own;
mod real;
mod swapped;
mod table;
mod technique;
mod truth;

use judged::Judged;
use made::{Logger, Made};
use std::ops::Range;
use table::{Figures, Row};

/// The seeds of the fifty on which the figures are stated, fifty others, and three hundred.
const FIFTY: Range<u64> = 1_000..1_050;
const OTHERS: Range<u64> = 2_000..2_050;
const MANY: Range<u64> = 3_000..3_300;

fn judged(seeds: Range<u64>) -> Vec<Judged> {
    seeds.map(|seed| Judged::of(&Made::of_seed(seed))).collect()
}

/// The bounds of the requirement, and the table in the book.
#[test]
fn the_docs_hold_the_table_of_made_thermals() {
    let (fifty, others) = (judged(FIFTY), judged(OTHERS));
    let mut rows = table::rows(&fifty);
    rows.push(Row::of("all, other seeds", others.iter()));
    for Row { name, figures, .. } in rows.iter().filter(|row| row.name.starts_with("all")) {
        let Figures { off_error_m, lost_error_mps, centred_error_s, airspeed, .. } = figures;
        assert!(*off_error_m <= 12.0, "{name}: {off_error_m} m");
        assert!(*lost_error_mps <= 0.12, "{name}: {lost_error_mps} m/s");
        assert!((airspeed.0 - 1.0).abs() <= 0.02 && airspeed.1 <= 0.02, "{name}: {airspeed:?}");
        // Half of fifty pilots ever centre, and the median of so few errors scatters: that of the
        // other fifty, stated in the book, is held only so far. Of three hundred it is below 10 s.
        let most_s = if *name == "all" { 10.0 } else { 15.0 };
        assert!(*centred_error_s <= most_s, "{name}: {centred_error_s} s");
    }
    books::hold("made thermals", &table::text(&rows));
}

/// The same over 300 thermals, with late barometers, without positions, and by pilots. Run it with
/// `--ignored`.
#[test]
#[ignore = "takes three minutes"]
fn the_docs_hold_the_tables_of_three_hundred_made_thermals() {
    let mut rows = table::rows(&judged(MANY));
    let Row { figures, .. } = &rows[0];
    assert!(figures.off_error_m <= 12.0 && figures.lost_error_mps <= 0.12, "{figures:?}");
    assert!(figures.centred_error_s <= 10.0, "{figures:?}");
    for (name, late_s) in [("barometer 1 s late", 1.0), ("barometer 2 s late", 2.0)] {
        let late = |seed| {
            let made = Made::of_seed(seed);
            let logger = Logger { late_s, ..made.logger() };
            Judged::by(&made, logger)
        };
        let all: Vec<Judged> = FIFTY.chain(OTHERS).map(late).collect();
        rows.push(Row::of(name, all.iter()));
    }
    books::hold("three hundred", &table::text(&rows));
    let (median_s, wrong) = by_height::errors(MANY);
    let by_height = format!(
        "Over 300 made thermals the median error is {median_s:.0} s, and {:.0} % are wrong by more \
         than 10 s.\n",
        100.0 * wrong
    );
    books::hold("by height", &by_height);
    books::hold("technique", &technique::table(1_000..1_030));
}
