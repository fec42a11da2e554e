//! Any rows come back to the bit.

use crate::gnss::pvt::Velocity;
use crate::gnss::receiver::Ground;
use crate::inertial::average::{Averaged, SpreadSteps};
use crate::log::Columns;
use crate::recorder::page::{self, Page, Rows, SIZE};
use crate::recorder::row::Row;
use crate::sampler::Sampled;
use chirrup_core::Micros;
use proptest::prelude::*;
use std::vec::Vec;

/// The rows as pages, each with the head that a ring gives it.
pub fn pages(rows: &[Row]) -> Vec<[u8; SIZE]> {
    let (mut page, mut pages) = (Page::default(), Vec::new());
    let sealed = |page: &Page, sequence| {
        let mut bytes = page.bytes();
        page::seal(&mut bytes, sequence, 7, 0);
        bytes
    };
    for row in rows {
        if !page.push(row) {
            pages.push(sealed(&page, pages.len() as u32));
            page.begin(None, Columns::default());
            assert!(page.push(row), "an empty page has room for any row");
        }
    }
    if !page.is_empty() {
        pages.push(sealed(&page, pages.len() as u32));
    }
    pages
}

pub fn rows_of(bytes: &[u8; SIZE]) -> Vec<Row> {
    let head = page::head(bytes).expect("it is a page");
    let mut rows = Rows::of(&head);
    let found: Vec<Row> = std::iter::from_fn(|| rows.next(bytes)).collect();
    assert_eq!(found.len(), usize::from(head.rows));
    found
}

/// Small steps for the most part, as sensors make them, and now and then anything.
fn number() -> impl Strategy<Value = i32> {
    prop_oneof![4 => -300..300, 1 => any::<i32>(), 1 => Just(i32::MAX), 1 => Just(i32::MIN)]
}

fn time() -> impl Strategy<Value = i64> {
    prop_oneof![8 => 0_i64..60_000, 1 => any::<i64>(), 1 => Just(i64::MAX), 1 => Just(i64::MIN)]
}

fn averaged() -> impl Strategy<Value = Averaged> {
    let of_three = || prop::array::uniform3(number());
    let spread = prop::option::of(prop::array::uniform4(number()));
    (of_three(), of_three(), spread).prop_map(|(force, turn, spread)| Averaged {
        force,
        turn,
        spread: spread.map(|[largest_force, force_deviation, largest_turn, turn_deviation]| {
            SpreadSteps { largest_force, force_deviation, largest_turn, turn_deviation }
        }),
    })
}

fn row() -> impl Strategy<Value = Row> {
    let ground = prop::array::uniform4(number()).prop_map(|[north, east, down, age_us]| Ground {
        velocity: Velocity { north_mmps: north, east_mmps: east, down_mmps: down },
        age_us,
    });
    let optional = || prop::option::weighted(0.9, number());
    let inertial = prop::option::weighted(0.8, averaged());
    (time(), number(), optional(), optional(), optional(), inertial, prop::option::of(ground))
        .prop_map(|(time, pressure, dynamic, te, speed, inertial, ground)| Row {
            sampled: Sampled {
                time: Micros(time),
                static_64ths_pa: pressure,
                dynamic_64ths_pa: dynamic,
                te_64ths_pa: te,
                inertial,
                ground,
            },
            vertical_speed_mmps: speed,
        })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_rows_come_back_to_the_bit(
        rows in prop::collection::vec(row(), 0..400),
        is_steady in any::<bool>(),
    ) {
        // Half of them on the grid of frames, as an instrument makes them.
        let mut at = 0_i64;
        let rows: Vec<Row> = rows.into_iter().map(|mut row| {
            if is_steady {
                at = at.wrapping_add(20_000).wrapping_add(row.sampled.time.0 % 8);
                row.sampled.time = Micros(at);
            }
            row
        }).collect();
        let found: Vec<Row> = pages(&rows).iter().flat_map(rows_of).collect();
        prop_assert_eq!(found, rows);
    }

    #[test]
    fn bytes_that_are_no_page_give_none_and_never_a_panic(
        bytes in prop::collection::vec(any::<u8>(), SIZE),
        rows in any::<u8>(),
    ) {
        let mut bytes: [u8; SIZE] = bytes.try_into().unwrap();
        prop_assert_eq!(page::head(&bytes), None);
        // Even under a right CRC.
        bytes[4..6].copy_from_slice(&[0, rows]);
        page::seal(&mut bytes, 3, 4, 0);
        let head = page::head(&bytes).unwrap();
        let mut found = Rows::of(&head);
        prop_assert!(std::iter::from_fn(|| found.next(&bytes)).count() <= usize::from(head.rows));
    }
}

#[test]
fn a_head_says_what_it_was_given() {
    let mut page = Page::default();
    let columns = Columns { inertial: false, ground: true };
    page.begin(Some(-123_456_789_012_345), columns);
    assert!(page.push(&Row::default()));
    let mut bytes = page.bytes();
    let flags = page::FIRST | page::LAST | page::CONTINUES | page::GAP;
    page::seal(&mut bytes, 0xFEDC_BA98, 65_535, flags);
    let head = page::head(&bytes).unwrap();
    assert_eq!((head.sequence, head.flight, head.rows), (0xFEDC_BA98, 65_535, 1));
    assert_eq!((head.flags, head.columns), (flags, columns));
    assert_eq!(head.clock_us, Some(-123_456_789_012_345));
    assert_eq!(rows_of(&bytes), [Row::default()]);
}

#[test]
fn a_page_with_any_bit_wrong_is_none() {
    let [bytes] = pages(&[Row::default()])[..] else { panic!("there is one") };
    for bit in 0..8 * SIZE {
        let mut wrong = bytes;
        wrong[bit / 8] ^= 1 << (bit % 8);
        assert_eq!(page::head(&wrong), None, "bit {bit}");
    }
}
