//! The columns of bars: the cost with its parts, and the other figures.

use super::comparison::Pair;
use super::parts::parts;
use crate::output::plot::chart::number;
use crate::output::plot::scale::Scale;
use crate::output::plot::style;
use crate::output::plot::svg::{Anchor, Area, Svg, Type, Weight, text_width};
use crate::tune::score::Score;

/// Height of a bar, from one to the next, and from a recording to the next.
pub const BAR: f32 = 17.0;
pub const STEP: f32 = 20.0;
pub const BLOCK: f32 = 54.0;
/// From the upper edge of a block to its first bar.
pub const ABOVE: f32 = 0.5 * (BLOCK - STEP - BAR);
/// From the upper edge of a bar to the base line of words beside it.
pub const BASE: f32 = BAR - 4.0;

/// Words beside bars.
pub const DARK: Type = Type { colour: style::INK, ..style::POINT_LABEL };
/// The same, for what matters most.
pub const BOLD: Type = Type { weight: Weight::Bold, ..DARK };

/// Room for the words at the end of a bar: of a cost, and of another figure.
const COST_WORDS: f32 = 116.0;
const WORDS: f32 = 46.0;
/// Base lines of a column's name and of its unit, from its upper edge.
const NAME_LINE: f32 = -30.0;
const UNIT_LINE: f32 = -10.0;
/// Room of a number at the axis.
const TICK_ROOM: f32 = 40.0;
/// Colours of the parts, light and dark in turn, and of the numbers on them.
const PARTS: [(&str, &str); 4] = [
    (style::COMPENSATED_BAND, style::INK),
    (style::BAR, style::PANEL),
    (style::OTHER_BAR, style::INK),
    (style::BEST, style::PANEL),
];
/// Colours of the bars of A and of B: what they are stands on their left.
const SIDES: [&str; 2] = [style::SOFT_INK, style::PALE_INK];

/// A bar.
pub struct Bar<'a> {
    /// Its upper edge.
    pub top: f32,
    /// 0 for A, 1 for B.
    pub side: usize,
    /// What it shows.
    pub score: &'a Score,
    /// The other one of the pair.
    pub other: &'a Score,
}

/// Two bars for each pair, the first block beginning at `top`.
pub fn bars<'a>(top: f32, pairs: &[&'a Pair]) -> Vec<Bar<'a>> {
    let of = |(block, pair): (usize, &&'a Pair)| {
        let top = top + BLOCK * block as f32 + ABOVE;
        let (a, b) = (&pair.a, &pair.b);
        [
            Bar { top, side: 0, score: a, other: b },
            Bar { top: top + STEP, side: 1, score: b, other: a },
        ]
    };
    pairs.iter().enumerate().flat_map(of).collect()
}

/// A figure of a score.
pub struct Figure {
    /// Its name.
    pub name: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// Decimals that are shown.
    pub decimals: usize,
    /// Its value; `None` where there were no climbs.
    pub of: fn(&Score) -> Option<f64>,
}

/// A column of bars of one figure, each with its value at the end.
pub fn figure(svg: &mut Svg, area: Area, figure: &Figure, bars: &[Bar<'_>]) {
    let Figure { name, unit, decimals, of } = *figure;
    let scale = ground(svg, area, bars.iter().filter_map(|bar| of(bar.score)), WORDS);
    svg.text((area.left, area.top + NAME_LINE), Anchor::Start, BOLD, name);
    svg.text((area.left, area.top + UNIT_LINE), Anchor::Start, style::POINT_LABEL, unit);
    for bar in bars {
        let value = of(bar.score);
        let right = place(area, scale, value.unwrap_or_default());
        svg.rectangle(stretch(bar.top, area.left, right), SIDES[bar.side]);
        let words = value.map_or_else(|| "no climbs".into(), |value| format!("{value:.decimals$}"));
        svg.text((right + 5.0, bar.top + BASE), Anchor::Start, DARK, &words);
    }
}

/// The column of the cost: bars of its parts, with the whole at the end.
pub fn cost(svg: &mut Svg, area: Area, bars: &[Bar<'_>]) {
    let scale = ground(svg, area, bars.iter().map(|bar| bar.score.cost_mps), COST_WORDS);
    let at = (area.left, area.top + NAME_LINE);
    svg.text(at, Anchor::Start, BOLD, "Cost in m/s, the sum of");
    part_names(svg, area);
    for bar in bars {
        let mut from_mps = 0.0;
        for (part, colours) in parts(bar.score).iter().zip(PARTS) {
            let to_mps = from_mps + part.mps;
            let ends = (place(area, scale, from_mps), place(area, scale, to_mps));
            piece(svg, stretch(bar.top, ends.0, ends.1), part.mps, colours);
            from_mps = to_mps;
        }
        let x = place(area, scale, from_mps) + 6.0;
        svg.text((x, bar.top + BASE), Anchor::Start, BOLD, &whole(bar));
    }
}

/// The parts' names over their colours, in the order of the bars.
fn part_names(svg: &mut Svg, area: Area) {
    let line = area.top + UNIT_LINE;
    let mut x = area.left;
    for (part, (colour, _)) in parts(&Score::default()).iter().zip(PARTS) {
        svg.rectangle(
            Area { left: x, right: x + 12.0, top: line - 11.0, bottom: line + 1.0 },
            colour,
        );
        svg.text((x + 17.0, line), Anchor::Start, DARK, part.name);
        x += 17.0 + text_width(part.name, DARK.size, DARK.weight) + 9.0;
    }
}

/// A part of a bar, with its value where there is room.
fn piece(svg: &mut Svg, area: Area, mps: f64, (colour, ink): (&str, &'static str)) {
    svg.rectangle(area, colour);
    let words = format!("{mps:.2}");
    if text_width(&words, DARK.size, DARK.weight) + 6.0 < area.width() {
        let at = (0.5 * (area.left + area.right), area.top + BASE);
        svg.text(at, Anchor::Middle, Type { colour: ink, ..DARK }, &words);
    }
}

/// The whole cost; of the second also how much more it is than the first.
fn whole(bar: &Bar<'_>) -> String {
    let (cost, other) = (bar.score.cost_mps, bar.other.cost_mps);
    if bar.side == 0 || other <= 0.0 {
        return format!("{cost:.2}");
    }
    // Adding zero takes the sign from a negative zero.
    let percent = (100.0 * (cost / other - 1.0)).round() + 0.0;
    let sign = if percent > 0.0 { "+" } else { "" };
    format!("{cost:.2} ({sign}{} %)", number(percent as f32))
}

/// The column's paper, its axis from 0 with room for `words` beyond the greatest value, and the
/// labels below it.
fn ground(svg: &mut Svg, area: Area, values: impl Iterator<Item = f64>, words: f32) -> Scale {
    let most = values.fold(0.0, f64::max) as f32;
    let most = if most > 0.0 { most } else { 1.0 };
    let scale = Scale::between(0.0, most * area.width() / (area.width() - words));
    svg.rectangle(area, style::PANEL);
    for tick in scale.ticks((area.width() / TICK_ROOM) as usize + 1) {
        let x = place(area, scale, f64::from(tick));
        svg.line((x, area.top), (x, area.bottom), style::GRID);
        // One at the right edge would stand in the next column.
        if x < area.right - 12.0 {
            let at = (x, area.bottom + 19.0);
            svg.text(at, Anchor::Middle, style::POINT_LABEL, &number(tick));
        }
    }
    svg.line((area.left, area.top), (area.left, area.bottom), style::FRAME);
    scale
}

fn place(area: Area, scale: Scale, value: f64) -> f32 {
    area.left + scale.place(value as f32) * area.width()
}

fn stretch(top: f32, left: f32, right: f32) -> Area {
    Area { left, right, top, bottom: top + BAR }
}
