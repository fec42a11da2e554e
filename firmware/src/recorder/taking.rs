//! Which rows are kept: from launch or from power-on, with what came just before.
//!
//! ```text
//!            launch, or at once        landed, or turned off
//! WAITING ----------------------> KEEPING ------------------> WAITING
//!   the last pages stay in RAM      each page goes to flash
//! ```

use super::motion::Motion;
use super::page::{CONTINUES, FIRST, GAP, LAST, Page, SIZE};
use super::row::Row;
use crate::log::Columns;
use chirrup_core::RecordFrom;
use heapless::Deque;

/// Pages in RAM: of a barometer alone about 50 s, with all sensors 4 s. A launch is noticed within
/// 2 s (see [`super::motion`]).
const WAITING: usize = 24;
/// UTC is in a page that follows a change, and in each so many: what came before a launch is partly
/// dropped.
const CLOCK_EVERY: u8 = 16;

/// A full page, and what it is to its flight.
#[derive(Clone, Debug)]
pub struct Ready {
    /// The page.
    pub bytes: [u8; SIZE],
    /// [`FIRST`], [`LAST`], [`CONTINUES`], [`GAP`].
    pub flags: u8,
}

/// The rows on their way to flash.
#[derive(Debug, Default)]
pub struct Taking {
    page: Page,
    ready: Deque<Ready, WAITING>,
    /// How many of the ready pages are to be kept.
    due: usize,
    is_keeping: bool,
    begins: bool,
    continues: bool,
    /// Pages that were due and are lost, and whether the next one is to say so.
    lost: u32,
    has_gap: bool,
    rows_a_page: u8,
    columns: Columns,
    clock_us: Option<i64>,
    since_clock: u8,
}

impl Taking {
    /// Takes a row, what is known of the glider's motion with it, and the columns that the log has
    /// from it on; `clock_us` is UTC less its time, where that is known.
    pub fn take(
        &mut self,
        row: &Row,
        columns: Columns,
        motion: &Motion,
        from: RecordFrom,
        clock_us: Option<i64>,
    ) {
        let is_moving = motion.is_moving();
        self.continues = motion.began_in_the_air();
        let is_wanted = match from {
            RecordFrom::Off => false,
            RecordFrom::Launch => is_moving,
            RecordFrom::Power | RecordFrom::PowerInputs => true,
        };
        if is_wanted && !self.is_keeping {
            (self.is_keeping, self.begins, self.due) = (true, true, self.ready.len());
            // What was lost before is another flight's.
            self.has_gap = false;
        }
        if clock_us != self.clock_us {
            self.turn_page(0);
            self.clock_us = clock_us;
            self.page.begin(clock_us, self.columns);
        }
        if !self.page.push(row) {
            self.turn_page(0);
            self.page.push(row);
        }
        self.columns = columns;
        if self.is_keeping && !is_wanted {
            self.turn_page(LAST);
            self.is_keeping = false;
        }
    }

    /// The next page for flash.
    pub fn next_page(&mut self) -> Option<Ready> {
        self.due = self.due.checked_sub(1)?;
        let mut ready = self.ready.pop_front()?;
        if core::mem::take(&mut self.begins) {
            ready.flags |= FIRST;
        }
        if self.continues {
            ready.flags |= CONTINUES;
        }
        if core::mem::take(&mut self.has_gap) {
            ready.flags |= GAP;
        }
        Some(ready)
    }

    /// A page that was due is lost; the next one that is kept says so, and what it said of its
    /// flight.
    pub fn lose(&mut self, ready: &Ready) {
        self.lost = self.lost.saturating_add(1);
        self.has_gap = true;
        self.begins |= ready.flags & FIRST != 0;
    }

    /// Rows of the last full page; 0 where there was none.
    pub fn rows_a_page(&self) -> u8 {
        self.rows_a_page
    }

    /// Pages lost since the start.
    pub fn lost(&self) -> u32 {
        self.lost
    }

    /// Whether rows are being kept.
    pub fn is_keeping(&self) -> bool {
        self.is_keeping
    }

    fn turn_page(&mut self, flags: u8) {
        if !self.page.is_empty() {
            if self.ready.is_full() {
                let oldest = self.ready.pop_front();
                // Flash did not take it in time: where it was due, it is lost.
                if let (Some(due), Some(oldest)) = (self.due.checked_sub(1), oldest) {
                    self.due = due;
                    self.lose(&oldest);
                }
            }
            self.rows_a_page = self.page.rows();
            let _ = self.ready.push_back(Ready { bytes: self.page.bytes(), flags });
            self.due += usize::from(self.is_keeping);
        }
        self.since_clock = (self.since_clock + 1) % CLOCK_EVERY;
        self.page.begin(self.clock_us.filter(|_| self.since_clock == 0), self.columns);
    }
}
