//! Places for labels: each as near to its point as it can be without covering a marker or another
//! label.

use crate::output::plot::style;
use crate::output::plot::svg::{Anchor, Area, Pen, Svg, Type, text_width};

/// From one line of a label to the next, and from its upper edge to its first base line.
const LINE: f32 = 18.0;
const BASE: f32 = 14.0;
/// Free space between a marker and its label, and beside the words.
const GAP: f32 = 3.0;
const SIDE: f32 = 4.0;
/// A label further away than this has a line to its point.
const LINKED: f32 = 12.0;
const LINK: Pen = Pen::solid(style::SOFT_INK, 1.5);
/// What it costs, in pixels of distance, to cover a label or a marker, and to draw a line over a
/// marker.
const COVERED: f32 = 1e4;
const CROSSED: f32 = 15.0;

/// What is to be written at a point.
#[derive(Clone, Debug)]
pub struct Label {
    /// Its lines.
    pub lines: Vec<String>,
    /// How they are written.
    pub style: Type,
    /// The point.
    pub at: (f32, f32),
    /// Radius of the marker there, in pixels.
    pub radius: f32,
    /// So many pixels from the marker at most; further, it is left out. Infinite: it is never left
    /// out.
    pub reach: f32,
}

/// A label in its place.
#[derive(Clone, Debug)]
pub struct Placed {
    /// The label.
    pub label: Label,
    /// What it covers.
    pub area: Area,
    link: Option<Link>,
}

type Link = ((f32, f32), (f32, f32));

/// A panel in which labels find their places.
#[derive(Clone, Debug)]
pub struct Room {
    area: Area,
    /// What no label covers.
    pub markers: Vec<Area>,
    avoided: Vec<((f32, f32), f32)>,
    /// The labels that have found a place.
    pub placed: Vec<Placed>,
}

impl Room {
    /// An empty one.
    pub fn new(area: Area) -> Self {
        Self { area, markers: Vec::new(), avoided: Vec::new(), placed: Vec::new() }
    }

    /// A marker, which no label covers.
    pub fn mark(&mut self, (x, y): (f32, f32), radius: f32) {
        let (left, right) = (x - radius, x + radius);
        self.markers.push(Area { left, right, top: y - radius, bottom: y + radius });
    }

    /// A point that labels had better not cover: so many pixels of distance are worth it.
    pub fn avoid(&mut self, at: (f32, f32), worth: f32) {
        self.avoided.push((at, worth));
    }

    /// The same along a line.
    pub fn avoid_line(&mut self, from: (f32, f32), to: (f32, f32), worth: f32) {
        along((from, to)).for_each(|at| self.avoid(at, worth));
    }

    /// Puts a label in the best place there is, if one is free; returns what that costs.
    pub fn place(&mut self, label: Label) -> f32 {
        let far = |area: &Area| {
            let middle = (0.5 * (area.left + area.right), 0.5 * (area.top + area.bottom));
            let from_middle = (middle.0 - label.at.0).hypot(middle.1 - label.at.1);
            distance(label.at, *area) + 0.1 * from_middle
        };
        let mut places: Vec<(f32, Area)> =
            self.places(&label).into_iter().map(|area| (far(&area), area)).collect();
        places.sort_by(|(one, _), (other, _)| one.total_cmp(other));
        let mut best: Option<(f32, Area)> = None;
        for (far, area) in places {
            let least = best.map_or(f32::INFINITY, |(cost, _)| cost);
            // All that follow are further away.
            if far >= least {
                break;
            }
            let cost = far + self.cost(&label, area);
            if cost < least {
                best = Some((cost, area));
            }
        }
        let Some((cost, area)) = best else { return 0.0 };
        if cost < COVERED || label.reach.is_infinite() {
            let link = is_linked(&label, area).then(|| link(&label, area));
            self.placed.push(Placed { label, area, link });
        }
        cost
    }

    /// Puts labels in their best places, in the order given or in the reverse, whichever leaves
    /// them the better ones.
    pub fn place_in_either_order(&mut self, labels: Vec<Label>) {
        let mut reversed = self.clone();
        let cost: f32 = labels.iter().cloned().map(|label| self.place(label)).sum();
        let other: f32 = labels.into_iter().rev().map(|label| reversed.place(label)).sum();
        if other < cost {
            *self = reversed;
        }
    }

    /// Every place within the label's reach, on a grid.
    fn places(&self, label: &Label) -> Vec<Area> {
        let width = label.lines.iter().map(|line| width(line, label.style)).fold(0.0, f32::max);
        let (width, height) = (width + 2.0 * SIDE, LINE * label.lines.len() as f32);
        let (nearest, furthest) = (label.radius + GAP, label.radius + GAP + label.reach);
        let step = if label.reach > 40.0 { 7.0 } else { 3.0 };
        let steps = |at: f32, size: f32, low: f32, high: f32| {
            let (first, last) = ((at - furthest - size).max(low), (at + furthest).min(high - size));
            let count = ((last - first) / step).floor();
            (0..=count.max(-1.0) as i32).map(move |place| first + step * place as f32)
        };
        let mut places = Vec::new();
        for top in steps(label.at.1, height, self.area.top + 2.0, self.area.bottom - 2.0) {
            for left in steps(label.at.0, width, self.area.left + 2.0, self.area.right - 2.0) {
                let area = Area { left, top, right: left + width, bottom: top + height };
                if (nearest..=furthest).contains(&distance(label.at, area)) {
                    places.push(area);
                }
            }
        }
        places
    }

    /// What it costs, beside the distance, to put a label there.
    fn cost(&self, label: &Label, area: Area) -> f32 {
        let taken = self.markers.iter().chain(self.placed.iter().map(|placed| &placed.area));
        let links = self.placed.iter().filter_map(|placed| placed.link);
        let covered = taken.filter(|other| overlap(&area, other)).count()
            + links.flat_map(along).filter(|at| holds(&area, *at)).count();
        let avoided: f32 =
            self.avoided.iter().filter(|(at, _)| holds(&area, *at)).map(|(_, worth)| worth).sum();
        avoided + COVERED * covered as f32 + self.crossed(label, area)
    }

    /// What it costs that the line from a label in `area` to its point crosses others.
    fn crossed(&self, label: &Label, area: Area) -> f32 {
        if !is_linked(label, area) {
            return 0.0;
        }
        let at_point = |at: (f32, f32)| {
            let markers = self.markers.iter().filter(|area| holds(area, at)).count();
            let labels = self.placed.iter().filter(|placed| holds(&placed.area, at)).count();
            CROSSED * markers as f32 + COVERED * labels as f32
        };
        along(link(label, area)).map(at_point).sum()
    }

    /// Writes the labels.
    pub fn draw(&self, svg: &mut Svg) {
        for placed in &self.placed {
            if let Some((from, to)) = placed.link {
                svg.line(from, to, LINK);
            }
        }
        for Placed { label, area, .. } in &self.placed {
            let Area { left, top, right, bottom } = area;
            svg.veil(
                &format!("M{left:.1},{top:.1}H{right:.1}V{bottom:.1}H{left:.1}Z"),
                style::PANEL,
            );
            for (place, line) in label.lines.iter().enumerate() {
                let at = (left + SIDE, top + BASE + LINE * place as f32);
                svg.text(at, Anchor::Start, label.style, line);
            }
        }
    }
}

fn width(line: &str, style: Type) -> f32 {
    text_width(line, style.size, style.weight)
}

/// The point of `area` that is nearest to `at`.
fn nearest(at: (f32, f32), area: Area) -> (f32, f32) {
    (at.0.clamp(area.left, area.right), at.1.clamp(area.top, area.bottom))
}

fn distance(at: (f32, f32), area: Area) -> f32 {
    let (x, y) = nearest(at, area);
    (x - at.0).hypot(y - at.1)
}

/// Whether a label in `area` is so far from its point that a line joins them.
fn is_linked(label: &Label, area: Area) -> bool {
    distance(label.at, area) > label.radius + LINKED
}

/// From the edge of a label's marker to the label, which stands apart from it.
fn link(label: &Label, area: Area) -> Link {
    let (from, to) = (label.at, nearest(label.at, area));
    let share = label.radius / distance(label.at, area);
    ((from.0 + share * (to.0 - from.0), from.1 + share * (to.1 - from.1)), to)
}

/// Points along a line, 4 pixels apart, without its end.
fn along((from, to): Link) -> impl Iterator<Item = (f32, f32)> {
    let count = ((to.0 - from.0).hypot(to.1 - from.1) / 4.0).ceil() as usize;
    (0..count).map(move |place| {
        let share = place as f32 / count as f32;
        (from.0 + share * (to.0 - from.0), from.1 + share * (to.1 - from.1))
    })
}

fn holds(area: &Area, (x, y): (f32, f32)) -> bool {
    (area.left..=area.right).contains(&x) && (area.top..=area.bottom).contains(&y)
}

fn overlap(one: &Area, other: &Area) -> bool {
    one.left < other.right
        && other.left < one.right
        && one.top < other.bottom
        && other.top < one.bottom
}
