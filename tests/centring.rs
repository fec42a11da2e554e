//! How good the figures of `circling` are: on thermals made by `chirrup_flight::centring`, whose
//! truth is known, and on real flights.
//!
//! The pilots, the thermals and the truth share no code with the analysis, which sees an IGC file:
//! a fix a second, heights in whole metres, positions in thousandths of a minute.

mod books;
mod judged;
mod made;
mod real;
mod table;
mod truth;

use judged::Judged;
use made::Made;
use table::{Figures, Row};

/// The seeds of the fifty on which the figures are stated, and of fifty others.
const FIFTY: std::ops::Range<u64> = 1_000..1_050;
const OTHERS: std::ops::Range<u64> = 2_000..2_050;

fn judged(seeds: std::ops::Range<u64>) -> Vec<Judged> {
    seeds.map(|seed| Judged::of(&Made::of_seed(seed))).collect()
}

/// Run with `--ignored --nocapture`: the same table over 300 thermals.
#[test]
#[ignore = "takes a minute, and only prints"]
#[expect(clippy::print_stdout, reason = "it prints a table")]
fn three_hundred_made_thermals() {
    println!("{}", table::text(&table::rows(&judged(3_000..3_300))));
}

/// The bounds of "Done means" of the requirement.
#[test]
#[expect(clippy::print_stdout, reason = "the table is shown with --nocapture")]
fn fifty_made_thermals_are_judged_as_well_as_is_stated() {
    for seeds in [FIFTY, OTHERS] {
        let all = judged(seeds.clone());
        println!("seeds {} to {}\n{}", seeds.start, seeds.end - 1, table::text(&table::rows(&all)));
        let Row { figures, .. } = Row::of("all", all.iter());
        let Figures { off_error_m, lost_error_mps, centred_error_s, airspeed, .. } = figures;
        assert!(off_error_m <= 12.0, "{off_error_m} m");
        assert!(lost_error_mps <= 0.12, "{lost_error_mps} m/s");
        assert!(centred_error_s <= 10.0, "{centred_error_s} s");
        assert!((airspeed.0 - 1.0).abs() <= 0.02 && airspeed.1 <= 0.02, "{airspeed:?}");
    }
}
