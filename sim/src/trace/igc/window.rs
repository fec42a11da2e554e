//! Sorts fixes by time, from a recorder that knows only the time of day and may write them out of
//! order.
//!
//! The fixes wait in a short queue. Each time the earliest that is not before the last one is
//! taken:
//!
//! ```text
//!     late by a few places           put in order again
//!     passed by 8 later lines        its time is ahead of them all: out of order
//!     before the last one taken      out of order; but where 8 in a row are, the clock was set
//!                                    back, and they are used
//!     alone, an hour from others     out of order: a recorder that had no time yet, or a corrupted
//!                                    digit (a minute, where later lines go back before it)
//!     same second as others          spread over the second evenly, as recorders at 2 to 10 Hz
//!                                    mean it
//!     12 hours back                  midnight has passed
//! ```
//!
//! The second cannot be spread where the recorder gives its decimal part; a time that comes twice
//! is then a repeat.

use std::collections::VecDeque;

/// Number of fixes that are put in order (a guess; recorders that do this were seen to be late by
/// one or two).
const REACH: usize = 8;
/// Fixes that can share a second; beyond it the recorder's clock stands still.
const MOST_IN_A_SECOND: usize = 32;
/// A single fix further than this from those before and after it has no use and a broken time.
const ALONE_US: i64 = 3_600 * SECOND_US;
/// And where the lines after it have gone back in time, already this far is.
const ALONE_AND_PASSED_US: i64 = 60 * SECOND_US;
const SECOND_US: i64 = 1_000_000;
const DAY_US: i64 = 86_400 * SECOND_US;

/// The result for a fix.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Placed<T> {
    /// Its time in microseconds after the first midnight.
    At(i64, T),
    /// Its time does not fit those around it.
    OutOfOrder(T),
    /// Its time is that of the fix before.
    Repeated(T),
}

/// The queue.
pub(super) struct Window<T> {
    waiting: VecDeque<Waiting<T>>,
    /// Time of the first fix taken, and of the last, whole as the recorder wrote them.
    first_us: Option<i64>,
    last_us: Option<i64>,
    /// The time used to assign a time of day to its day.
    reference_us: Option<i64>,
    second: Shared,
    spreads_seconds: bool,
    passes_of_head: u64,
    /// Fixes that came late and were put in order.
    pub put_in_order: u64,
    /// Fixes that shared a second and were spread.
    pub spread: u64,
    /// How often the clock was set back.
    pub set_back: u64,
}

struct Waiting<T> {
    time_of_day_us: i64,
    passed_by: usize,
    fix: T,
}

/// A time that several fixes share.
#[derive(Clone, Copy, Default)]
struct Shared {
    size: i64,
    taken: i64,
}

impl<T> Window<T> {
    /// An empty queue.
    pub fn new() -> Self {
        Self {
            waiting: VecDeque::new(),
            first_us: None,
            last_us: None,
            reference_us: None,
            second: Shared::default(),
            spreads_seconds: true,
            passes_of_head: 0,
            put_in_order: 0,
            spread: 0,
            set_back: 0,
        }
    }

    /// Says whether times are whole seconds, which may have to be spread.
    pub fn spread_seconds(&mut self, spreads: bool) {
        self.spreads_seconds = spreads;
    }

    /// Takes in the next fix of the file.
    pub fn push(&mut self, time_of_day_us: i64, fix: T) {
        self.waiting.push_back(Waiting { time_of_day_us, passed_by: 0, fix });
    }

    /// How many wait.
    pub fn len(&self) -> usize {
        self.waiting.len()
    }

    /// Whether enough wait for the next to be taken, while there are more to come.
    pub fn is_ready(&self) -> bool {
        let time = |waiting: Option<&Waiting<T>>| waiting.map(|waiting| waiting.time_of_day_us);
        let is_second_complete = time(self.waiting.front()) != time(self.waiting.back());
        self.len() >= REACH && (is_second_complete || self.len() >= REACH + MOST_IN_A_SECOND)
    }

    /// Takes the next, where [`Window::is_ready`] or the file has ended; `None` when none is left.
    pub fn pop(&mut self) -> Option<Placed<T>> {
        let head_us = self.time_us(0)?;
        if self.last_us.is_some_and(|last| head_us < last) {
            if !self.is_all_before_the_last() {
                return self.drop(0);
            }
            self.set_back += 1;
            self.reference_us = Some(head_us);
            self.last_us = None;
        }
        if self.waiting[0].passed_by >= REACH {
            return self.drop(0);
        }
        let (index, time_us) = self.earliest()?;
        if self.is_alone(index, time_us) {
            return self.drop(index);
        }
        Some(self.take(index, time_us))
    }

    /// The time of a waiting fix, on the day that brings it nearest to the last one.
    fn time_us(&self, index: usize) -> Option<i64> {
        let time_of_day_us = self.waiting.get(index)?.time_of_day_us;
        let reference = self.reference_us.unwrap_or(self.waiting[0].time_of_day_us);
        let time = reference.div_euclid(DAY_US) * DAY_US + time_of_day_us;
        Some(if time < reference - DAY_US / 2 {
            time + DAY_US
        } else if time > reference + DAY_US / 2
            && self.first_us.is_some_and(|first| time - DAY_US >= first)
        {
            time - DAY_US
        } else {
            time
        })
    }

    fn times_in_reach(&self) -> impl Iterator<Item = (usize, i64)> {
        (0..self.len().min(REACH)).filter_map(|index| Some((index, self.time_us(index)?)))
    }

    fn is_all_before_the_last(&self) -> bool {
        self.len() >= REACH
            && self.times_in_reach().all(|(_, time)| self.last_us.is_some_and(|last| time < last))
    }

    /// The earliest that is not before the last one taken; of equals the first in the file.
    fn earliest(&self) -> Option<(usize, i64)> {
        let floor = self.last_us.unwrap_or(i64::MIN);
        self.times_in_reach()
            .filter(|(_, time)| *time >= floor)
            .min_by_key(|(index, time)| (*time, *index))
    }

    fn is_alone(&self, index: usize, time_us: i64) -> bool {
        let next =
            self.times_in_reach().filter(|(other, time)| *other != index && *time >= time_us);
        let next = next.map(|(_, time)| time).min();
        if self.last_us.is_none() && next.is_none() {
            return false;
        }
        let far_us = if self.waiting[index].passed_by > 0 { ALONE_AND_PASSED_US } else { ALONE_US };
        let is_far =
            |other: Option<i64>| other.is_none_or(|other| (time_us - other).abs() > far_us);
        is_far(self.last_us) && is_far(next)
    }

    fn drop(&mut self, index: usize) -> Option<Placed<T>> {
        let waiting = self.waiting.remove(index)?;
        if index == 0 {
            self.passes_of_head = 0;
        }
        Some(Placed::OutOfOrder(waiting.fix))
    }

    fn take(&mut self, index: usize, time_us: i64) -> Placed<T> {
        if self.last_us != Some(time_us) {
            self.second = Shared { size: self.sharing(time_us), taken: 0 };
        }
        for waiting in self.waiting.iter_mut().take(index) {
            waiting.passed_by += 1;
        }
        if index > 0 {
            self.passes_of_head += 1;
        } else {
            self.put_in_order += std::mem::take(&mut self.passes_of_head);
        }
        let fix = self.waiting.remove(index).expect("the index is of a waiting fix").fix;
        self.first_us.get_or_insert(time_us);
        self.last_us = Some(time_us);
        self.reference_us = Some(time_us);
        let Shared { size, taken } = self.second;
        if taken >= size {
            return Placed::Repeated(fix);
        }
        self.second.taken += 1;
        self.spread += u64::from(size > 1);
        Placed::At(time_us + SECOND_US * taken / size, fix)
    }

    /// How many fixes with this time are to be spread over its second.
    fn sharing(&self, time_us: i64) -> i64 {
        if !self.spreads_seconds {
            return 1;
        }
        let near = 0..self.len().min(REACH + MOST_IN_A_SECOND);
        near.filter(|index| self.time_us(*index) == Some(time_us)).count().min(MOST_IN_A_SECOND)
            as i64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The seconds of fixes with these times of day in seconds, `None` where one was not used; in
    /// the order taken, each with its place in the file.
    fn place(times_of_day_s: &[i64]) -> (Vec<(usize, Option<f64>)>, Window<usize>) {
        let mut window = Window::new();
        let mut placed = Vec::new();
        let take = |window: &mut Window<usize>| match window.pop() {
            Some(Placed::At(time, index)) => Some((index, Some(time as f64 / 1e6))),
            Some(Placed::OutOfOrder(index) | Placed::Repeated(index)) => Some((index, None)),
            None => None,
        };
        for (index, time) in times_of_day_s.iter().enumerate() {
            window.push(time * SECOND_US, index);
            while window.is_ready() {
                placed.extend(take(&mut window));
            }
        }
        placed.extend(std::iter::from_fn(|| take(&mut window)));
        (placed, window)
    }

    fn used(times_of_day_s: &[i64]) -> Vec<f64> {
        place(times_of_day_s).0.into_iter().filter_map(|(_, time)| time).collect()
    }

    fn left_out(times_of_day_s: &[i64]) -> Vec<usize> {
        place(times_of_day_s)
            .0
            .into_iter()
            .filter(|(_, time)| time.is_none())
            .map(|(index, _)| index)
            .collect()
    }

    fn seconds(range: std::ops::Range<i64>) -> Vec<i64> {
        range.collect()
    }

    #[test]
    fn fixes_in_order_stay_as_they_are() {
        let (placed, window) = place(&seconds(36_000..36_100));
        let expected: Vec<_> =
            (0..100).map(|index| (index, Some(36_000.0 + index as f64))).collect();
        assert_eq!(placed, expected);
        assert_eq!((window.put_in_order, window.spread, window.set_back), (0, 0, 0));
    }

    #[test]
    fn a_late_fix_is_put_in_order_from_as_far_as_seven_places() {
        for late_by in 1..=7 {
            let mut times = seconds(100..140);
            let moved = times.remove(20);
            times.insert(20 + late_by, moved);
            let (_, window) = place(&times);
            assert_eq!(used(&times), (100..140).map(|time| time as f64).collect::<Vec<_>>());
            assert_eq!(window.put_in_order, 1, "late by {late_by}");
        }
        let mut times = seconds(100..140);
        times.remove(20);
        times.insert(35, 120);
        assert_eq!(left_out(&times), [35]);
    }

    #[test]
    fn a_lone_wild_time_is_left_out_and_harms_none_after_it() {
        for wild in [0, 1, 30_000, 36_600, 40_000, 80_000, 86_399] {
            for place_in_file in [0, 1, 20, 38] {
                let mut times = seconds(36_000..36_040);
                times[place_in_file] = wild;
                let left = left_out(&times);
                assert_eq!(left, [place_in_file], "{wild} at {place_in_file}");
                assert_eq!(used(&times).len() + left.len(), 40);
            }
        }
        let mut last = seconds(36_000..36_040);
        last.push(80_000);
        assert_eq!(left_out(&last), [40]);
    }

    #[test]
    fn two_wild_times_side_by_side_harm_none_after_them() {
        let mut times = seconds(36_000..36_060);
        times[20] = 50_000;
        times[21] = 7;
        assert_eq!(left_out(&times), [20, 21]);
        let (_, window) = place(&times);
        assert_eq!(window.put_in_order, 0);
    }

    #[test]
    fn time_runs_on_over_midnight_as_often_as_it_passes() {
        let times: Vec<i64> = (0..5_000).map(|index| (86_000 + 60 * index) % 86_400).collect();
        let expected: Vec<f64> = (0..5_000).map(|index| 86_000.0 + 60.0 * index as f64).collect();
        assert_eq!(used(&times), expected);
    }

    #[test]
    fn a_fix_late_by_one_at_midnight_is_put_in_order() {
        let times = [86_397, 86_398, 0, 86_399, 1, 2, 3, 4, 5, 6, 7];
        let expected: Vec<f64> = (86_397..86_408).map(f64::from).collect();
        assert_eq!(used(&times), expected);
    }

    #[test]
    fn gaps_are_left_as_gaps() {
        let times = [seconds(100..120), seconds(5_000..5_020), seconds(60_000..60_020)].concat();
        assert!(left_out(&times).is_empty());
        assert_eq!(used(&times), times.iter().map(|time| *time as f64).collect::<Vec<_>>());
    }

    #[test]
    fn fixes_that_share_a_second_are_spread_over_it() {
        let times: Vec<i64> = (0..50).map(|index| 500 + index / 5).collect();
        let (placed, window) = place(&times);
        for (index, time) in placed {
            assert!((time.expect("it is used") - (500.0 + 0.2 * index as f64)).abs() < 1e-9);
        }
        assert_eq!(window.spread, 50);
        let mixed = [10, 11, 11, 12, 13, 14, 15, 16, 17, 18];
        assert_eq!(used(&mixed), [10.0, 11.0, 11.5, 12.0, 13.0, 14.0, 15.0, 16.0, 17.0, 18.0]);
    }

    #[test]
    fn a_clock_that_stands_still_gives_one_second_and_no_more() {
        let times = [seconds(100..110), vec![110; 500], seconds(111..130)].concat();
        assert_eq!(used(&times).len(), 10 + MOST_IN_A_SECOND + 19);
        assert!(used(&times).is_sorted());
        let mut window: Window<usize> = Window::new();
        for index in 0..10_000 {
            window.push(5, index);
            while window.is_ready() {
                window.pop();
            }
            assert!(window.len() <= REACH + MOST_IN_A_SECOND);
        }
    }

    #[test]
    fn with_decimal_seconds_a_time_that_comes_twice_is_a_repeat() {
        let mut window = Window::new();
        window.spread_seconds(false);
        for (index, time) in [1_000_000, 1_500_000, 1_500_000, 2_000_000].into_iter().enumerate() {
            window.push(time, index);
        }
        let all: Vec<_> = std::iter::from_fn(|| window.pop()).collect();
        let at = Placed::At;
        assert_eq!(
            all,
            [at(1_000_000, 0), at(1_500_000, 1), Placed::Repeated(2), at(2_000_000, 3)]
        );
    }

    #[test]
    fn a_clock_that_was_set_back_is_believed() {
        let times = [seconds(40_000..40_020), seconds(30_000..30_020)].concat();
        let (placed, window) = place(&times);
        assert!(placed.iter().all(|(_, time)| time.is_some()));
        assert_eq!(placed.last(), Some(&(39, Some(30_019.0))));
        assert_eq!(window.set_back, 1);
    }
}
