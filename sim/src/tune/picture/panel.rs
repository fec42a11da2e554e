//! A panel: one figure of each candidate against its lag.

use super::labels::{Label, Room};
use super::points::{Point, groups, points, response_times};
use crate::output::plot::chart::{Chart, circle, dot, number, range_of};
use crate::output::plot::scale::Scale;
use crate::output::plot::style;
use crate::output::plot::svg::{Area, Pen, Svg, Type, Weight};
use crate::tune::report::{Judged, Report};
use crate::tune::score::Score;
use crate::tune::verdict::Decision;

/// Radii in pixels: of a bootstrap sample, of a candidate, of one in front, of one that is named.
const SAMPLE: f32 = 1.8;
const POINT: f32 = 3.6;
const IN_FRONT: f32 = 5.0;
const NAMED: f32 = 9.0;
/// The line along a filter, and the one behind the front.
const ALONG: f32 = 1.6;
const FRONT: Pen = Pen::solid(style::MARKER, 11.0);
/// Each filter with the colours of its points and of its bootstrap samples.
const FILTERS: [(&str, &str, &str); 2] = [
    ("adaptive", style::THESE.colour, style::COMPENSATED_BAND),
    ("fixed", style::OTHER.colour, style::OTHER_BAR),
];
const DARK: Type = Type { colour: style::INK, ..style::POINT_LABEL };
const BOLD: Type = Type { weight: Weight::Bold, ..DARK };
/// Pixels from a point within which its label stands, if it names a filter, and if it does not.
const FILTER_REACH: f32 = 70.0;
const TIME_REACH: f32 = 6.0;
/// What it costs a label to cover part of a line or a bootstrap sample, in pixels of distance.
const ON_LINE: f32 = 3.0;
const ON_SAMPLE: f32 = 0.2;
/// Above and below the points, as a share of their range; and the least range.
const MARGIN: f32 = 0.08;
const LEAST_RANGE: f64 = 0.01;
/// A limit further out than so many times the greatest value is not in the panel.
const FAR: f64 = 1.5;

/// What a panel shows.
pub struct Panel {
    /// Its name with the unit.
    pub name: &'static str,
    /// The figure.
    pub figure: fn(&Score) -> f64,
    /// Whether its axis begins at zero and has square roots, or shows the range of the points.
    pub from_zero: bool,
    /// What the figure is to be at most, and in words.
    pub limit: Option<(f64, String)>,
}

/// The panel and the labels in it.
pub fn draw(svg: &mut Svg, report: &Report, panel: &Panel, area: Area) -> Room {
    let lag_limit = report.limits.lag_s;
    let lag = range(report, |score| score.lag_s, lag_limit);
    let figure = range(report, panel.figure, panel.limit.as_ref().map(|(limit, _)| *limit));
    let chart = Chart {
        area,
        across: Scale::between(-0.03 * lag.1, 1.05 * lag.1),
        up: if panel.from_zero {
            Scale::root(1.05 * figure.1)
        } else {
            let margin = MARGIN * (figure.1 - figure.0);
            Scale::between(figure.0 - margin, figure.1 + margin)
        },
    };
    let place = |score: &Score| chart.at(score.lag_s, (panel.figure)(score));
    let figures = |judged: &Judged| (judged.score.lag_s, (panel.figure)(&judged.score));
    let points = points(&report.readings, figures, |x, y| chart.at(x, y));
    let mut room = Room::new(area);
    chart.ground(svg, panel.name, "lag (s)");
    clouds(svg, &mut room, report, place);
    front(svg, &mut room, &points);
    lines(svg, &mut room, &points);
    let limits = limits(svg, &mut room, &chart, panel, lag_limit);
    marks(svg, &mut room, &points);
    named(svg, &mut room, report, place);
    for label in limits {
        room.place(label);
    }
    times(&mut room, &points, report);
    room.draw(svg);
    chart.frame(svg);
    room
}

/// From the least of a figure to the greatest, with its limit unless that is far out.
fn range(report: &Report, of: fn(&Score) -> f64, limit: Option<f64>) -> (f32, f32) {
    let all = report.readings.iter().chain([&report.recommended]).map(|judged| &judged.score);
    let (low, high) = range_of(all.chain(report.clouds.iter().flatten()).map(of));
    let high = high.max(low + LEAST_RANGE);
    (low as f32, limit.filter(|limit| *limit < FAR * high).map_or(high, |at| at.max(high)) as f32)
}

/// The bootstrap samples.
fn clouds(svg: &mut Svg, room: &mut Room, report: &Report, place: impl Fn(&Score) -> (f32, f32)) {
    for (filter, _, pale) in FILTERS {
        let of_filter = report.readings.iter().zip(&report.clouds);
        let of_filter = of_filter.filter(|(judged, _)| judged.filter == filter);
        let mut data = String::new();
        for sample in of_filter.flat_map(|(_, cloud)| cloud) {
            let at = place(sample);
            data += &circle(at, SAMPLE);
            room.avoid(at, ON_SAMPLE);
        }
        svg.veil(&data, pale);
    }
}

/// Behind the points that no other beats.
fn front(svg: &mut Svg, room: &mut Room, points: &[Point<'_>]) {
    let mut front: Vec<_> =
        points.iter().filter(|point| point.in_front).map(|point| point.at).collect();
    front.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.total_cmp(&other.1)));
    front.windows(2).for_each(|pair| room.avoid_line(pair[0], pair[1], ON_LINE));
    svg.path(&path(front), FRONT);
}

/// Along each filter, in the order of response times.
fn lines(svg: &mut Svg, room: &mut Room, points: &[Point<'_>]) {
    for (filter, colour, _) in FILTERS {
        let of_filter = points.iter().skip(1).filter(|point| point.judged.filter == filter);
        let places: Vec<_> = of_filter.map(|point| point.at).collect();
        places.windows(2).for_each(|pair| room.avoid_line(pair[0], pair[1], ON_LINE));
        svg.path(&path(places), Pen::solid(colour, ALONG));
    }
}

/// The candidates: filled if no other beats them.
fn marks(svg: &mut Svg, room: &mut Room, points: &[Point<'_>]) {
    for (filter, colour, _) in FILTERS {
        for point in points.iter().filter(|point| point.judged.filter == filter) {
            if point.in_front {
                dot(svg, point.at, IN_FRONT, colour);
            } else {
                dot(svg, point.at, POINT, style::PANEL);
                svg.path(&circle(point.at, POINT), Pen::solid(colour, ALONG));
            }
            room.mark(point.at, IN_FRONT);
        }
    }
}

/// The present settings in a ring, and the recommended ones, with their labels.
fn named(svg: &mut Svg, room: &mut Room, report: &Report, place: impl Fn(&Score) -> (f32, f32)) {
    let best = Type { colour: style::BEST, ..BOLD };
    let plain = Type { colour: style::PRESENT, ..BOLD };
    let (present, ring) = match report.verdict.decision {
        Decision::Keep => ("present, recommended:", best),
        Decision::Change | Decision::CannotTell => ("present:", plain),
    };
    let changes = report.verdict.decision == Decision::Change;
    let recommended = changes.then_some((&report.recommended, "recommended:", best));
    let named = report.readings.first().map(|judged| (judged, present, ring));
    let named: Vec<_> = recommended.into_iter().chain(named).collect();
    for (judged, name, style) in &named {
        let at = place(&judged.score);
        if *name == present {
            svg.path(&circle(at, NAMED), Pen::solid(style.colour, 2.6));
        } else {
            dot(svg, at, NAMED - 2.0, style.colour);
        }
        room.mark(at, NAMED);
    }
    let label = |(judged, name, style): (&Judged, &str, Type)| {
        let Judged { filter, response_s, climb_from_mps, .. } = judged;
        let (response, climb) = (number(*response_s), number(*climb_from_mps));
        let what = format!("{filter} {response} s, beeps from {climb} m/s");
        Label {
            lines: vec![name.into(), what],
            style,
            at: place(&judged.score),
            radius: NAMED,
            reach: f32::INFINITY,
        }
    };
    room.place_in_either_order(named.into_iter().map(label).collect());
}

/// The limits within the panel as lines, and their labels.
fn limits(
    svg: &mut Svg,
    room: &mut Room,
    chart: &Chart,
    panel: &Panel,
    lag_s: Option<f64>,
) -> Vec<Label> {
    let Area { left, top, right, bottom } = chart.area;
    let label = |words: &str, at| Label {
        lines: vec![words.into()],
        style: Type { colour: style::FAULT, ..style::POINT_LABEL },
        at,
        radius: 0.0,
        reach: f32::INFINITY,
    };
    let mut labels = Vec::new();
    let mut line = |words: &str, from: (f32, f32), to: (f32, f32), at| {
        svg.line(from, to, style::WANTED);
        room.avoid_line(from, to, 2.0 * ON_LINE);
        labels.push(label(words, at));
    };
    if let Some(lag_s) = lag_s.filter(|lag_s| !chart.across.is_above(*lag_s as f32)) {
        let x = chart.at(lag_s, 0.0).0;
        line(&format!("limit: {} s", number(lag_s as f32)), (x, top), (x, bottom), (x, top + 12.0));
    }
    let limit = panel.limit.as_ref().filter(|(most, _)| !chart.up.is_above(*most as f32));
    if let Some((most, words)) = limit {
        let y = chart.at(0.0, *most).1;
        line(words, (left, y), (right, y), (right - 12.0, y));
    }
    labels
}

/// Labels with the filter's name at the ends of each line, and response times between them.
fn times(room: &mut Room, points: &[Point<'_>], report: &Report) {
    let (mut ends, mut between) = (Vec::new(), Vec::new());
    let present = &report.readings[..1];
    let named = || present.iter().chain([&report.recommended]);
    for (filter, ..) in FILTERS {
        let groups = groups(&points[1..], filter);
        for (place, group) in groups.iter().enumerate() {
            if group.len() == 1 && named().any(|judged| judged == group[0].judged) {
                continue;
            }
            let at_end = place == 0 || place + 1 == groups.len();
            let words = response_times(group);
            let label = Label {
                lines: vec![if at_end { format!("{filter} {words}") } else { words }],
                style: DARK,
                at: group[group.len() / 2].at,
                radius: IN_FRONT,
                reach: if at_end { FILTER_REACH } else { TIME_REACH },
            };
            if at_end { ends.push(label) } else { between.push(label) }
        }
    }
    for label in ends.into_iter().chain(between) {
        room.place(label);
    }
}

fn path(places: impl IntoIterator<Item = (f32, f32)>) -> String {
    let mut data = String::new();
    for (x, y) in places {
        data += &format!("{}{x:.1},{y:.1}", if data.is_empty() { 'M' } else { 'L' });
    }
    data
}
