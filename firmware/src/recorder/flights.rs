//! The flights in a ring: found page by page, a few at a time.

use super::page::{self, CONTINUES, FIRST, GAP, LAST, Rows, SIZE};
use super::ring::Ring;
use super::row::Row;
use crate::log::Columns;
use embedded_storage_async::nor_flash::NorFlash;

/// Pages looked at before others get their turn: about a millisecond on a Pico.
const AT_ONCE: u32 = 8;

/// A flight, or what is left of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Flight {
    /// Its number.
    pub number: u16,
    /// The numbers of its first and its last page.
    pub pages: (u32, u32),
    /// Rows.
    pub rows: u32,
    /// Bytes in flash.
    pub bytes: u32,
    /// `time_us` of its first row and its last.
    pub time_us: (i64, i64),
    /// UTC less `time_us`, where it was known; the last known.
    pub clock_us: Option<i64>,
    /// [`FIRST`] and [`LAST`], as far as its beginning and its end are there; [`CONTINUES`] and
    /// [`GAP`].
    pub flags: u8,
    /// The columns that the log had at its beginning.
    pub columns: Columns,
}

/// Looks for flights.
#[derive(Clone, Debug)]
pub struct Survey {
    at: u32,
    flight: Option<Flight>,
}

/// A step of a survey.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Not yet.
    More,
    /// A flight.
    Flight(Flight),
    /// No more flights.
    End,
}

impl Survey {
    /// From the oldest page on.
    pub fn of(ring: &Ring) -> Self {
        Self { at: ring.oldest(), flight: None }
    }

    /// Looks on.
    pub async fn step<F: NorFlash>(&mut self, flash: &mut F, ring: &Ring) -> Step {
        for _ in 0..AT_ONCE {
            if self.at >= ring.next() {
                return self.finish(flash, ring).await.map_or(Step::End, Step::Flight);
            }
            let Some((head, bytes)) = ring.page(flash, self.at).await else {
                self.at += 1;
                continue;
            };
            if self.flight.is_some_and(|flight| flight.number != head.flight) {
                // The same page comes again, for the next flight.
                return self.finish(flash, ring).await.map_or(Step::More, Step::Flight);
            }
            let flight = self.flight.get_or_insert_with(|| {
                let first = Rows::of(&head).next(&bytes).map_or(0, |row| row.sampled.time.0);
                Flight {
                    number: head.flight,
                    pages: (self.at, self.at),
                    rows: 0,
                    bytes: 0,
                    time_us: (first, first),
                    clock_us: None,
                    flags: 0,
                    columns: head.columns,
                }
            });
            flight.pages.1 = self.at;
            flight.rows = flight.rows.saturating_add(head.rows.into());
            flight.bytes = flight.bytes.saturating_add(SIZE as u32);
            flight.clock_us = head.clock_us.or(flight.clock_us);
            flight.flags |= head.flags & (FIRST | LAST | CONTINUES | GAP);
            self.at += 1;
        }
        Step::More
    }

    async fn finish<F: NorFlash>(&mut self, flash: &mut F, ring: &Ring) -> Option<Flight> {
        let mut flight = self.flight.take()?;
        let (head, bytes) = ring.page(flash, flight.pages.1).await?;
        let mut rows = Rows::of(&head);
        let last = core::iter::from_fn(|| rows.next(&bytes)).last();
        flight.time_us.1 = last.map_or(flight.time_us.1, |row| row.sampled.time.0);
        Some(flight)
    }
}

/// Reads the rows of a flight, one by one.
#[derive(Clone, Debug)]
pub struct Reading {
    number: u16,
    /// The next page, and the last.
    at: u32,
    last: u32,
    page: Option<([u8; SIZE], Rows)>,
    columns: Columns,
}

/// A row of a flight, as it is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Read {
    /// The row.
    pub row: Row,
    /// The columns that the log had from it on.
    pub columns: Columns,
    /// Rows before it are lost.
    pub is_behind_gap: bool,
}

impl Reading {
    /// Of a flight.
    pub fn of(flight: &Flight) -> Self {
        let (at, last) = flight.pages;
        Self { number: flight.number, at, last, page: None, columns: flight.columns }
    }

    /// The next row; `None` after the last.
    pub async fn next<F: NorFlash>(&mut self, flash: &mut F, ring: &Ring) -> Option<Read> {
        let mut is_behind_gap = false;
        loop {
            if let Some(row) = self.page.as_mut().and_then(|(bytes, rows)| rows.next(bytes)) {
                self.columns = self.columns.and_of(&row.sampled);
                return Some(Read { row, columns: self.columns, is_behind_gap });
            }
            self.page = None;
            if self.at > self.last {
                return None;
            }
            let found: Option<(page::Head, _)> = ring.page(flash, self.at).await;
            self.at += 1;
            self.page =
                found.filter(|(head, _)| head.flight == self.number).map(|(head, bytes)| {
                    is_behind_gap |= head.flags & GAP != 0;
                    self.columns = self.columns.and(head.columns);
                    (bytes, Rows::of(&head))
                });
        }
    }
}
