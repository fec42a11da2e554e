//! The axes of a picture of a flight: values on the left, the clock below.

use crate::output::plot::chart::{Chart, number};
use crate::output::plot::style;
use crate::output::plot::svg::{Anchor, Svg};
use crate::output::plot::time_axis::TimeAxis;

/// The panel, with lines at about `most` round values.
pub fn values(svg: &mut Svg, chart: &Chart, most: usize) {
    let area = chart.area;
    svg.rectangle(area, style::PANEL);
    for tick in chart.up.ticks(most) {
        let y = chart.at(0.0, f64::from(tick)).1;
        svg.line((area.left, y), (area.right, y), style::GRID);
        svg.text((area.left - 8.0, y + 5.0), Anchor::End, style::TICK_LABEL, &number(tick));
    }
}

/// The clock from `first` to `last` seconds: the time of day where second zero is `utc_at_zero_s`
/// after midnight, else the trace's own.
pub fn clock((first, last): (f64, f64), utc_at_zero_s: Option<f64>) -> TimeAxis {
    let us = |seconds: f64| (seconds * 1e6) as i64;
    match utc_at_zero_s {
        Some(zero_s) => TimeAxis::of_day(us(first + zero_s), us(last - first)),
        None => TimeAxis::new(us(first), us(last - first)),
    }
}

/// Its labels below the panel, and what they are.
pub fn times(svg: &mut Svg, chart: &Chart, axis: &TimeAxis, is_named: bool) {
    let (area, kind) = (chart.area, style::TICK_LABEL);
    let ticks = axis.ticks(area.width(), kind.size);
    for (place, words) in &ticks.ticks {
        let x = area.left + place * area.width();
        svg.line((x, area.bottom), (x, area.bottom + 5.0), style::FRAME);
        svg.text((x, area.bottom + 20.0), Anchor::Middle, kind, words);
    }
    if is_named {
        let words = format!("{} ({})", axis.title(), ticks.unit);
        svg.text((area.right, area.bottom + 44.0), Anchor::End, kind, &words);
    }
}
