//! One panel: where times and values lie on it, and the outlines of lines, bands, stripes and bars.

use super::bins::{Channel, Span};
use super::pulses::{Kind, Pulse};
use super::scale::Scale;
use super::svg::Area;
use chirrup_core::TICK;
use std::fmt::Write;

/// Distance of the stripes that stand for beeps too many to be drawn, in pixels.
const STRIPES: f32 = 4.0;
/// Width of a step of a band, in pixels.
const BAND_STEP: f32 = 2.0;
/// The least height of a band or stripe, in pixels.
const LEAST_HEIGHT: f32 = 4.0;
/// Between two arrows at the same edge, in pixels.
const BETWEEN_ARROWS: f32 = 13.0;

/// What maps times and values to places; times in microseconds after the start of the trace.
#[derive(Clone, Copy, Debug)]
pub struct Panel {
    /// Where it is on the page.
    pub area: Area,
    /// Its value axis.
    pub scale: Scale,
    /// The times at its left and right edges.
    pub times_us: (i64, i64),
    /// Width of a column of time.
    pub column_us: i64,
}

impl Panel {
    /// Place of a time; what lies beyond an edge is put there.
    pub fn x(&self, after_start_us: i64) -> f32 {
        let (from_us, to_us) = self.times_us;
        let share = (after_start_us - from_us) as f64 / (to_us - from_us) as f64;
        self.area.left + (share as f32).clamp(0.0, 1.0) * self.area.width()
    }

    /// Place of a value; what lies beyond an edge is put there.
    pub fn y(&self, value: f32) -> f32 {
        self.area.bottom - self.scale.place(value) * self.area.height()
    }

    /// Left edge of a column.
    pub fn column_x(&self, place: usize) -> f32 {
        self.x((place as i64).saturating_mul(self.column_us))
    }

    /// A line through the first, lowest, highest and last value of every column.
    pub fn line(&self, channel: &Channel) -> String {
        self.joined(channel, values_of)
    }

    /// A line through the last value of every column, where the others would make a band of it.
    pub fn last_values(&self, channel: &Channel) -> String {
        self.joined(channel, |span| vec![span.last])
    }

    /// The area from the lowest to the highest value, in steps wide enough to look solid; the way
    /// from one step to the next is part of it.
    pub fn band(&self, channel: &Channel) -> String {
        let count = self.columns_in(BAND_STEP);
        let mut data = String::new();
        for run in channel.runs() {
            let (mut upper, mut lower, mut before) = (Vec::new(), Vec::new(), None);
            for step in run.chunk_by(|a, b| a.0 / count == b.0 / count) {
                let place = step[0].0 / count * count;
                let Some(span) = step.iter().map(|&(_, span)| span).reduce(Span::then) else {
                    continue;
                };
                let (top, bottom) = self.thick(span.reaching(before.unwrap_or(span.first)));
                before = Some(span.last);
                for x in [self.column_x(place), self.column_x(place + count)] {
                    upper.push((x, top));
                    lower.push((x, bottom));
                }
            }
            let mut command = 'M';
            for (x, y) in upper.into_iter().chain(lower.into_iter().rev()) {
                let _ = write!(data, "{command}{x:.1},{y:.1}");
                command = 'L';
            }
            data.push('Z');
        }
        data
    }

    /// Stripes `width` pixels wide from the lowest to the highest value, for what is interrupted
    /// too quickly to be drawn.
    pub fn stripes(&self, channel: &Channel, width: f32) -> String {
        let group = self.columns_in(STRIPES);
        let groups = channel.spans().last().map_or(0, |(place, _)| place / group + 1);
        let half = 0.5 * width;
        let mut data = String::new();
        for place in (0..groups).map(|count| count * group) {
            if let Some(span) = channel.together(place, group) {
                let x = 0.5 * (self.column_x(place) + self.column_x(place + group));
                let (top, bottom) = self.thick(span);
                let _ = write!(
                    data,
                    "M{:.1},{top:.1}H{:.1}V{bottom:.1}H{:.1}Z",
                    x - half,
                    x + half,
                    x - half
                );
            }
        }
        data
    }

    /// Every beep as a stroke at its pitch.
    pub fn beeps(&self, pulses: &[Pulse]) -> String {
        let mut data = String::new();
        for pulse in pulses.iter().filter(|pulse| pulse.kind == Kind::Beep) {
            self.stroke(&mut data, pulse);
        }
        data
    }

    /// Every stretch of the steady tone as a stroke at its pitch.
    pub fn steady(&self, pulses: &[Pulse]) -> String {
        let mut data = String::new();
        for pulse in pulses.iter().filter(|pulse| pulse.kind == Kind::Steady) {
            self.stroke(&mut data, pulse);
        }
        data
    }

    /// Arrows where values lie beyond the axis, and the furthest of these values.
    pub fn arrows<'a>(&self, channels: impl Iterator<Item = &'a Channel>) -> Option<(String, f32)> {
        let mut data = String::new();
        let mut furthest = None;
        let (mut last_above, mut last_below) = (f32::NEG_INFINITY, f32::NEG_INFINITY);
        let Area { left, top, right, bottom } = self.area;
        for (place, span) in channels.flat_map(Channel::spans) {
            let x = self.middle_x(place).clamp(left + 6.0, right - 6.0);
            for (value, is_beyond, last, base, tip) in [
                (span.high, self.scale.is_above(span.high), &mut last_above, top + 11.0, -10.0),
                (span.low, self.scale.is_below(span.low), &mut last_below, bottom - 11.0, 10.0),
            ] {
                if !is_beyond {
                    continue;
                }
                furthest =
                    furthest.filter(|before: &f32| before.abs() > value.abs()).or(Some(value));
                if (x - *last).abs() >= BETWEEN_ARROWS {
                    *last = x;
                    let _ = write!(data, "M{:.1},{base:.1}h12l-6,{tip}Z", x - 6.0);
                }
            }
        }
        furthest.map(|furthest| (data, furthest))
    }

    /// How many columns are about so wide together, in pixels.
    fn columns_in(&self, width: f32) -> usize {
        let column = self.column_us as f64 / (self.times_us.1 - self.times_us.0) as f64
            * f64::from(self.area.width());
        (f64::from(width) / column).round().max(1.0) as usize
    }

    fn joined(&self, channel: &Channel, values: impl Fn(Span) -> Vec<f32>) -> String {
        let mut data = String::new();
        for run in channel.runs() {
            let mut command = 'M';
            for &(place, span) in &run {
                let x = self.middle_x(place);
                for value in values(span) {
                    let _ = write!(data, "{command}{x:.1},{:.1}", self.y(value));
                    command = 'L';
                }
            }
            if run.len() == 1 {
                data.push_str("m-2,0h4"); // a lone sample is a dot
            }
        }
        data
    }

    fn stroke(&self, data: &mut String, pulse: &Pulse) {
        let x = |tick: u64| self.x((tick as i64).saturating_mul(TICK.0));
        let (first, last) = (self.y(pulse.first_hz), self.y(pulse.last_hz));
        let _ = write!(data, "M{:.1},{first:.1}L{:.1},{last:.1}", x(pulse.from), x(pulse.to));
    }

    /// Upper and lower edge of a column's values, far enough apart to be seen.
    fn thick(&self, span: Span) -> (f32, f32) {
        let (top, bottom) = (self.y(span.high), self.y(span.low));
        let missing = 0.5 * (LEAST_HEIGHT - (bottom - top)).max(0.0);
        (top - missing, bottom + missing)
    }

    fn middle_x(&self, place: usize) -> f32 {
        self.x((place as i64).saturating_mul(self.column_us).saturating_add(self.column_us / 2))
    }
}

/// The values of a column in an order that a line can follow, each but once.
fn values_of(span: Span) -> Vec<f32> {
    let Span { first, last, low, high, .. } = span;
    let nearest_first = if first - low < high - first { [low, high] } else { [high, low] };
    let mut values = vec![first, nearest_first[0], nearest_first[1], last];
    values.dedup();
    values
}
