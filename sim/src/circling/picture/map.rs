//! The path from above, with the core in its middle.

use super::shades::Shades;
use crate::circling::centre::Core;
use crate::circling::circles::Circles;
use crate::circling::text;
use crate::output::plot::chart::{circle, dot};
use crate::output::plot::style;
use crate::output::plot::svg::{Anchor, Area, Pen, Svg};
use crate::units::Units;

/// Free space round the path, as a share of the map.
const MARGIN: f64 = 0.06;
/// The map shows at least so far from the middle of the lift, m.
const LEAST_M: f64 = 120.0;
/// Lengths of the scale bar in the pilot's unit: the longest that is at most a third of the map.
const BARS: [f64; 9] = [2000.0, 1000.0, 500.0, 300.0, 200.0, 100.0, 50.0, 20.0, 10.0];
/// Points of a circle that is cut at the map's edge.
const POINTS: u32 = 240;
const ARROW: Pen = Pen::solid(style::INK, 2.4);
const BETTER: Pen = Pen::solid(style::BEST, 3.0);
const MIDDLES: Pen = Pen::solid(style::SOFT_INK, 1.2);

/// A map round the middle of the lift.
pub(super) struct Map<'a> {
    core: &'a Core,
    area: Area,
    /// Pixels a metre.
    scale: f64,
}

impl<'a> Map<'a> {
    /// A map of a core and the path round it.
    pub fn of(core: &'a Core, area: Area) -> Self {
        let far = |[east, north]: [f64; 2]| east.abs().max(north.abs());
        let count = core.piece.places_m.len();
        let reach_m =
            (0..count).map(|second| far(core.seen_m(second as f64))).fold(LEAST_M, f64::max);
        let scale = 0.5 * f64::from(area.width()) / (reach_m * (1.0 + 2.0 * MARGIN));
        Self { core, area, scale }
    }

    /// Draws all of it.
    pub fn draw(
        &self,
        svg: &mut Svg,
        circles: &Circles,
        (climbs_mps, shades): (&[f64], &Shades),
        units: &Units,
    ) {
        svg.rectangle(self.area, style::PANEL);
        self.lift(svg);
        self.path(svg, climbs_mps, shades);
        self.middles(svg);
        self.middle_of_the_lift(svg, circles);
        self.better_side(svg, circles);
        self.wind(svg, circles, units);
        self.bar(svg, units);
    }

    /// The pixel of metres east and north of the lift's middle.
    fn at(&self, [east, north]: [f64; 2]) -> (f32, f32) {
        let Area { left, top, right, bottom } = self.area;
        let (east, north) = ((self.scale * east) as f32, (self.scale * north) as f32);
        (0.5 * (left + right) + east, 0.5 * (top + bottom) - north)
    }

    /// The lift: where it has more than half of its strength, and where more than a third.
    fn lift(&self, svg: &mut Svg) {
        let radius_m = self.core.fit.bell.radius_m();
        let pixels = |metres: f64| (self.scale * metres) as f32;
        let middle = self.at([0.0; 2]);
        // At ln 2 of the square of the radius the bell is at a half.
        for (share, colour) in [(1.0, style::CONE), (2.0_f64.ln().sqrt(), style::MARKER)] {
            svg.veil(&within(self.area, middle, pixels(share * radius_m)), colour);
        }
    }

    fn path(&self, svg: &mut Svg, climbs_mps: &[f64], shades: &Shades) {
        let last = climbs_mps.len() - 1;
        let place = |second: usize| self.at(self.core.seen_m(second.min(last) as f64));
        let mut from = 0;
        while from < last {
            let class = shades.class(climbs_mps[from]);
            let to = (from + 1..last).find(|to| shades.class(climbs_mps[*to]) != class);
            let to = to.unwrap_or(last);
            let (x, y) = place(from);
            let mut data = format!("M{x:.1},{y:.1}");
            for second in from..to {
                let before = place(second.saturating_sub(1));
                let four = [before, place(second), place(second + 1), place(second + 2)];
                data += &rounded(four);
            }
            svg.path(&data, Shades::pen(class));
            from = to;
        }
        let (x, y) = place(0);
        dot(svg, (x, y), 6.0, style::INK);
        svg.text((x + 10.0, y + 5.0), Anchor::Start, style::POINT_LABEL, "begins");
    }

    /// The middles of the turns, one after the other.
    fn middles(&self, svg: &mut Svg) {
        let turns = &self.core.piece.turns;
        let middle = |turn: &crate::circling::air::Turn| {
            self.at(self.core.off_middle_m(turn.middle_m, turn.middle_s()))
        };
        for two in turns.windows(2) {
            svg.line(middle(&two[0]), middle(&two[1]), MIDDLES);
        }
        for (place, turn) in turns.iter().enumerate() {
            dot(svg, middle(turn), if place == 0 { 6.0 } else { 3.6 }, style::SOFT_INK);
        }
    }

    fn middle_of_the_lift(&self, svg: &mut Svg, circles: &Circles) {
        let (x, y) = self.at([0.0; 2]);
        svg.line((x - 9.0, y), (x + 9.0, y), ARROW);
        svg.line((x, y - 9.0), (x, y + 9.0), ARROW);
        if let Some(error_m) = circles.off_centre_m.error() {
            svg.path(&circle((x, y), (self.scale * error_m) as f32), style::LINK);
        }
    }

    /// Writes what the marks are; returns where the next line would be.
    pub fn legend(svg: &mut Svg, (x, y): (f32, f32), circles: &Circles, units: &Units) -> f32 {
        let middle = (x + 20.0, y - 5.0);
        let error = circles.off_centre_m.error().map(|error_m| units.height(error_m));
        let error = error.map_or_else(String::new, |error| format!(" \u{b1} {error}"));
        let row = |svg: &mut Svg, row: f32, words: &str| {
            svg.text((x + 50.0, y + 20.0 * row), Anchor::Start, style::KEY, words);
        };
        svg.line((middle.0 - 9.0, middle.1), (middle.0 + 9.0, middle.1), ARROW);
        svg.line((middle.0, middle.1 - 9.0), (middle.0, middle.1 + 9.0), ARROW);
        row(svg, 0.0, &format!("middle of the lift{error}"));
        let area = |top: f32| Area { left: x, top, right: x + 40.0, bottom: top + 12.0 };
        svg.rectangle(area(y + 9.0), style::MARKER);
        row(svg, 1.0, "more than half of its strength");
        svg.line((x, middle.1 + 40.0), (x + 40.0, middle.1 + 40.0), MIDDLES);
        dot(svg, (x, middle.1 + 40.0), 6.0, style::SOFT_INK);
        dot(svg, (x + 40.0, middle.1 + 40.0), 3.6, style::SOFT_INK);
        row(svg, 2.0, "middles of the turns, the first larger");
        y + 40.0
    }

    /// An arrow from the middle of the lift's edge outwards would hide the path: it stands at the
    /// map's border.
    fn better_side(&self, svg: &mut Svg, circles: &Circles) {
        let Some(bearing_deg) = circles.better_side_deg.value() else { return };
        let (sine, cosine) = bearing_deg.to_radians().sin_cos();
        let reach = 0.5 * f64::from(self.area.width()) / self.scale;
        let place = |share: f64| self.at([share * reach * sine, share * reach * cosine]);
        let (from, to) = (place(0.74), place(0.94));
        arrow(svg, from, to, BETTER);
        let below = if cosine > 0.0 { -10.0 } else { 20.0 };
        let words = format!("better side, {}", text::wind_name(bearing_deg));
        svg.text((to.0, to.1 + below), Anchor::Middle, style::POINT_LABEL, &words);
    }

    fn wind(&self, svg: &mut Svg, circles: &Circles, units: &Units) {
        let Some(wind) = &circles.wind else { return };
        let Some(speed_mps) = wind.speed_mps.value().filter(|_| wind.has_direction()) else {
            return;
        };
        let (sine, cosine) = wind.from_deg.to_radians().sin_cos();
        let middle = (self.area.right - 44.0, self.area.top + 44.0);
        let end = |way: f64| (middle.0 + (way * sine) as f32, middle.1 - (way * cosine) as f32);
        arrow(svg, end(28.0), end(-28.0), ARROW);
        let words = format!("wind {}", units.speed(speed_mps));
        svg.text((middle.0 - 40.0, middle.1 + 5.0), Anchor::End, style::POINT_LABEL, &words);
    }

    fn bar(&self, svg: &mut Svg, units: &Units) {
        let third_m = f64::from(self.area.width()) / 3.0 / self.scale;
        let metres = BARS.map(|bar| bar / units.height(1.0).value);
        let length_m =
            metres.into_iter().find(|bar| *bar <= third_m).unwrap_or(metres[BARS.len() - 1]);
        let (x, y) = (self.area.left + 14.0, self.area.bottom - 14.0);
        let end = x + (self.scale * length_m) as f32;
        svg.line((x, y), (end, y), ARROW);
        svg.line((x, y - 5.0), (x, y + 5.0), ARROW);
        svg.line((end, y - 5.0), (end, y + 5.0), ARROW);
        let words = units.height(length_m).to_string();
        svg.text((end + 8.0, y + 5.0), Anchor::Start, style::POINT_LABEL, &words);
    }
}

/// A circle, cut at the edges of an area in which its middle is.
fn within(area: Area, (x, y): (f32, f32), radius: f32) -> String {
    let room = [x - area.left, area.right - x, y - area.top, area.bottom - y];
    if room.into_iter().all(|room| radius <= room) {
        return circle((x, y), radius);
    }
    let mut data = String::new();
    for point in 0..POINTS {
        let (sine, cosine) = (std::f32::consts::TAU * point as f32 / POINTS as f32).sin_cos();
        let x = (x + radius * sine).clamp(area.left, area.right);
        let y = (y + radius * cosine).clamp(area.top, area.bottom);
        data += &format!("{}{x:.1},{y:.1}", if point == 0 { 'M' } else { 'L' });
    }
    data + "Z"
}

/// From the second of four points to the third, rounded by the others (Catmull and Rom's curve).
fn rounded([before, from, to, after]: [(f32, f32); 4]) -> String {
    let (x1, y1) = (from.0 + (to.0 - before.0) / 6.0, from.1 + (to.1 - before.1) / 6.0);
    let (x2, y2) = (to.0 - (after.0 - from.0) / 6.0, to.1 - (after.1 - from.1) / 6.0);
    format!("C{x1:.1},{y1:.1} {x2:.1},{y2:.1} {:.1},{:.1}", to.0, to.1)
}

/// A line with a head.
fn arrow(svg: &mut Svg, from: (f32, f32), to: (f32, f32), pen: Pen) {
    svg.line(from, to, pen);
    let (x, y) = (to.0 - from.0, to.1 - from.1);
    let length = x.hypot(y).max(1.0);
    let (x, y) = (10.0 * x / length, 10.0 * y / length);
    svg.line(to, (to.0 - x - 0.6 * y, to.1 - y + 0.6 * x), pen);
    svg.line(to, (to.0 - x + 0.6 * y, to.1 - y - 0.6 * x), pen);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wide_circle_ends_at_the_map() {
        let area = Area { left: 10.0, top: 20.0, right: 110.0, bottom: 120.0 };
        let middle = (60.0, 70.0);
        assert_eq!(within(area, middle, 49.0), circle(middle, 49.0));
        let data = within(area, middle, 60.0);
        let points = data.trim_matches(['M', 'Z']).split('L').map(|point| {
            let (x, y) = point.split_once(',').expect("two numbers");
            (x.parse::<f32>().expect("a number"), y.parse::<f32>().expect("a number"))
        });
        let (mut at_an_edge, mut round) = (0, 0);
        for (x, y) in points {
            assert!((10.0..=110.0).contains(&x) && (20.0..=120.0).contains(&y), "{x} {y}");
            match ((x - 60.0).hypot(y - 70.0) - 60.0).abs() < 0.2 {
                true => round += 1,
                false => at_an_edge += 1,
            }
        }
        // Of the circle 4 acos(5/6) / pi lies outside, 179 of 240 points.
        assert!((176..=184).contains(&at_an_edge) && round >= 56, "{at_an_edge} {round}");
    }
}
