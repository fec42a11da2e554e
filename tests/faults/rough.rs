//! False but plausible pressures in still air, size by size: `chirrup::fault_grid`, whose bounds
//! these are.
//!
//! `cargo test --release -p chirrup --test suites -- faults::rough --nocapture --include-ignored`
//! prints every row.

use super::runs;
use chirrup::fault_grid::effect::Trial;
use chirrup::fault_grid::{Row, grid, row};
use chirrup_core::{FilterChoice, Settings};

/// Noises a row: one in CI, more where `CHIRRUP_FAULT_RUNS` says so.
fn seeds() -> u64 {
    (runs() / 20).max(1)
}

#[expect(clippy::print_stdout, reason = "the table that the docs quote, shown with --nocapture")]
fn hold(rows: &[Row]) {
    let table: Vec<_> = rows.iter().map(|row| format!("{row}\n")).collect();
    print!("{}", table.concat());
    assert!(rows.iter().all(Row::is_good), "not within its bounds:\n{}", table.concat());
}

#[test]
fn bursts_are_not_heard() {
    let rows = row::bursts(seeds());
    let [alone, with_airspeed] = &rows[..] else { panic!("{rows:?}") };
    hold(std::slice::from_ref(with_airspeed));
    // A winch bends the altitude as hard as a burst does, so that without an airspeed bends are
    // not put back: its bound of 18 kinds and 7 s is missed by this much.
    assert!(alone.sounding <= 24 && alone.sum_s <= 28.0, "{alone}");
}

#[test]
fn vents_are_not_heard() {
    hold(&row::vents(seeds()));
}

#[test]
fn steps_are_not_heard_with_the_adaptive_filter() {
    hold(&row::steps(FilterChoice::Adaptive, seeds()));
}

#[test]
fn steps_are_not_heard_with_the_fixed_filter() {
    hold(&row::steps(FilterChoice::Fixed, seeds()));
}

#[test]
fn bad_starts_of_slow_logs_are_not_heard() {
    hold(&row::starts(seeds()));
}

#[test]
fn single_wrong_samples_in_slow_logs_are_not_heard() {
    hold(&row::spikes(seeds()));
}

#[test]
fn a_coarse_barometer_is_not_heard() {
    hold(&row::coarse(seeds()));
}

#[test]
fn ice_in_the_static_line_is_heard_as_the_book_says() {
    let rows = row::ice(seeds());
    hold(&rows);
    let [at_static, at_pitot] = &rows[..] else { panic!("{rows:?}") };
    assert!(at_static.worst.climb_s > 60.0, "{at_static}");
    // Ice that closes the line at once, more or less, is suspected 36 s later.
    let quick = row::quick_ice(seeds());
    hold(std::slice::from_ref(&quick));
    assert!(quick.worst.check_static_s.is_some_and(|after_s| after_s > 30.0), "{quick}");
    // One reading of 20 ms in five flights, as the ice lets go.
    assert!(at_pitot.worst.climb_s < 0.05, "{at_pitot}");
}

#[test]
fn without_a_disturbance_nothing_is_heard_and_nothing_moves() {
    let pipeline = Settings::default().build().expect("the defaults are good");
    for trial in [grid::bursts, |_| grid::steps(1.0)].iter().flat_map(|of| of(grid::SOURCES[1])) {
        let effect = Trial { disturbance: None, ..trial }.fly(&pipeline, 1);
        assert_eq!((effect.climb_s, effect.moved_mps), (0.0, 0.0), "{trial:?}");
    }
}
