//! Rows of a CSV that share a time stamp, spread evenly up to the next one: a logger that writes
//! several rows a second and whole seconds.
//!
//! ```text
//!     rows that share a stamp      evenly up to the next stamp, at most as far as stamps are apart
//!     fewer in the first stamp     at its end: the log began within it
//!     fewer in the last stamp      at its beginning
//!     without a static pressure    with the row before: another sensor's, no further moment
//!     without a time               where it stands
//!     more than 4096               the clock stands still: the rest keeps the last moment
//! ```

use super::first::Waiting;
use super::order::Order;
use std::collections::VecDeque;

/// Rows that can share a stamp: a minute at 50 Hz and more.
const MOST_ROWS: usize = 4096;
/// And bytes of them that are held.
const MOST_BYTES: usize = 4 * 1024 * 1024;
const SECOND_US: i64 = 1_000_000;

/// A row to be placed in time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Timed {
    /// The row.
    pub row: Waiting,
    /// Its time as the clock gives it; `None` where it has none.
    pub moment_us: Option<i64>,
    /// Whether it has a static pressure.
    pub has_pressure: bool,
}

/// Rows of one stamp.
#[derive(Default)]
struct Group {
    stamp_us: Option<i64>,
    rows: Vec<Timed>,
    bytes: usize,
}

impl Group {
    fn size(&self) -> i64 {
        self.rows.iter().filter(|row| row.has_pressure && row.moment_us.is_some()).count() as i64
    }

    fn push(&mut self, row: Timed) {
        self.stamp_us = self.stamp_us.or(row.moment_us);
        self.bytes += row.row.text.len();
        self.rows.push(row);
    }

    fn is_full(&self) -> bool {
        self.rows.len() >= MOST_ROWS || self.bytes >= MOST_BYTES
    }
}

/// The rows on their way.
pub(super) struct Spread {
    /// The first group, until the second shows how many a whole one has.
    first: Option<(Group, i64)>,
    group: Group,
    ready: VecDeque<Timed>,
    /// The shortest way from stamp to stamp so far.
    step_us: Option<i64>,
    /// No row goes further from its stamp.
    furthest_us: i64,
    /// The stamp of the rows that are no longer held, and the last moment given.
    stuck: Option<(i64, i64)>,
    /// How many a group before had.
    size_before: Option<i64>,
    /// Rows that were moved from the stamp that they share.
    pub spread: u64,
}

impl Spread {
    /// Nothing yet, for rows like these.
    pub fn new(order: Order) -> Self {
        let furthest_us =
            if order.is_of_seconds && !order.mostly_shares { SECOND_US } else { i64::MAX };
        Self {
            first: None,
            group: Group::default(),
            ready: VecDeque::new(),
            step_us: None,
            furthest_us,
            stuck: None,
            size_before: None,
            spread: 0,
        }
    }

    /// Whether rows were spread over whole seconds.
    pub fn is_over_seconds(&self) -> bool {
        self.step_us.unwrap_or(SECOND_US).min(self.furthest_us) == SECOND_US
    }

    /// The next row that has its place.
    pub fn pop(&mut self) -> Option<Timed> {
        self.ready.pop_front()
    }

    /// Takes the next row of the file.
    pub fn push(&mut self, mut row: Timed) {
        if let (Some((stamp, last)), Some(moment)) = (self.stuck, row.moment_us) {
            if moment == stamp {
                row.moment_us = Some(last);
                self.ready.push_back(row);
                return;
            }
            self.stuck = None;
        }
        let is_next = matches!(
            (self.group.stamp_us, row.moment_us), (Some(stamp), Some(moment)) if stamp != moment
        );
        if is_next {
            self.close(row.moment_us);
        }
        self.group.push(row);
        if self.group.is_full() {
            let stamp = self.group.stamp_us;
            self.close(None);
            self.place_first(None);
            let last = self.ready.iter().rev().find_map(|row| row.moment_us);
            self.stuck = stamp.zip(last);
        }
    }

    /// Gives every row its place: the file has ended, or another header follows.
    pub fn end(&mut self) {
        self.close(None);
        self.place_first(None);
    }

    /// The group is complete; `next_us` is the stamp after it.
    fn close(&mut self, next_us: Option<i64>) {
        let group = std::mem::take(&mut self.group);
        let Some(stamp_us) = group.stamp_us else {
            self.place_first(None);
            self.ready.extend(group.rows);
            return;
        };
        let to_next = next_us.map(|next| next.saturating_sub(stamp_us)).filter(|step| *step > 0);
        self.step_us = [self.step_us, to_next].into_iter().flatten().min();
        let size = group.size();
        if self.size_before.is_none() && next_us.is_some() {
            self.size_before = Some(size);
            self.first = Some((group, to_next.unwrap_or(SECOND_US)));
            return;
        }
        self.place_first(Some(size));
        let of = if next_us.is_none() { self.size_before.unwrap_or(0).max(size) } else { size };
        self.place(group, to_next, 0, of);
        self.size_before = Some(size);
    }

    /// Places the first group, of which the second has `next` rows.
    fn place_first(&mut self, next: Option<i64>) {
        if let Some((group, to_next)) = self.first.take() {
            let size = group.size();
            let of = next.unwrap_or(size).max(size);
            self.place(group, Some(to_next), of - size, of);
        }
    }

    /// Places rows as the `from`th and later of `of` rows.
    fn place(&mut self, group: Group, to_next: Option<i64>, from: i64, of: i64) {
        let stamp = group.stamp_us.unwrap_or(0);
        let size = group.size();
        let step = [to_next, self.step_us].into_iter().flatten().min().unwrap_or(SECOND_US);
        let step = i128::from(step.min(self.furthest_us));
        self.spread += if size > 1 { size as u64 } else { 0 };
        let is_spread = size > 1;
        let mut taken = from;
        for mut row in group.rows {
            if row.moment_us.is_some() && is_spread {
                // The first row's own moment, then that of the row before.
                let place = if row.has_pressure { taken } else { (taken - 1).max(from) };
                taken += i64::from(row.has_pressure);
                let moved = step * i128::from(place) / i128::from(of.max(1));
                row.moment_us = Some(stamp.saturating_add(moved as i64));
            }
            self.ready.push_back(row);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The moments in seconds of rows with these stamps; a row in brackets has no static pressure.
    fn spread(stamps: &[f64], order: Order) -> (Vec<f64>, u64) {
        let mut spread = Spread::new(order);
        let mut placed = Vec::new();
        for (index, stamp) in stamps.iter().enumerate() {
            let row = Waiting { number: index as u64, text: b"0,1".to_vec(), is_cut: false };
            let moment_us = Some((stamp.abs() * 1e6).round() as i64);
            spread.push(Timed { row, moment_us, has_pressure: *stamp >= 0.0 });
            placed.extend(std::iter::from_fn(|| spread.pop()));
        }
        spread.end();
        placed.extend(std::iter::from_fn(|| spread.pop()));
        assert!(placed.iter().map(|row| row.row.number).eq(0..stamps.len() as u64));
        let seconds = placed.iter().filter_map(|row| row.moment_us).map(|us| us as f64 / 1e6);
        (seconds.collect(), spread.spread)
    }

    const SECONDS: Order = Order {
        is_unsorted: false,
        is_reversed: false,
        has_twins: false,
        shares_stamps: true,
        mostly_shares: true,
        is_of_seconds: true,
    };

    fn of_each(rate: usize, seconds: usize) -> Vec<f64> {
        (0..rate * seconds).map(|row| (row / rate) as f64).collect()
    }

    #[test]
    fn whole_seconds_are_spread_evenly() {
        let (times, count) = spread(&of_each(50, 4), SECONDS);
        for (row, time) in times.iter().enumerate() {
            assert!((time - 0.02 * row as f64).abs() < 1e-9, "{row}: {time}");
        }
        assert_eq!(count, 200);
    }

    #[test]
    fn a_log_that_begins_and_ends_within_a_second_keeps_its_rate() {
        let stamps = &of_each(10, 5)[7..43];
        let (times, _) = spread(stamps, SECONDS);
        for (row, time) in times.iter().enumerate() {
            assert!((time - 0.1 * (row + 7) as f64).abs() < 1e-9, "{row}: {time}");
        }
    }

    #[test]
    fn other_stamps_are_spread_up_to_the_next_and_not_over_gaps() {
        let order = Order { is_of_seconds: false, ..SECONDS };
        let (times, _) = spread(&[0.0, 0.0, 0.02, 0.02, 0.04, 0.04, 9.0, 9.0], order);
        assert_eq!(times, [0.0, 0.01, 0.02, 0.03, 0.04, 0.05, 9.0, 9.01]);
        let rarely = Order { mostly_shares: false, ..SECONDS };
        let (times, _) = spread(&[0.0, 4.0, 8.0, 8.0, 12.0], rarely);
        assert_eq!(times, [0.0, 4.0, 8.0, 8.5, 12.0]);
    }

    #[test]
    fn rows_without_a_pressure_stay_with_the_row_before() {
        let (times, _) = spread(&[1.0, -1.0, 1.0, -1.0, 2.0, -2.0, 2.0, 3.0, -3.0], SECONDS);
        assert_eq!(times, [1.0, 1.0, 1.5, 1.5, 2.0, 2.0, 2.5, 3.0, 3.0]);
    }

    #[test]
    fn a_clock_that_stands_still_fills_no_memory() {
        let mut spread = Spread::new(SECONDS);
        for number in 0..100_000_u64 {
            let row = Waiting { number, text: vec![b'1'; 20], is_cut: false };
            spread.push(Timed { row, moment_us: Some(5_000_000), has_pressure: true });
            while let Some(row) = spread.pop() {
                assert!((5_000_000..6_000_000).contains(&row.moment_us.expect("it has one")));
            }
            assert!(spread.group.rows.len() <= MOST_ROWS);
        }
    }
}
