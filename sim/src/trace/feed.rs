//! The rows of a CSV in the order in which they are read: those that were looked at first, then the
//! file's own, sorted or spread where they must be.

use super::first::{First, Waiting, is_passed_over};
use super::layout::Layout;
use super::lines::{Line, Lines};
use super::order::Order;
use super::row::Row;
use super::sorted::Sorted;
use super::spread::{Spread, Timed};
use crate::error::Result;
use std::collections::VecDeque;
use std::io;

/// Where the next row comes from.
pub(super) struct Feed {
    lines: Lines,
    first: VecDeque<Waiting>,
    failed: Option<io::Error>,
    sorted: Option<Sorted>,
    spread: Option<Spread>,
    order: Order,
    now: Waiting,
}

impl Feed {
    /// The rows behind a header, of which `first` are the first.
    ///
    /// # Errors
    /// More rows out of order than are sorted, or a disk that cannot be read.
    pub fn new(
        file: &str,
        (mut lines, First { rows: mut first, failed, .. }): (Lines, First),
        layout: &Layout,
        row: &mut Row,
        order: Order,
    ) -> Result<Self> {
        let mut sorted = None;
        if order.is_unsorted {
            let behind = (std::mem::take(&mut first), &mut lines);
            let time = (&layout.clock, row, layout.time.index);
            sorted = Some(Sorted::read(file, behind, time, order.is_reversed)?);
        }
        let spread = order.shares_stamps.then(|| Spread::new(order));
        let now = Waiting { number: 0, text: Vec::new(), is_cut: false };
        Ok(Self { lines, first, failed, sorted, spread, order, now })
    }

    /// The next row, and its moment where it is not the one that stands in it.
    pub fn next(
        &mut self,
        row: &mut Row,
        layout: &mut Layout,
    ) -> io::Result<Option<(Line<'_>, Option<i64>)>> {
        if self.spread.is_some() {
            return self.next_spread(row, layout);
        }
        if self.first.is_empty() && self.sorted.is_none() && self.failed.is_none() {
            return Ok(self.lines.next()?.map(|line| (line, None)));
        }
        Ok(self.next_line()?.map(|line| (line, None)))
    }

    /// What was done to the rows.
    pub fn notes(&self) -> impl Iterator<Item = String> {
        let sorted = self.sorted.as_ref().map(|sorted| {
            let how =
                if self.order.is_reversed { "run backwards in" } else { "are not in the order of" };
            format!("the rows {how} time; all {} were put in order", sorted.len())
        });
        let spread = self.spread.as_ref().filter(|spread| spread.spread > 0);
        let spread = spread.map(|spread| {
            let share = if spread.is_over_seconds() { "the second" } else { "the time stamp" };
            format!("{} rows spread over {share} they share", spread.spread)
        });
        sorted.into_iter().chain(spread)
    }

    fn next_line(&mut self) -> io::Result<Option<Line<'_>>> {
        if let Some(sorted) = &mut self.sorted {
            return Ok(sorted.next());
        }
        if let Some(waiting) = self.first.pop_front() {
            self.now = waiting;
            return Ok(Some(self.now.line()));
        }
        match self.failed.take() {
            Some(error) => Err(error),
            None => self.lines.next(),
        }
    }

    fn next_spread(
        &mut self,
        row: &mut Row,
        layout: &mut Layout,
    ) -> io::Result<Option<(Line<'_>, Option<i64>)>> {
        loop {
            let spread = self.spread.as_mut().expect("it was asked for");
            if let Some(timed) = spread.pop() {
                self.now = timed.row;
                return Ok(Some((self.now.line(), timed.moment_us)));
            }
            let Some(line) = self.next_line()? else {
                let spread = self.spread.as_mut().expect("it was asked for");
                spread.end();
                let Some(timed) = spread.pop() else { return Ok(None) };
                self.now = timed.row;
                return Ok(Some((self.now.line(), timed.moment_us)));
            };
            if is_passed_over(line.text) {
                continue;
            }
            let line = Waiting::of(&line);
            row.split(&line.text);
            let time = row.field(layout.time.index);
            let moment_us = time.and_then(|time| layout.clock.read(time).ok());
            let pressure = row.field(layout.static_pressure.index);
            let has_pressure = pressure.is_some_and(|field| !field.is_empty());
            let is_header = layout.is_header_again(row);
            let spread = self.spread.as_mut().expect("it was asked for");
            if is_header {
                spread.end();
            }
            spread.push(Timed { row: line, moment_us, has_pressure });
            if is_header {
                spread.end();
            }
        }
    }
}
