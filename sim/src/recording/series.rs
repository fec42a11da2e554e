//! Evenly spaced values: resampling, smoothing, rates.

/// Values at `start_s + k step_s`.
#[derive(Clone, Debug, Default)]
pub struct Even {
    /// Time of the first.
    pub start_s: f64,
    /// Time between two.
    pub step_s: f64,
    /// The values.
    pub values: Vec<f64>,
}

impl Even {
    /// `values` at increasing `times_s`, interpolated linearly; where samples are closer than
    /// `step_s`, their mean.
    pub fn of(times_s: &[f64], values: &[f64], step_s: f64) -> Self {
        Self::from(times_s, values, step_s, times_s[0])
    }

    /// The same from `start_s` on, as many as [`Even::of`] gives; before the first and after the
    /// last the value is held.
    pub fn from(times_s: &[f64], values: &[f64], step_s: f64, start_s: f64) -> Self {
        let count = ((times_s[times_s.len() - 1] - times_s[0]) / step_s) as usize + 1;
        let mut place = 0;
        let values = (0..count)
            .map(|k| {
                let (from_s, to_s) =
                    (start_s + (k as f64 - 0.5) * step_s, start_s + (k as f64 + 0.5) * step_s);
                while place + 1 < times_s.len() && times_s[place + 1] <= from_s {
                    place += 1;
                }
                mean_between(times_s, values, place, (from_s, to_s))
            })
            .collect();
        Self { start_s, step_s, values }
    }

    /// Three running means with a total width of `width_s`, close to a Gaussian of standard
    /// deviation `width_s / 6`; shorter at the ends.
    pub fn smoothed(&self, width_s: f64) -> Self {
        let half = ((width_s / 3.0 / self.step_s - 1.0) / 2.0).round().max(0.0) as usize;
        let mut values = self.values.clone();
        for _ in 0..3 {
            values = running_mean(&values, half);
        }
        Self { values, ..*self }
    }

    /// The mean over `width_s` about each moment, an odd number of values; shorter at the ends.
    pub fn averaged(&self, width_s: f64) -> Self {
        let half = ((width_s / self.step_s - 1.0) / 2.0).round().max(0.0) as usize;
        Self { values: running_mean(&self.values, half), ..*self }
    }

    /// The value at `time_s`, interpolated linearly; at the ends that of the end.
    pub fn at(&self, time_s: f64) -> f64 {
        let last = self.values.len().saturating_sub(1);
        let place = ((time_s - self.start_s) / self.step_s).clamp(0.0, last as f64);
        let (before, share) = (place as usize, place.fract());
        let after = (before + 1).min(last);
        self.values[before] + share * (self.values[after] - self.values[before])
    }

    /// Rate of change, from the neighbours on both sides.
    pub fn rate(&self) -> Self {
        let last = self.values.len().saturating_sub(1);
        let rate = |place: usize| {
            let (before, after) = (place.saturating_sub(1), (place + 1).min(last));
            (self.values[after] - self.values[before])
                / ((after - before).max(1) as f64 * self.step_s)
        };
        Self { values: (0..self.values.len()).map(rate).collect(), ..*self }
    }

    /// `self` and `other`.
    pub fn plus(&self, other: &Self) -> Self {
        let values = self.values.iter().zip(&other.values).map(|(a, b)| a + b).collect();
        Self { values, ..*self }
    }

    /// `self` less `other`.
    pub fn less(&self, other: &Self) -> Self {
        let values = self.values.iter().zip(&other.values).map(|(a, b)| a - b).collect();
        Self { values, ..*self }
    }
}

fn mean_between(times_s: &[f64], values: &[f64], place: usize, (from_s, to_s): (f64, f64)) -> f64 {
    let inside = (place..times_s.len())
        .take_while(|&at| times_s[at] < to_s)
        .filter(|&at| times_s[at] >= from_s);
    let (sum, time, count) = inside.fold((0.0, 0.0, 0.0), |(sum, time, count), at| {
        (sum + values[at], time + times_s[at], count + 1.0)
    });
    let middle_s = 0.5 * (from_s + to_s);
    if count > 1.5 {
        // The mean belongs to the mean of their times; the slope about there brings it to the
        // middle.
        let last = times_s.len() - 1;
        let (a, b) = (place, (place + count as usize + 1).min(last));
        let slope = if b > a { (values[b] - values[a]) / (times_s[b] - times_s[a]) } else { 0.0 };
        return sum / count + slope * (middle_s - time / count);
    }
    let mut at = place;
    while at + 1 < times_s.len() - 1 && times_s[at + 1] <= middle_s {
        at += 1;
    }
    if at + 1 >= times_s.len() {
        return values[at];
    }
    let share = ((middle_s - times_s[at]) / (times_s[at + 1] - times_s[at])).clamp(0.0, 1.0);
    values[at] + share * (values[at + 1] - values[at])
}

fn running_mean(values: &[f64], half: usize) -> Vec<f64> {
    let mut sums = Vec::with_capacity(values.len() + 1);
    let mut sum = 0.0;
    sums.push(sum);
    for value in values {
        sum += value;
        sums.push(sum);
    }
    (0..values.len())
        .map(|place| {
            let (from, to) = (place.saturating_sub(half), (place + half + 1).min(values.len()));
            (sums[to] - sums[from]) / (to - from) as f64
        })
        .collect()
}

/// The value that half of `values` exceed, of an even number of them the larger of the two in the
/// middle; `None` where there are none.
pub fn median(values: &[f64]) -> Option<f64> {
    let mut values = values.to_vec();
    let middle = values.len() / 2;
    (!values.is_empty()).then(|| *values.select_nth_unstable_by(middle, f64::total_cmp).1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_straight_line_stays_one_at_every_spacing() {
        let times: Vec<f64> =
            (0..500).map(|step| f64::from(step) * 0.02 + f64::from(step % 3) * 0.004).collect();
        let values: Vec<f64> = times.iter().map(|time| 3.0 * time).collect();
        for step_s in [0.02, 0.05, 0.33] {
            let even = Even::of(&times, &values, step_s);
            for (k, value) in even.values.iter().enumerate().skip(2).take(even.values.len() - 5) {
                assert_abs_diff_eq!(*value, 3.0 * k as f64 * step_s, epsilon = 0.02);
            }
        }
    }

    #[test]
    fn a_sine_can_be_smoothed_and_differentiated() {
        let wave = |t: f64| (1.5 * t).sin();
        let times: Vec<f64> = (0..2_000).map(|step| f64::from(step) * 0.05).collect();
        let values: Vec<f64> = times.iter().map(|time| wave(*time)).collect();
        let even = Even::of(&times, &values, 0.05);
        let (smooth, rate) = (even.smoothed(0.3), even.rate());
        for place in 100..1_900 {
            let time = place as f64 * 0.05;
            assert_abs_diff_eq!(smooth.values[place], wave(time), epsilon = 0.01);
            assert_abs_diff_eq!(rate.values[place], 1.5 * (1.5 * time).cos(), epsilon = 0.01);
        }
    }
}
