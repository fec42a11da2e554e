//! A panel of two quantities: its axes, its lines, its dots.

use super::key;
use super::layout::{HEIGHT, LEFT, RIGHT, SUBTITLE_LINE, TITLE_LINE, WIDTH};
use super::scale::Scale;
use super::style;
use super::svg::{Anchor, Area, Svg, fit};
use std::fmt::Write;

/// A panel of two quantities.
#[derive(Clone, Copy, Debug)]
pub struct Chart {
    /// Where it is on the page.
    pub area: Area,
    /// From its left edge to its right.
    pub across: Scale,
    /// From its lower edge to its upper.
    pub up: Scale,
}

impl Chart {
    /// The place of a pair of values on the page.
    pub fn at(&self, x: f64, y: f64) -> (f32, f32) {
        let Area { left, bottom, .. } = self.area;
        let across = self.across.place(x as f32) * self.area.width();
        (left + across, bottom - self.up.place(y as f32) * self.area.height())
    }

    /// A line through points; beyond the left and right edges there is none.
    pub fn line(&self, points: impl Iterator<Item = (f64, f64)>) -> String {
        let mut data = String::new();
        let inside = |x: f64| !self.across.is_below(x as f32) && !self.across.is_above(x as f32);
        for (x, y) in points.filter(|(x, _)| inside(*x)) {
            let (x, y) = self.at(x, y);
            let command = if data.is_empty() { 'M' } else { 'L' };
            // Writing to a string cannot fail.
            let _ = write!(data, "{command}{x:.1},{y:.1}");
        }
        data
    }

    /// Panel, heading, and the lines and labels of both axes; without a name the lower axis has no
    /// labels.
    pub fn ground(&self, svg: &mut Svg, name: &str, across: &str) {
        let area = self.area;
        svg.rectangle(area, style::PANEL);
        svg.text((area.left, area.top - key::ABOVE), Anchor::Start, style::HEADING, name);
        for tick in self.up.ticks((area.height() / 28.0) as usize) {
            let y = self.at(0.0, f64::from(tick)).1;
            svg.line((area.left, y), (area.right, y), style::GRID);
            svg.text((area.left - 8.0, y + 5.0), Anchor::End, style::TICK_LABEL, &number(tick));
        }
        for tick in self.across.ticks((area.width() / 70.0) as usize) {
            let x = area.left + self.across.place(tick) * area.width();
            svg.line((x, area.top), (x, area.bottom), style::GRID);
            if !across.is_empty() {
                svg.text((x, area.bottom + 19.0), Anchor::Middle, style::TICK_LABEL, &number(tick));
            }
        }
        svg.text((area.right, area.bottom + 40.0), Anchor::End, style::TICK_LABEL, across);
    }

    /// The left and the lower edge.
    pub fn frame(&self, svg: &mut Svg) {
        let area = self.area;
        svg.line((area.left, area.top), (area.left, area.bottom), style::FRAME);
        svg.line((area.left, area.bottom), (area.right, area.bottom), style::FRAME);
    }
}

/// An empty page with its heading.
pub fn sheet(title: &str, subtitle: &str) -> Svg {
    sheet_of(HEIGHT, title, subtitle)
}

/// An empty page of another height with its heading.
pub fn sheet_of(height: u32, title: &str, subtitle: &str) -> Svg {
    let mut svg = Svg::new(WIDTH, height, title, subtitle);
    svg.rectangle(
        Area { left: 0.0, top: 0.0, right: WIDTH as f32, bottom: height as f32 },
        style::PAPER,
    );
    svg.text((LEFT, TITLE_LINE), Anchor::Start, style::TITLE, title);
    let kind = style::SUBTITLE;
    svg.text(
        (LEFT, SUBTITLE_LINE),
        Anchor::Start,
        kind,
        &fit(subtitle, kind.size, kind.weight, RIGHT - LEFT),
    );
    svg
}

/// The least and the greatest of some values.
pub fn range_of(values: impl IntoIterator<Item = f64>) -> (f64, f64) {
    let wider = |(low, high): (f64, f64), value: f64| (low.min(value), high.max(value));
    values.into_iter().fold((f64::MAX, f64::MIN), wider)
}

/// A filled circle.
pub fn dot(svg: &mut Svg, at: (f32, f32), radius: f32, colour: &str) {
    svg.shape(&circle(at, radius), colour);
}

/// A circle in the language of SVG paths.
pub fn circle((x, y): (f32, f32), radius: f32) -> String {
    let turn = format!("a{radius},{radius} 0 1 0");
    format!("M{:.1},{y:.1}{turn} {},0{turn} {},0Z", x - radius, 2.0 * radius, -2.0 * radius)
}

/// A number with the decimals it has and a proper minus sign.
pub fn number(value: f32) -> String {
    let text = format!("{value:.6}");
    text.trim_end_matches('0').trim_end_matches('.').replace('-', "\u{2212}")
}
