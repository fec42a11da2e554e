//! A trace of any length reduced for a picture: the first, last, lowest and highest value of each
//! column of time.
//!
//! The length of a trace is not known while it streams in, so the columns begin one control tick
//! wide, and whenever time runs past the last of them, each pair becomes one of twice the width.
//! Between half and all of the [`COLUMNS`] are in use once a trace is longer than 4 s, about one
//! for a pixel of the picture.

use chirrup_core::TICK;

/// The most columns of time that are kept: as many as a panel has pixels, and as many again to be
/// folded.
pub const COLUMNS: usize = 2_048;

/// The columns' common width.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Columns {
    doublings: u32,
}

impl Columns {
    /// Width of a column in microseconds.
    pub fn width_us(self) -> i64 {
        TICK.0 << self.doublings
    }

    /// The column that a time in microseconds after the start of the trace lies in.
    pub fn place(self, after_start_us: i64) -> usize {
        (after_start_us / self.width_us()) as usize
    }

    /// How often the columns have to be folded until the time lies within them; they are then that
    /// much wider.
    pub fn widen_to(&mut self, after_start_us: i64) -> u32 {
        let before = self.doublings;
        while self.place(after_start_us) >= COLUMNS {
            self.doublings += 1;
        }
        self.doublings - before
    }
}

/// The values of one column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// The earliest.
    pub first: f32,
    /// The latest.
    pub last: f32,
    /// The least.
    pub low: f32,
    /// The greatest.
    pub high: f32,
    /// Whether a line leads here from the values before; not after a gap.
    pub joined: bool,
}

impl Span {
    fn of(value: f32, joined: bool) -> Self {
        Self { first: value, last: value, low: value, high: value, joined }
    }

    /// The same with `value` within its extremes.
    pub fn reaching(self, value: f32) -> Self {
        Self { low: self.low.min(value), high: self.high.max(value), ..self }
    }

    /// The values of this and of a later one.
    pub fn then(self, later: Span) -> Self {
        Self {
            last: later.last,
            low: self.low.min(later.low),
            high: self.high.max(later.high),
            ..self
        }
    }
}

/// One quantity over time.
#[derive(Clone, Debug, Default)]
pub struct Channel {
    spans: Vec<Option<Span>>,
    under_way: bool,
}

impl Channel {
    /// Adds a value at the end, in the column `place`.
    pub fn add(&mut self, place: usize, value: f32) {
        if !value.is_finite() {
            return self.cut();
        }
        if self.spans.len() <= place {
            self.spans.resize(place + 1, None);
        }
        let new = Span::of(value, self.under_way);
        let span = &mut self.spans[place];
        *span = Some(span.map_or(new, |before| before.then(new)));
        self.under_way = true;
    }

    /// Adds a value, or ends the line where there is none.
    pub fn add_or_cut(&mut self, place: usize, value: Option<f32>) {
        match value {
            Some(value) => self.add(place, value),
            None => self.cut(),
        }
    }

    /// Ends the line: none leads from the values so far to the next.
    pub fn cut(&mut self) {
        self.under_way = false;
    }

    /// The values of `count` columns from `place` on, in one.
    pub fn together(&self, place: usize, count: usize) -> Option<Span> {
        self.spans.iter().skip(place).take(count).flatten().copied().reduce(Span::then)
    }

    /// Makes one column of each pair.
    pub fn fold(&mut self) {
        fold(&mut self.spans, Span::then);
    }

    /// The memory it takes.
    #[cfg(test)]
    pub fn bytes(&self) -> usize {
        self.spans.capacity() * size_of::<Option<Span>>()
    }

    /// Whether there is no value at all.
    pub fn is_empty(&self) -> bool {
        self.spans.iter().all(Option::is_none)
    }

    /// The columns that hold values, with their places.
    pub fn spans(&self) -> impl Iterator<Item = (usize, Span)> + '_ {
        self.spans.iter().enumerate().filter_map(|(place, span)| span.map(|span| (place, span)))
    }

    /// The runs of columns through which one line goes. A cut shows only where it leaves a column
    /// empty: a pause shorter than that is narrower than a pixel.
    pub fn runs(&self) -> Vec<Vec<(usize, Span)>> {
        let mut runs: Vec<Vec<(usize, Span)>> = Vec::new();
        for (place, span) in self.spans() {
            match runs.last_mut() {
                Some(run)
                    if span.joined || run.last().is_some_and(|&(last, _)| last + 1 == place) =>
                {
                    run.push((place, span));
                }
                _ => runs.push(vec![(place, span)]),
            }
        }
        runs
    }
}

/// Makes one of each pair in `columns`.
pub fn fold<T: Copy>(columns: &mut Vec<Option<T>>, merge: impl Fn(T, T) -> T) {
    let folded = columns.len().div_ceil(2);
    for place in 0..folded {
        let earlier = columns[2 * place];
        let later = columns.get(2 * place + 1).copied().flatten();
        columns[place] = match (earlier, later) {
            (Some(earlier), Some(later)) => Some(merge(earlier, later)),
            (earlier, later) => earlier.or(later),
        };
    }
    columns.truncate(folded);
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A value a millisecond into columns that widen as they must.
    fn fill(count: i64, value_at: impl Fn(i64) -> f32) -> (Columns, Channel) {
        let (mut columns, mut channel) = (Columns::default(), Channel::default());
        for ms in 0..count {
            for _ in 0..columns.widen_to(1_000 * ms) {
                channel.fold();
            }
            channel.add(columns.place(1_000 * ms), value_at(ms));
        }
        (columns, channel)
    }

    #[test]
    fn ten_million_values_take_no_more_columns_than_the_picture_has() {
        let (columns, channel) = fill(10_000_000, |ms| ms as f32);
        assert!(
            channel.spans.len() <= COLUMNS && channel.spans.len() > COLUMNS / 2,
            "{}",
            channel.spans.len()
        );
        assert!(channel.spans.capacity() <= 2 * COLUMNS);
        assert_eq!(columns.width_us(), 2_000 << 12); // 10 000 s in 2048 columns of 8.192 s
    }

    #[test]
    fn folding_keeps_the_first_the_last_and_the_extremes() {
        // Single values that stand out, far apart and at the very ends.
        let peaks = [(0, 7.0), (123_456, -40.0), (700_001, 55.0), (999_999, -3.0)];
        let (columns, channel) =
            fill(1_000_000, |ms| peaks.iter().find(|peak| peak.0 == ms).map_or(1.0, |p| p.1));
        for (ms, value) in peaks {
            let place = columns.place(1_000 * ms);
            let span = channel.spans[place].unwrap();
            assert!(span.low == value || span.high == value, "{value} at {ms} ms: {span:?}");
        }
        assert_eq!(channel.spans[0].unwrap().first, 7.0);
        assert_eq!(channel.spans.last().unwrap().unwrap().last, -3.0);
        assert!(
            channel
                .spans()
                .all(|(_, span)| span.high >= 1.0 || span.low == -40.0 || span.low == -3.0)
        );
    }

    #[test]
    fn a_line_crosses_columns_without_a_value_but_not_a_cut() {
        let mut channel = Channel::default();
        channel.add(0, 1.0);
        channel.add(10, 2.0); // slow samples
        channel.cut();
        channel.add(11, 3.0); // a pause too short to be seen
        channel.cut();
        channel.add(20, 4.0); // a gap
        let places: Vec<Vec<usize>> = channel
            .runs()
            .iter()
            .map(|run| run.iter().map(|&(place, _)| place).collect())
            .collect();
        assert_eq!(places, [vec![0, 10, 11], vec![20]]);
    }

    #[test]
    fn a_gap_survives_folding_until_it_is_narrower_than_a_column() {
        let mut channel = Channel::default();
        channel.add(0, 1.0);
        channel.cut();
        channel.add(12, 2.0);
        channel.fold();
        channel.fold();
        assert_eq!(channel.runs().len(), 2); // columns 0 and 3
        channel.fold();
        assert_eq!(channel.runs().len(), 1); // columns 0 and 1
    }

    #[test]
    fn a_value_that_is_no_number_ends_the_line() {
        let mut channel = Channel::default();
        channel.add(0, 1.0);
        channel.add(1, f32::NAN);
        channel.add(2, 1.0);
        assert_eq!(channel.runs().len(), 2);
    }
}
