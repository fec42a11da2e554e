//! Rough air drawn: a stretch straight on in gusts, and false spells against quickness.

use super::report::{RoughReport, Trade};
use super::trial::RoughTraces;
use crate::output::plot::chart::{Chart, dot, number};
use crate::output::plot::key::{self, Key, Mark};
use crate::output::plot::layout::{LEFT, RIGHT};
use crate::output::plot::scale::Scale;
use crate::output::plot::style;
use crate::output::plot::svg::{Anchor, Area, Pen, Svg, text_width};

/// From the key to the lower edge of the page.
pub const HEIGHT: f32 = 376.0;
/// From the key to the panels, and the panels' height.
const PANELS: f32 = 34.0;
const PANEL_HEIGHT: f32 = 288.0;
/// Inner edges of the panels.
const MIDDLE: (f32, f32) = (708.0, 812.0);
/// A label of a point is this wide; a point closer than this to the one before has none.
const LABEL_WIDTH: f32 = 38.0;
/// The fixed filter with the least error.
const FIXED: Pen = style::UNCOMPENSATED;
/// The fixed filters of the front.
const FRONT: Pen = Pen { width: 2.0, ..style::THIRD };

/// Draws it below `top`, the place of the key.
pub fn draw(svg: &mut Svg, top: f32, report: &RoughReport, traces: &RoughTraces) {
    let fixed = format!("fixed, least error ({:.1} s)", traces.fixed_response_s);
    let keys = [
        Key::new(Mark::Line(style::THESE), "these settings"),
        Key::new(Mark::Beeps(style::BEEPS), "climb sounds"),
        Key::new(Mark::Line(FIXED), fixed),
        Key::new(Mark::Line(style::TRUTH), "truth"),
    ];
    key::heading(svg, top, "Rough air", &keys);
    let panels = (top + PANELS, top + PANELS + PANEL_HEIGHT);
    straight(svg, panels, traces);
    trade(svg, panels, report);
}

/// A stretch straight on: what is true, and what is heard.
fn straight(svg: &mut Svg, (top, bottom): (f32, f32), traces: &RoughTraces) {
    let lines = [
        (&traces.present, style::THESE),
        (&traces.fixed, FIXED),
        (&traces.truth, Pen { width: 2.4, ..style::TRUTH }),
    ];
    let values = lines.iter().flat_map(|(series, _)| &series.values_mps);
    let most = values.fold(1.0_f64, |most, value| most.max(value.abs())) as f32;
    let times_s = &traces.truth.times_s;
    let begins_s = times_s.first().copied().unwrap_or(0.0);
    let lasts_s = times_s.last().map_or(1.0, |last_s| last_s - begins_s);
    let chart = Chart {
        area: Area { left: LEFT, top, right: MIDDLE.0, bottom },
        across: Scale::between(0.0, lasts_s as f32),
        up: Scale::between(-1.1 * most, 1.25 * most),
    };
    chart.ground(svg, "Straight through gusts of 0.5 m/s, air that never rises (m/s)", "time (s)");
    svg.line(chart.at(0.0, 0.0), chart.at(lasts_s, 0.0), style::ZERO);
    for (series, pen) in lines {
        let points = series.points().map(|(time_s, value)| (time_s - begins_s, value));
        svg.path(&chart.line(points), pen);
    }
    let sounds_mps = f64::from(1.15 * most);
    for (from_s, to_s) in &traces.climbs_s {
        let from_s = (from_s - begins_s).max(0.0);
        let to_s = (to_s - begins_s).min(lasts_s);
        if to_s > from_s {
            svg.line(chart.at(from_s, sounds_mps), chart.at(to_s, sounds_mps), style::BEEPS);
        }
    }
    chart.frame(svg);
}

/// What quickness costs: the settings against the front of fixed filters.
fn trade(svg: &mut Svg, (top, bottom): (f32, f32), report: &RoughReport) {
    let all = || report.front.iter().chain([&report.present]);
    let most = all().map(|trade| trade.false_spells).fold(1.0, f64::max);
    let latest_s = all().filter_map(|trade| trade.half_late_s).fold(1.0, f64::max);
    let chart = Chart {
        area: Area { left: MIDDLE.1, top, right: RIGHT, bottom },
        across: Scale::between(0.0, 1.12 * latest_s as f32),
        up: Scale::between(0.0, 1.15 * most as f32),
    };
    chart.ground(svg, "False spells in ten minutes", "half-way up 2 m/s late by (s)");
    let place = |trade: &Trade| Some(chart.at(trade.half_late_s?, trade.false_spells));
    let line =
        report.front.iter().filter_map(|trade| Some((trade.half_late_s?, trade.false_spells)));
    svg.path(&chart.line(line), FRONT);
    let mut labelled_at = f32::MIN;
    for trade in &report.front {
        if let (Some(at), Some(response_s)) = (place(trade), trade.response_s) {
            dot(svg, at, 4.0, FRONT.colour);
            if at.0 - labelled_at < LABEL_WIDTH {
                continue;
            }
            labelled_at = at.0;
            let words = format!("{} s", number(response_s as f32));
            svg.text((at.0 + 8.0, at.1 - 6.0), Anchor::Start, style::POINT_LABEL, &words);
        }
    }
    let dots = String::from("small dots: fixed filters, by response time");
    let mut words = vec![dots];
    match place(&report.present) {
        Some(at) => dot(svg, at, 7.0, style::THESE.colour),
        None => words.push(format!(
            "these settings: {:.0}, lag cannot be told",
            report.present.false_spells
        )),
    }
    corner(svg, &chart, &words);
    chart.frame(svg);
}

/// Words in the upper right corner, on the panel's own ground.
fn corner(svg: &mut Svg, chart: &Chart, lines: &[String]) {
    let kind = style::POINT_LABEL;
    let right = chart.area.right - 8.0;
    for (place, words) in lines.iter().enumerate() {
        let line = chart.area.top + 20.0 * (place + 1) as f32;
        let left = right - text_width(words, kind.size, kind.weight) - 4.0;
        let behind = Area { left, top: line - 15.0, right: right + 4.0, bottom: line + 5.0 };
        svg.rectangle(behind, style::PANEL);
        svg.text((right, line), Anchor::End, kind, words);
    }
}

#[cfg(test)]
mod tests {
    use super::super::trial::RESPONSES_S;
    use super::*;
    use crate::output::plot::chart::sheet_of;
    use crate::output::plot::testing::{assert_readable_within, texts};
    use crate::response::series::Series;

    fn series(value: impl Fn(f64) -> f64) -> Series {
        let times_s: Vec<f64> = (0..3000).map(|step| 40.0 + 0.02 * f64::from(step)).collect();
        Series { values_mps: times_s.iter().map(|time_s| value(*time_s)).collect(), times_s }
    }

    #[test]
    fn it_can_be_read_whether_or_not_the_settings_have_a_place_beside_the_front() {
        for half_late_s in [Some(0.3), None] {
            let front = RESPONSES_S.map(|response_s| Trade {
                response_s: Some(response_s),
                half_late_s: Some(1.2 * response_s),
                false_spells: 10.0 / response_s,
            });
            let present = Trade { response_s: None, half_late_s, false_spells: 53.0 };
            let report = RoughReport {
                seeds: 1,
                counted_s: 600.0,
                rows: Vec::new(),
                inertial: Vec::new(),
                present,
                front: front.to_vec(),
            };
            let traces = RoughTraces {
                truth: series(|_| -0.8),
                present: series(|time_s| 3.0 * (time_s * 2.0).sin()),
                fixed: series(|time_s| (time_s * 0.2).sin()),
                fixed_response_s: 2.0,
                climbs_s: vec![(39.0, 41.0), (50.0, 51.0), (99.0, 101.0)],
            };
            let mut svg = sheet_of((96.0 + HEIGHT) as u32, "Title", "subtitle");
            draw(&mut svg, 96.0, &report, &traces);
            let svg = svg.finish();
            assert_readable_within(96.0 + HEIGHT, "rough", &svg);
            let words: Vec<String> = texts(&svg).into_iter().map(|(words, _)| words).collect();
            let says = |part: &str| words.iter().any(|found| found.contains(part));
            assert!(says("fixed, least error (2.0 s)") && says("0.35 s"), "{words:?}");
            assert_eq!(says("lag cannot be told"), half_late_s.is_none(), "{words:?}");
        }
    }
}
