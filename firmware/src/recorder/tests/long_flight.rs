//! A flight that fills much of the room is there after the next starts, from its first page on.

use super::flash::{Flash, SECTOR};
use crate::instrument::ResetCause;
use crate::recorder::flights::{Flight, Step, Survey};
use crate::recorder::keeper::Keeper;
use crate::recorder::page::{FIRST, Page, SIZE};
use crate::recorder::ring::Ring;
use crate::recorder::row::Row;
use chirrup_core::Micros;
use core::ops::Range;
use embassy_futures::block_on;
use std::vec::Vec;

const SECTORS: usize = 100;
const RANGE: Range<u32> = 0..(SECTOR * SECTORS) as u32;
const PLACES: u32 = RANGE.end / SIZE as u32;

/// Keeps pages of the next flight.
fn fly(flash: &mut Flash, pages: u32) {
    let mut ring = block_on(Ring::open(flash, RANGE));
    let flight = ring.flight() + 1;
    for number in 0..pages {
        let mut page = Page::default();
        assert!(page.push(&Row::default()));
        let flags = if number == 0 { FIRST } else { 0 };
        block_on(ring.keep(flash, &mut page.bytes(), flight, flags)).expect("there is room");
    }
}

fn start(flash: Flash, reset: ResetCause) -> Flash {
    block_on(Keeper::open(flash, RANGE, reset, || Micros(0))).flash().clone()
}

fn flights(flash: &mut Flash) -> Vec<Flight> {
    let ring = block_on(Ring::open(flash, RANGE));
    let (mut survey, mut flights) = (Survey::of(&ring), Vec::new());
    loop {
        match block_on(survey.step(flash, &ring)) {
            Step::More => {}
            Step::Flight(flight) => flights.push(flight),
            Step::End => return flights,
        }
    }
}

#[test]
fn a_long_flight_is_there_from_its_first_page_on_after_every_start() {
    // Behind a flight that ends somewhere in a sector, and a short one.
    for (percent, before) in [60, 75, 95].into_iter().flat_map(|part| [(part, 0), (part, 777)]) {
        let mut flash = Flash::new(SECTORS, 3);
        if before > 0 {
            fly(&mut flash, before);
            fly(&mut flash, 3);
            let mut ring = block_on(Ring::open(&mut flash, RANGE));
            while block_on(ring.erase_ahead(&mut flash)).is_ok() {}
        }
        fly(&mut flash, PLACES * percent / 100);
        let newest = flights(&mut flash).pop();
        assert_eq!(newest.map(|flight| flight.flags), Some(FIRST));
        for _ in 0..3 {
            flash = start(flash, ResetCause::Power);
            assert_eq!(flights(&mut flash).pop(), newest, "{percent} % behind {before}");
        }
    }
}

#[test]
fn a_flash_that_something_else_had_gets_room_at_any_start_and_flights_are_left() {
    for reset in [ResetCause::Software, ResetCause::Watchdog] {
        let mut flash = Flash::new(SECTORS, 3);
        flash.bytes.fill(0x5A);
        flash = start(flash, reset);
        assert_eq!(flash.erasures, 20);
        fly(&mut flash, 300);
        flash = start(flash, reset);
        assert_eq!(flash.erasures, 20);
    }
}
