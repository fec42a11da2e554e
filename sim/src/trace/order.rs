//! Whether the first rows of a CSV are in the order of time, share their time stamps, or are there
//! twice.

use super::first::First;
use super::layout::Layout;
use super::row::Row;

const SECOND_US: i64 = 1_000_000;
/// Steps back in time among the first rows, from which on the rows are not in order: a clock that
/// was set back makes one, a logger that is late a few.
const LEAST_BACK: usize = 3;

/// What the first rows show.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Order {
    /// They must be sorted.
    pub is_unsorted: bool,
    /// They run backwards, as in a log whose newest row is the first.
    pub is_reversed: bool,
    /// Every row is there twice.
    pub has_twins: bool,
    /// Rows may share a time stamp and are to be spread.
    pub shares_stamps: bool,
    /// Most of them do.
    pub mostly_shares: bool,
    /// All stamps are whole seconds.
    pub is_of_seconds: bool,
}

impl Order {
    /// What `first` shows of the rows of this layout.
    pub fn of(first: &First, layout: &Layout, delimiter: u8) -> Self {
        let rows = moments(first, layout, delimiter);
        let steps: Vec<i64> = rows.windows(2).map(|pair| pair[1] - pair[0]).collect();
        let count = |is_it: fn(&&i64) -> bool| steps.iter().filter(is_it).count();
        let (back, same) = (count(|step| **step < 0), count(|step| **step == 0));
        let is_unsorted = back >= LEAST_BACK && 4 * back >= steps.len();
        let is_of_seconds = rows.iter().all(|moment| moment % SECOND_US == 0);
        let has_twins = has_twins(first);
        let shares = same > 0 && 4 * same >= steps.len();
        Self {
            is_unsorted,
            is_reversed: is_unsorted && 4 * (back + same) >= 3 * steps.len(),
            has_twins,
            shares_stamps: !has_twins && rows.len() > 1 && (is_of_seconds || shares),
            mostly_shares: 2 * same >= steps.len(),
            is_of_seconds,
        }
    }
}

/// The moments of the rows that have a static pressure.
fn moments(first: &First, layout: &Layout, delimiter: u8) -> Vec<i64> {
    let (mut clock, mut row) = (layout.clock.clone(), Row::new(delimiter));
    let mut moments = Vec::new();
    for waiting in &first.rows {
        row.split(&waiting.text);
        let has_pressure =
            row.field(layout.static_pressure.index).is_some_and(|field| !field.is_empty());
        let time = row.field(layout.time.index).filter(|_| has_pressure);
        moments.extend(time.and_then(|time| clock.read(time).ok()));
    }
    moments
}

fn has_twins(first: &First) -> bool {
    let (pairs, texts) = (first.rows.len() / 2, |index: usize| &first.rows[index].text);
    pairs >= 4
        && (0..pairs).all(|pair| texts(2 * pair) == texts(2 * pair + 1))
        && (1..pairs).all(|pair| texts(2 * pair) != texts(2 * pair - 1))
}
