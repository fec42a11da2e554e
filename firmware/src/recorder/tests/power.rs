//! Power cut at any byte of a page or of an erasure: everything before it is read back, and the
//! recorder goes on.

use super::flash::rand_core::Next;
use super::flash::{Flash, SECTOR};
use crate::recorder::page::{Page, Rows, SIZE};
use crate::recorder::ring::{KeepError, Ring};
use crate::recorder::row::Row;
use crate::sampler::Sampled;
use chirrup_core::Micros;
use embassy_futures::block_on;
use std::collections::BTreeMap;
use std::vec::Vec;

const SECTORS: usize = 6;
const RANGE: core::ops::Range<u32> = 0..(SECTOR * SECTORS) as u32;
const IN_SECTOR: u32 = (SECTOR / SIZE) as u32;

fn page(number: u32) -> ([u8; SIZE], Row) {
    let time = Micros(i64::from(number) * 1_000_003);
    let sampled = Sampled { time, static_64ths_pa: number as i32, ..Sampled::default() };
    let row = Row { sampled, vertical_speed_mmps: Some(-3) };
    let mut page = Page::default();
    assert!(page.push(&row));
    (page.bytes(), row)
}

/// What is read back, by the pages' numbers.
fn found(flash: &mut Flash, ring: &Ring) -> BTreeMap<u32, Row> {
    let mut found = BTreeMap::new();
    for sequence in ring.oldest()..ring.next() {
        if let Some((head, bytes)) = block_on(ring.page(flash, sequence)) {
            found.insert(sequence, Rows::of(&head).next(&bytes).expect("a row"));
        }
    }
    found
}

#[test]
fn power_cut_at_any_byte_loses_nothing_before_it() {
    let mut chance = Next(20_261_126);
    let (mut cut_writes, mut cut_erasures) = (0, 0);
    for run in 0..10 {
        let mut flash = Flash::new(SECTORS, run + 1);
        // The flash may hold anything at first.
        if run % 2 == 1 {
            flash.bytes.iter_mut().for_each(|byte| *byte = chance.next() as u8);
        }
        let (mut kept, mut number) = (BTreeMap::new(), 0);
        let mut under_way = None;
        for _ in 0..40 {
            flash.power = usize::MAX;
            let mut ring = block_on(Ring::open(&mut flash, RANGE));
            let read = found(&mut flash, &ring);
            // The page under way may have been whole when the power went.
            let whole = under_way.take().filter(|(sequence, _)| read.contains_key(sequence));
            kept.extend(whole);
            // Only the oldest may be gone: what an erasure for new pages took, and what the ring
            // no longer has room for.
            let oldest = read.keys().next().copied().unwrap_or(ring.next());
            let wanted: BTreeMap<u32, Row> =
                kept.range(oldest..).map(|(place, row)| (*place, *row)).collect();
            assert_eq!(read, wanted, "run {run}, page {number}");
            assert!(ring.next() - oldest + 3 * IN_SECTOR >= ring.next().min(ring.places()));
            flash.power = (chance.next() % 4_000) as usize;
            // On the ground: two sectors ahead. Then a flight, until the power goes.
            while block_on(ring.erased(&mut flash, 2 * IN_SECTOR)) < 2 * IN_SECTOR {
                let erased = block_on(ring.erase_ahead(&mut flash));
                if flash.power == 0 || erased.is_err() {
                    cut_erasures += 1;
                    break;
                }
            }
            while flash.power > 0 {
                let (mut bytes, row) = page(number);
                // Flights of ten pages, as that of the newest page is never erased.
                let flight = (number / 10) as u16 + 1;
                match block_on(ring.keep(&mut flash, &mut bytes, flight, 0)) {
                    Ok(sequence) => drop(kept.insert(sequence, row)),
                    Err(KeepError::Full) => break,
                    Err(KeepError::Flash) => {
                        under_way = Some((ring.next() - 1, row));
                        cut_writes += 1;
                    }
                }
                number += 1;
            }
        }
    }
    assert!(cut_writes > 200 && cut_erasures > 20, "{cut_writes} {cut_erasures}");
}

#[test]
fn pages_that_were_kept_are_never_erased_while_older_ones_are_left() {
    let mut flash = Flash::new(SECTORS, 1);
    let mut ring = block_on(Ring::open(&mut flash, RANGE));
    let mut kept = Vec::new();
    for number in 0..250 {
        let (mut bytes, row) = page(number);
        // Flights of ten pages, as that of the newest page is never erased.
        let flight = (number / 10) as u16 + 1;
        if block_on(ring.keep(&mut flash, &mut bytes, flight, 0)) == Err(KeepError::Full) {
            block_on(ring.erase_ahead(&mut flash)).unwrap();
            block_on(ring.keep(&mut flash, &mut bytes, flight, 0)).unwrap();
        }
        kept.push(row);
        let read: Vec<Row> = found(&mut flash, &ring).into_values().collect();
        assert_eq!(read, kept[kept.len() - read.len()..]);
        let least = (SECTORS - 1) * IN_SECTOR as usize;
        assert!(read.len() >= kept.len().min(least), "{} of {}", read.len(), kept.len());
        let opened = block_on(Ring::open(&mut flash, RANGE));
        assert_eq!(opened.next(), ring.next());
        assert_eq!((opened.flight(), opened.first()), (ring.flight(), ring.first()));
    }
    assert!(flash.erasures >= 250 / IN_SECTOR as usize - SECTORS);
}

#[test]
fn a_full_flash_keeps_its_old_flights_until_it_may_erase() {
    let mut flash = Flash::new(SECTORS, 1);
    let mut ring = block_on(Ring::open(&mut flash, RANGE));
    for number in 0..ring.places() {
        block_on(ring.keep(&mut flash, &mut page(number).0, 1, 0)).unwrap();
    }
    let before = found(&mut flash, &ring);
    assert_eq!(block_on(ring.keep(&mut flash, &mut page(0).0, 1, 0)), Err(KeepError::Full));
    assert_eq!(found(&mut flash, &ring), before);
    assert_eq!(before.len(), SECTORS * IN_SECTOR as usize);
}

#[test]
fn a_flash_full_of_anything_has_no_page_and_can_be_used() {
    for seed in 1..20 {
        let mut flash = Flash::new(SECTORS, seed);
        let mut chance = Next(seed);
        flash.bytes.iter_mut().for_each(|byte| *byte = chance.next() as u8);
        let mut ring = block_on(Ring::open(&mut flash, RANGE));
        assert_eq!((ring.next(), ring.flight()), (0, 0));
        assert!(found(&mut flash, &ring).is_empty());
        block_on(ring.erase_ahead(&mut flash)).unwrap();
        assert_eq!(block_on(ring.erased(&mut flash, 1_000)), IN_SECTOR);
        block_on(ring.keep(&mut flash, &mut page(0).0, 1, 0)).unwrap();
    }
}

#[test]
fn a_place_that_does_not_hold_what_was_written_is_skipped() {
    let mut flash = Flash::new(SECTORS, 1);
    // Read as erased by its first bytes, but it is not.
    flash.bytes[100] = 0;
    let mut ring = block_on(Ring::open(&mut flash, RANGE));
    assert_eq!(block_on(ring.keep(&mut flash, &mut page(0).0, 1, 0)), Ok(1));
    assert_eq!(found(&mut flash, &ring).len(), 1);
}
