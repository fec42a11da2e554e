//! Flash that fails at a place, or cannot be erased: it is passed over and told, and nothing else
//! is lost.

use super::flash::{Flash, SECTOR};
use super::flight::{Bench, rows};
use crate::recorder::page::{CONTINUES, FIRST, GAP, Page, SIZE};
use crate::recorder::ring::{KeepError, Ring};
use crate::recorder::row::Row;
use crate::recorder::taking::Taking;
use chirrup_core::RecordFrom;
use core::ops::Range;
use embassy_futures::block_on;
use std::vec::Vec;

const SECTORS: usize = 6;
const RANGE: Range<u32> = 0..(SECTOR * SECTORS) as u32;

fn page() -> [u8; SIZE] {
    let mut page = Page::default();
    assert!(page.push(&Row::default()));
    page.bytes()
}

fn keep(ring: &mut Ring, flash: &mut Flash, flight: u16, flags: u8) -> Result<u32, KeepError> {
    block_on(ring.keep(flash, &mut page(), flight, flags))
}

#[test]
fn a_flight_goes_on_behind_places_that_do_not_hold_it_and_that_is_said() {
    let mut flash = Flash::new(24, 3);
    flash.stuck = SECTOR..SECTOR + 5 * SIZE;
    let mut bench = Bench::start(flash, RecordFrom::Power);
    bench.run(70.0);
    assert_eq!(bench.text.matches("recorder: flash failed").count(), 1);
    let live = rows(&bench.text);
    bench.ask("device.record = off");
    assert_eq!(rows(&bench.ask("fetch 1"))[..live.len()], live);
    let said = bench.ask("selftest");
    assert!(said.contains("; flash failed at 5 pages and 0 sectors\n"), "{said}");
    assert!(said.contains("\n# recorder: room for ") && said.contains(" minutes, "), "{said}");
}

#[test]
fn a_sector_that_cannot_be_erased_is_passed_over() {
    let mut flash = Flash::new(SECTORS, 1);
    let mut ring = block_on(Ring::open(&mut flash, RANGE));
    for number in 0..ring.places() {
        keep(&mut ring, &mut flash, (number / 20) as u16 + 1, 0).unwrap();
    }
    flash.stuck = SECTOR..2 * SECTOR;
    for _ in 0..3 {
        block_on(ring.erase_ahead(&mut flash)).unwrap();
    }
    assert_eq!(ring.bad(), (0, 1));
    let kept: Vec<u32> = (0..32).map(|_| keep(&mut ring, &mut flash, 9, 0).unwrap()).collect();
    // The second sector's sixteen places are left out.
    assert_eq!(kept, (96..112).chain(128..144).collect::<Vec<u32>>());
    assert_eq!(keep(&mut ring, &mut flash, 9, 0), Err(KeepError::Full));
}

#[test]
fn the_parts_of_a_flight_that_was_restarted_twice_are_never_erased() {
    let mut flash = Flash::new(SECTORS, 1);
    let mut begins = Vec::new();
    for (flight, pages, flags) in [(1, 20, 0), (2, 20, 0), (3, 15, CONTINUES), (4, 10, CONTINUES)] {
        let mut ring = block_on(Ring::open(&mut flash, RANGE));
        begins.push(ring.next());
        for page in 0..pages {
            // As of a recording from power on, whose first page comes too soon to know.
            let first = if page == 0 { FIRST } else { flags };
            keep(&mut ring, &mut flash, flight, first).unwrap();
        }
    }
    let mut ring = block_on(Ring::open(&mut flash, RANGE));
    assert_eq!(ring.first(), begins[1]);
    while block_on(ring.erase_ahead(&mut flash)).is_ok() {}
    for sequence in begins[1]..ring.next() {
        assert!(block_on(ring.page(&mut flash, sequence)).is_some(), "page {sequence}");
    }
    assert!(block_on(ring.page(&mut flash, 0)).is_none(), "the flight before is erased");
    // A flight that begins on the ground frees them.
    keep(&mut ring, &mut flash, 5, FIRST).unwrap();
    assert_eq!(ring.first(), ring.next() - 1);
}

#[test]
fn pages_that_flash_does_not_take_in_time_are_counted_and_the_next_one_says_so() {
    let mut taking = Taking::default();
    let mut row = Row::default();
    let mut take = |taking: &mut Taking, count: i64| {
        for _ in 0..count {
            row.sampled.time.0 += 20_000;
            row.sampled.static_64ths_pa = row.sampled.static_64ths_pa.wrapping_mul(7) ^ 12_345;
            let motion = Default::default();
            taking.take(&row, Default::default(), &motion, RecordFrom::Power, None);
        }
    };
    take(&mut taking, 500);
    let first = taking.next_page().expect("one is full");
    assert_eq!((taking.lost(), first.flags), (0, FIRST));
    // Flash does not come for long.
    take(&mut taking, 5_000);
    assert!(taking.lost() > 10, "{}", taking.lost());
    let flags: Vec<u8> =
        core::iter::from_fn(|| taking.next_page()).map(|ready| ready.flags).collect();
    assert_eq!(flags[0], GAP);
    assert!(flags.len() == 24 && flags[1..].iter().all(|flags| *flags == 0));
}

#[test]
fn a_gap_is_seen_in_the_list_and_in_the_trace() {
    let mut bench = Bench::start(Flash::new(24, 3), RecordFrom::Power);
    bench.run(30.0);
    // For a minute the bus leaves no time for flash.
    bench.is_busy = true;
    bench.run(80.0);
    bench.is_busy = false;
    bench.run(20.0);
    assert_eq!(bench.text.matches("recorder: a page is lost").count(), 1);
    bench.ask("device.record = off");
    let list = bench.ask("flights");
    assert!(list.contains(",ended, with gaps\n"), "{list}");
    let fetched = bench.ask("fetch 1");
    let (before, behind) = fetched.split_once("# gap: rows are lost here").expect("it is said");
    let time = |row: &str| row.split(',').next().unwrap().parse::<i64>().unwrap();
    let (last, next) = (rows(before).pop().unwrap(), rows(behind)[0].clone());
    assert!(time(&next) - time(&last) > 10_000_000, "{last} {next}");
}
