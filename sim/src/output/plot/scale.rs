//! Values to places on an axis: its range, its ticks, and what lies beyond it.

/// A value axis; the place is measured from the axis's lower end, as a share of its length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    low: f32,
    high: f32,
    law: Law,
}

/// How values spread along an axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Law {
    /// Equal differences are equal lengths.
    Linear,
    /// Equal ratios are equal lengths.
    Logarithmic,
    /// Equal differences of the square root are equal lengths.
    Root,
}

/// On a root axis, the share of it that is below zero.
const BELOW_ZERO: f32 = 0.03;

/// What a range must hold, and where it may be cut off.
#[derive(Clone, Copy, Debug)]
pub struct Limits {
    /// The range reaches at least from here...
    pub low: f32,
    /// ... to here.
    pub high: f32,
    /// And is at least so wide.
    pub width: f32,
    /// What is ordinary is taken to be at least so wide; the few columns far beyond it are cut off.
    pub ordinary: f32,
    /// Nothing beyond this, below and above zero, can be true; the range does not go there.
    pub possible: f32,
}

/// Beyond the ordinary by so many times its width there is a spike (a guess)...
const FAR: f32 = 1.5;
/// ... and then, whatever is beyond it by so many times its width is part of that spike (a guess).
const NEAR: f32 = 0.3;
/// The share of the columns, at each end, that may be spikes (a guess).
const SPIKES: f32 = 0.02;
/// Of the range, what is left free at each end.
const MARGIN: f32 = 0.05;

impl Scale {
    /// A linear axis for columns of values that reach from `lows` to `highs`: all of them, unless a
    /// few lie so far out that they would flatten the others.
    pub fn linear(mut lows: Vec<f32>, mut highs: Vec<f32>, limits: Limits) -> Self {
        lows.sort_by(f32::total_cmp);
        highs.sort_by(|a, b| b.total_cmp(a));
        let (low, high) =
            without_spikes(&lows, &highs, limits.ordinary).unwrap_or((limits.low, limits.high));
        let (low, high) = (low.max(-limits.possible), high.min(limits.possible));
        let (low, high) = (low.min(limits.low), high.max(limits.high));
        let margin = (MARGIN * (high - low)).max(0.5 * (limits.width - (high - low)));
        Self { low: low - margin, high: high + margin, law: Law::Linear }
    }

    /// A linear axis from `low` to `high` and no further.
    pub fn between(low: f32, high: f32) -> Self {
        Self { low, high, law: Law::Linear }
    }

    /// A logarithmic axis from `low` to `high`, both above zero, and a little more.
    pub fn logarithmic(low: f32, high: f32) -> Self {
        let margin = (high / low).powf(MARGIN);
        Self { low: low / margin, high: high * margin, law: Law::Logarithmic }
    }

    /// An axis of square roots from zero, with a little free space below it, to `high`.
    pub fn root(high: f32) -> Self {
        Self { low: 0.0, high, law: Law::Root }
    }

    /// The same axis with its values in a unit of which `factor` make one of these.
    pub fn times(self, factor: f32) -> Self {
        Self { low: factor * self.low, high: factor * self.high, ..self }
    }

    /// The place of `value`, 0 to 1; what lies beyond an end is put there.
    pub fn place(&self, value: f32) -> f32 {
        let place = match self.law {
            Law::Linear => (value - self.low) / (self.high - self.low),
            Law::Logarithmic => (value / self.low).ln() / (self.high / self.low).ln(),
            Law::Root => BELOW_ZERO + (1.0 - BELOW_ZERO) * (value / self.high).max(0.0).sqrt(),
        };
        place.clamp(0.0, 1.0)
    }

    /// Whether `value` is above the axis.
    pub fn is_above(&self, value: f32) -> bool {
        value > self.high
    }

    /// Whether `value` is below the axis.
    pub fn is_below(&self, value: f32) -> bool {
        value < self.low
    }

    /// Round values, no more than `most` of them, and no closer than an even share of the axis
    /// among so many and half as many again.
    pub fn ticks(&self, most: usize) -> Vec<f32> {
        match self.law {
            Law::Linear => self.linear_ticks(most),
            Law::Logarithmic => self.logarithmic_ticks(most),
            Law::Root => self.root_ticks(most),
        }
    }

    fn linear_ticks(&self, most: usize) -> Vec<f32> {
        let mut size = 10.0_f32.powf(((self.high - self.low) / most as f32).log10().floor());
        loop {
            for step in [1.0, 2.0, 5.0].map(|digit| digit * size) {
                let (first, last) = ((self.low / step).ceil(), (self.high / step).floor());
                if last - first + 1.0 <= most as f32 {
                    return (first as i64..=last as i64).map(|count| count as f32 * step).collect();
                }
            }
            size *= 10.0;
        }
    }

    /// Zero and round values above it, no closer than an even share of the axis.
    fn root_ticks(&self, most: usize) -> Vec<f32> {
        let decades = (-3..4).map(|power| 10.0_f32.powi(power));
        let round = decades.flat_map(|decade| [1.0, 2.0, 3.0, 5.0].map(|digit| digit * decade));
        let mut ticks = vec![0.0];
        for tick in round.filter(|tick| !self.is_above(*tick)) {
            if self.place(tick) - self.place(ticks[ticks.len() - 1]) >= 1.0 / most as f32 {
                ticks.push(tick);
            }
        }
        ticks
    }

    fn logarithmic_ticks(&self, most: usize) -> Vec<f32> {
        // About equal ratios, in round numbers; thinned until few enough are left.
        const DIGITS: [&[f32]; 5] = [
            &[1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0],
            &[1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0],
            &[1.0, 1.5, 2.0, 3.0, 5.0, 7.0],
            &[1.0, 2.0, 5.0],
            &[1.0],
        ];
        let within = |digits: &[f32]| -> Vec<f32> {
            let decades = [1e-6, 1e-5, 1e-4, 1e-3, 0.01, 0.1, 1.0, 10.0, 100.0, 1_000.0, 10_000.0]
                .into_iter();
            let ticks = decades.flat_map(|decade| digits.iter().map(move |digit| digit * decade));
            ticks.filter(|&tick| !self.is_below(tick) && !self.is_above(tick)).collect()
        };
        let least = 1.0 / (1.5 * most as f32);
        let is_apart = |ticks: &Vec<f32>| {
            ticks.len() <= most
                && ticks.windows(2).all(|pair| self.place(pair[1]) - self.place(pair[0]) >= least)
        };
        DIGITS.iter().map(|digits| within(digits)).find(is_apart).unwrap_or_default()
    }
}

/// The range of values, of which the lows are sorted upward and the highs downward; `None` where
/// there are none.
fn without_spikes(lows: &[f32], highs: &[f32], ordinary: f32) -> Option<(f32, f32)> {
    let (&lowest, &highest) = (lows.first()?, highs.first()?);
    let (low, high) = (ordinary_end(lows), ordinary_end(highs));
    let missing = 0.5 * (ordinary - (high - low)).max(0.0);
    let (low, high, width) = (low - missing, high + missing, high - low + 2.0 * missing);
    if lowest >= low - FAR * width && highest <= high + FAR * width {
        return Some((lowest, highest));
    }
    let within_low = lows.iter().copied().find(|&value| value >= low - NEAR * width);
    let within_high = highs.iter().copied().find(|&value| value <= high + NEAR * width);
    Some((within_low?, within_high?))
}

/// The outermost value of a sorted list that is not among the few that may be spikes.
fn ordinary_end(sorted: &[f32]) -> f32 {
    let spikes = (sorted.len() as f32 * SPIKES).ceil() as usize;
    // Of four columns or fewer, which is the spike?
    let spikes = if sorted.len() < 5 { 0 } else { spikes };
    sorted[spikes]
}

/// A number for an axis, with no more decimals than `ticks` need and a proper minus sign.
pub fn label(value: f32, ticks: &[f32]) -> String {
    let step = ticks.windows(2).map(|pair| (pair[1] - pair[0]).abs()).fold(f32::INFINITY, f32::min);
    let decimals = if step >= 1.0 { 0 } else { (-step.log10()).ceil() as usize };
    format!("{value:.decimals$}").replace('-', "\u{2212}")
}

#[cfg(test)]
mod tests {
    use super::*;

    const SPEEDS: Limits =
        Limits { low: -2.0, high: 2.0, width: 4.0, ordinary: 20.0, possible: 60.0 };

    fn scale(values: &[f32], limits: Limits) -> Scale {
        Scale::linear(values.to_vec(), values.to_vec(), limits)
    }

    #[test]
    fn a_normal_flight_is_shown_whole_even_where_its_launch_is_short() {
        // Five hours between -4 and 4 m/s with half a minute of winch launch: 3 of 2000 columns.
        let mut values: Vec<f32> =
            (0..2000).map(|place| 4.0 * (place as f32 * 0.1).sin()).collect();
        values[5..8].fill(21.0);
        let scale = scale(&values, SPEEDS);
        assert!(!scale.is_above(21.0) && !scale.is_below(-4.0));
        assert!(scale.place(4.0) - scale.place(-4.0) > 0.25);
    }

    #[test]
    fn a_spike_is_cut_off_and_does_not_flatten_the_rest() {
        let mut values: Vec<f32> =
            (0..2000).map(|place| 4.0 * (place as f32 * 0.1).sin()).collect();
        values[5..8].fill(16.0);
        for (after, value) in values[700..720].iter_mut().enumerate() {
            *value = 900.0 * 0.6_f32.powi(after as i32) * if after % 2 == 0 { 1.0 } else { -1.0 };
        }
        let scale = scale(&values, SPEEDS);
        assert!(scale.is_above(900.0) && scale.is_below(-540.0) && !scale.is_above(16.0));
        assert!(scale.place(4.0) - scale.place(-4.0) > 0.2);
        assert_eq!(scale.place(900.0), 1.0);
    }

    #[test]
    fn a_trace_that_is_mostly_spikes_is_shown_within_what_is_possible() {
        let values: Vec<f32> =
            (0..200).map(|place| if place % 3 == 0 { 400.0 } else { 1.0 }).collect();
        let scale = scale(&values, SPEEDS);
        assert!(scale.is_above(400.0) && scale.is_above(70.0) && !scale.is_above(60.0));
    }

    #[test]
    fn the_axis_of_still_air_and_of_nothing_at_all_reaches_over_the_usual_range() {
        for values in [vec![], vec![0.0], vec![0.01; 50]] {
            let scale = scale(&values, SPEEDS);
            assert!(!scale.is_above(2.0) && !scale.is_below(-2.0), "{values:?}");
        }
    }

    #[test]
    fn a_constant_height_gets_an_axis_of_some_width() {
        let (low, high) = (f32::INFINITY, f32::NEG_INFINITY);
        let limits = Limits { low, high, width: 20.0, ordinary: 1000.0, possible: f32::INFINITY };
        let scale = scale(&[1234.0; 9], limits);
        assert!((scale.place(1234.0) - 0.5).abs() < 1e-3);
        assert_eq!(scale.ticks(3), [1230.0, 1240.0]);
    }

    #[test]
    fn ticks_are_round_within_the_axis_and_no_more_than_asked_for() {
        for (values, most, expected) in [
            ([-3.6, 5.1], 7, vec![-4.0, -2.0, 0.0, 2.0, 4.0]),
            ([950.0, 3080.0], 5, vec![1000.0, 1500.0, 2000.0, 2500.0, 3000.0]),
            ([0.0, 12_000.0], 4, vec![0.0, 5000.0, 10_000.0]),
        ] {
            let limits =
                Limits { low: values[0], high: values[1], possible: f32::INFINITY, ..SPEEDS };
            assert_eq!(scale(&values, limits).ticks(most), expected, "{values:?}");
        }
        assert_eq!(
            Scale::logarithmic(250.0, 1000.0).ticks(6),
            [300.0, 400.0, 500.0, 700.0, 1000.0]
        );
        assert_eq!(
            Scale::logarithmic(80.0, 4000.0).ticks(6),
            [100.0, 200.0, 500.0, 1000.0, 2000.0]
        );
        let small = Scale::logarithmic(0.02, 2.0).ticks(9);
        let expected = [0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0_f32];
        assert_eq!(small.len(), expected.len());
        assert!(
            small.iter().zip(expected).all(|(tick, value)| (tick / value - 1.0).abs() < 1e-6),
            "{small:?}"
        );
        assert_eq!(Scale::between(-1.0, 4.0).ticks(6), [-1.0, 0.0, 1.0, 2.0, 3.0, 4.0]);
    }

    #[test]
    fn a_root_axis_begins_at_zero_and_spreads_what_is_near_it() {
        let scale = Scale::root(16.0);
        let from_zero = |value| scale.place(value) - scale.place(0.0);
        assert!(scale.place(0.0) > 0.0 && scale.place(16.0) == 1.0);
        assert!((from_zero(4.0) - 0.5 * from_zero(16.0)).abs() < 1e-6);
        let ticks = scale.ticks(10);
        assert!(ticks.starts_with(&[0.0]) && ticks.contains(&1.0) && ticks.contains(&10.0));
        assert!(ticks.windows(2).all(|pair| from_zero(pair[1]) - from_zero(pair[0]) >= 0.1));
    }

    #[test]
    fn octaves_are_equally_long_on_a_logarithmic_axis() {
        let scale = Scale::logarithmic(200.0, 1600.0);
        let octave = scale.place(400.0) - scale.place(200.0);
        assert!((scale.place(1600.0) - scale.place(800.0) - octave).abs() < 1e-5);
    }

    #[test]
    fn labels_have_the_decimals_that_their_ticks_need() {
        assert_eq!(label(-2.0, &[-2.0, 0.0, 2.0]), "\u{2212}2");
        assert_eq!(label(0.5, &[0.0, 0.5, 1.0]), "0.5");
        assert_eq!(label(0.25, &[0.2, 0.25]), "0.25");
        assert_eq!(label(7.0, &[7.0]), "7");
    }
}
