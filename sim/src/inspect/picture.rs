//! An inspection as a picture, 1200 by 800 pixels: the flight's height, the intervals, the noise by
//! averaging time.

use super::Inspection;
use super::noise::{AtRest, Noise};
use crate::output::plot::chart::{Chart, range_of, sheet};
use crate::output::plot::key::{self, Key, Mark};
use crate::output::plot::layout::{LEFT, RIGHT};
use crate::output::plot::scale::Scale;
use crate::output::plot::style;
use crate::output::plot::svg::{Area, Pen, Svg};
use crate::recording::track::Track;
use crate::units::Units;

const UPPER: (f32, f32) = (96.0, 340.0);
const LOWER: (f32, f32) = (440.0, 730.0);
const MIDDLE: (f32, f32) = (560.0, 660.0);
const KEY_TOP: f32 = 412.0;
/// Points of the height's line.
const POINTS: usize = 1_000;

const CHANNELS: [(&str, Pen); 3] = [
    ("static", style::THESE),
    ("dynamic", Pen { width: 2.6, ..style::OTHER }),
    ("probe", Pen { width: 2.6, ..style::STEADY }),
];

/// The picture of `inspection`.
pub(crate) fn draw(inspection: &Inspection, track: &Track) -> String {
    let timing = &inspection.timing;
    let white = inspection.static_pressure.as_ref().map_or_else(String::new, |noise| {
        let most = if noise.is_told_from_flight() { "" } else { "at most " };
        format!(", {most}{:.2} Pa of white noise", noise.at_most())
    });
    let subtitle = format!("{} samples, {:.1} a second{white}", timing.samples, timing.rate_hz);
    let mut svg = sheet(&inspection.title, &subtitle);
    height(&mut svg, track, inspection.units);
    intervals(&mut svg, inspection);
    noise(&mut svg, inspection);
    svg.finish()
}

fn height(svg: &mut Svg, track: &Track, units: Units) {
    let shown = |height_m: &f64| units.height(*height_m).value;
    let stride = track.times_s.len().div_ceil(POINTS).max(1);
    let (first, last) = (track.times_s[0], track.times_s[track.times_s.len() - 1]);
    let (low, high) = range_of(track.altitude_m.iter().map(shown));
    let margin = (0.05 * (high - low)).max(1.0);
    let chart = Chart {
        area: Area { left: LEFT, top: UPPER.0, right: RIGHT, bottom: UPPER.1 },
        across: Scale::between(0.0, ((last - first) / 60.0) as f32),
        up: Scale::between((low - margin) as f32, (high + margin) as f32),
    };
    chart.ground(
        svg,
        &format!("Height ({})", units.height.name()),
        "minutes from the first sample",
    );
    let points = track
        .times_s
        .iter()
        .zip(&track.altitude_m)
        .step_by(stride)
        .map(|(time, height)| ((time - first) / 60.0, shown(height)));
    svg.path(&chart.line(points), style::HEIGHT);
    chart.frame(svg);
}

fn intervals(svg: &mut Svg, inspection: &Inspection) {
    let timing = &inspection.timing;
    let bin_ms = 1e3 * timing.bin_s();
    let share = |count: usize| 100.0 * count as f64 / (timing.samples - 1) as f64;
    let most = timing.histogram.iter().map(|count| share(*count)).fold(0.0, f64::max);
    let chart = Chart {
        area: Area { left: LEFT, top: LOWER.0, right: MIDDLE.0, bottom: LOWER.1 },
        across: Scale::between(0.0, (bin_ms * timing.histogram.len() as f64) as f32),
        up: Scale::between(0.0, (1.05 * most) as f32),
    };
    chart.ground(svg, "Intervals (% of them)", "ms; the last bar is all that is longer");
    for (place, count) in timing.histogram.iter().enumerate().filter(|(_, count)| **count > 0) {
        let (left, top) = chart.at((place as f64 - 0.5) * bin_ms, share(*count));
        let right = chart.at((place as f64 + 0.5) * bin_ms, 0.0).0;
        svg.rectangle(
            Area {
                left: left + 1.0,
                top: top.min(chart.area.bottom - 1.5),
                right: right - 1.0,
                bottom: chart.area.bottom,
            },
            style::COMPENSATED.colour,
        );
    }
    chart.frame(svg);
}

fn noise<'a>(svg: &mut Svg, inspection: &'a Inspection) {
    let channels =
        [&inspection.static_pressure, &inspection.dynamic_pressure, &inspection.probe_pressure];
    // In the air the deviation is of the flight: a stretch at rest is drawn where there is one.
    let resting = channels.into_iter().flatten().find_map(|noise| noise.at_rest.as_ref());
    let drawn = |noise: &'a Noise| match (&noise.at_rest, resting) {
        (Some(rest), _) => Some(&rest.allan),
        (None, Some(_)) => None,
        (None, None) => Some(&noise.allan),
    };
    let lines: Vec<_> = channels
        .into_iter()
        .zip(CHANNELS)
        .filter_map(|(noise, channel)| Some((drawn(noise.as_ref()?)?, channel)))
        .collect();
    let points = || {
        lines.iter().flat_map(|(allan, _)| allan.iter()).filter(|(_, deviation)| *deviation > 0.0)
    };
    let range = |of: fn(&(f64, f64)) -> f64| range_of(points().map(of));
    let ((shortest, longest), (least, most)) = (range(|point| point.0), range(|point| point.1));
    if shortest >= longest || least >= most {
        return;
    }
    let chart = Chart {
        area: Area { left: MIDDLE.1, top: LOWER.0, right: RIGHT, bottom: LOWER.1 },
        across: Scale::logarithmic(shortest as f32, longest as f32),
        up: Scale::logarithmic(least as f32, most as f32),
    };
    let keys: Vec<Key> =
        lines.iter().map(|(_, (name, pen))| Key::new(Mark::Line(*pen), *name)).collect();
    key::heading(svg, KEY_TOP, "Channels", &keys);
    let title = match resting {
        Some(AtRest { for_s, .. }) => format!("Allan deviation at rest, for {for_s:.0} s (Pa)"),
        None => "Allan deviation of flight and noise together (Pa)".into(),
    };
    chart.ground(svg, &title, "averaging time (s)");
    for (allan, (_, pen)) in &lines {
        svg.path(
            &chart.line(allan.iter().filter(|(_, deviation)| *deviation > 0.0).copied()),
            *pen,
        );
    }
    chart.frame(svg);
}
