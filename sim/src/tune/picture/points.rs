//! The candidates as points: which of them coincide, and which no other beats.

use crate::output::plot::chart::number;
use crate::tune::report::Judged;

/// Points closer than this, in pixels, share a label.
const TOGETHER: f32 = 9.0;

/// A candidate at its place on the page.
#[derive(Clone, Copy, Debug)]
pub struct Point<'a> {
    /// The candidate.
    pub judged: &'a Judged,
    /// Its place.
    pub at: (f32, f32),
    /// Whether no other is better in one figure and as good in the other.
    pub in_front: bool,
}

/// The points of some candidates; the figures are lower for those that are better.
pub fn points<'a>(
    judged: &'a [Judged],
    figures: impl Fn(&Judged) -> (f64, f64),
    at: impl Fn(f64, f64) -> (f32, f32),
) -> Vec<Point<'a>> {
    let all: Vec<(f64, f64)> = judged.iter().map(figures).collect();
    let beats =
        |one: &(f64, f64), other: &(f64, f64)| one.0 <= other.0 && one.1 <= other.1 && one != other;
    let point = |(judged, own): (&'a Judged, &(f64, f64))| Point {
        judged,
        at: at(own.0, own.1),
        in_front: !all.iter().any(|other| beats(other, own)),
    };
    judged.iter().zip(&all).map(point).collect()
}

/// Points of a filter in the order of response times, those together that coincide.
pub fn groups<'a, 'p>(points: &'p [Point<'a>], filter: &str) -> Vec<Vec<&'p Point<'a>>> {
    let mut groups: Vec<Vec<&Point<'a>>> = Vec::new();
    for point in points.iter().filter(|point| point.judged.filter == filter) {
        let is_near = |group: &&mut Vec<&Point<'a>>| {
            let first = group[0].at;
            (first.0 - point.at.0).hypot(first.1 - point.at.1) < TOGETHER
        };
        match groups.last_mut().filter(is_near) {
            Some(group) => group.push(point),
            None => groups.push(vec![point]),
        }
    }
    groups
}

/// The response times of a group: `1 s`, `0.25 to 4 s`.
pub fn response_times(group: &[&Point<'_>]) -> String {
    let of = |point: &&Point<'_>| number(point.judged.response_s);
    match group {
        [] => String::new(),
        [one] => format!("{} s", of(one)),
        [first, .., last] => format!("{} to {} s", of(first), of(last)),
    }
}
