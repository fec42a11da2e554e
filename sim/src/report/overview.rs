//! A whole flight in one picture: its height with the climbs in it, and below, in a row, how strong
//! each climb was and how each glide sank.

use super::axes;
use crate::output::plot::chart::{Chart, range_of, sheet_of};
use crate::output::plot::key::{self, Key, Mark};
use crate::output::plot::layout::{LEFT, RIGHT};
use crate::output::plot::scale::Scale;
use crate::output::plot::style;
use crate::output::plot::svg::{Anchor, Area, Svg, text_width};
use crate::output::plot::time_axis::TimeAxis;
use crate::recording::flight::{Climb, Glide};
use crate::recording::track::Track;
use crate::units::Units;

/// Height of the picture in pixels.
pub const HEIGHT: u32 = 640;
const UPPER: (f32, f32) = (118.0, 346.0);
const LOWER: (f32, f32) = (410.0, 572.0);
/// Pixels between two points of the height's line.
const STEP: f32 = 1.0;
/// The narrowest bar, and the narrowest whose value is written above it.
const LEAST_BAR: f32 = 3.0;
const LEAST_NAMED: f32 = 6.0;

/// What the picture shows.
pub struct Overview<'a> {
    /// Heading.
    pub title: &'a str,
    /// Below it.
    pub subtitle: &'a str,
    /// The flight's heights.
    pub track: &'a Track,
    /// The climbs after release.
    pub climbs: &'a [Climb],
    /// What lies between them.
    pub glides: &'a [Glide],
    /// UTC of the recording's time zero, s, where it is known.
    pub utc_at_zero_s: Option<f64>,
    /// The pilot's.
    pub units: Units,
}

impl Overview<'_> {
    /// The picture as SVG, 1200 pixels wide.
    pub fn draw(&self) -> String {
        let mut svg = sheet_of(HEIGHT, self.title, self.subtitle);
        // From the first sample on: a picture's places are too coarse for seconds since 1970.
        let span =
            (0.0, (self.track.times_s[self.track.times_s.len() - 1] - self.first_s()).max(1.0));
        self.height(&mut svg, span);
        self.rates(&mut svg, span);
        svg.finish()
    }

    fn first_s(&self) -> f64 {
        self.track.times_s[0]
    }

    /// The left and right edge of a stretch of time of the recording.
    fn bar(&self, chart: &Chart, from_s: f64, to_s: f64) -> (f32, f32) {
        let x = |time_s: f64| chart.at(time_s - self.first_s(), 0.0).0;
        let left = x(from_s);
        (left, x(to_s).max(left + LEAST_BAR))
    }

    fn chart(&self, (top, bottom): (f32, f32), times: (f64, f64), up: Scale) -> Chart {
        let area = Area { left: LEFT, top, right: RIGHT, bottom };
        Chart { area, across: Scale::between(times.0 as f32, times.1 as f32), up }
    }

    fn height(&self, svg: &mut Svg, times: (f64, f64)) {
        let shown = |height_m: f64| self.units.height(height_m).value;
        let (low, high) = range_of(self.track.altitude_m.iter().map(|height| shown(*height)));
        let margin = (0.08 * (high - low)).max(5.0);
        let up = Scale::between((low - margin) as f32, (high + margin) as f32);
        let chart = self.chart(UPPER, times, up);
        axes::values(svg, &chart, 5);
        for (place, climb) in self.climbs.iter().enumerate() {
            let bar = self.bar(&chart, climb.from_s, climb.to_s);
            svg.rectangle(Area { left: bar.0, right: bar.1, ..chart.area }, style::MARKER);
            self.name(svg, &chart, bar, place);
        }
        let heights = thinned(self.track, times, chart.area.width() / STEP);
        let first_s = self.first_s();
        let points = heights.into_iter().map(|(time, height)| (time - first_s, shown(height)));
        svg.path(&chart.line(points), style::HEIGHT);
        chart.frame(svg);
        let keys = [
            Key::new(Mark::Line(style::HEIGHT), "height"),
            Key::new(Mark::Band(style::MARKER), "climbs, by number"),
        ];
        let unit = self.units.height.name();
        key::heading(svg, UPPER.0 - 20.0, &format!("Pressure altitude ({unit})"), &keys);
        axes::times(svg, &chart, &self.clock(times), false);
    }

    /// The number of a climb above its bar, where there is room for it.
    fn name(&self, svg: &mut Svg, chart: &Chart, (left, right): (f32, f32), place: usize) {
        let (words, kind) = ((place + 1).to_string(), style::POINT_LABEL);
        let middle = 0.5 * (left + right);
        let next = self.climbs.get(place + 1);
        let next = next.map(|climb| self.bar(chart, climb.from_s, climb.to_s));
        let room = next.map_or(f32::MAX, |next| 0.5 * (next.0 + next.1) - middle);
        if text_width(&words, kind.size, kind.weight) + 2.0 < room {
            svg.text((middle, chart.area.top - 3.0), Anchor::Middle, kind, &words);
        }
    }

    fn rates(&self, svg: &mut Svg, times: (f64, f64)) {
        let shown = |climb_mps: f64| self.units.climb(climb_mps).value;
        let climbs = self.climbs.iter().map(|climb| shown(climb.mean_mps));
        let glides = self.glides.iter().map(|glide| shown(-glide.mean_sink_mps));
        let least = shown(1.0);
        let (low, high) = range_of(climbs.chain(glides).chain([-least, least]));
        let up = Scale::between(1.1 * low as f32, 1.25 * high as f32);
        let chart = self.chart(LOWER, times, up);
        axes::values(svg, &chart, 4);
        for glide in self.glides {
            let area = self.block(&chart, (glide.from_s, glide.to_s), shown(-glide.mean_sink_mps));
            svg.rectangle(area, style::PALE_INK);
        }
        let blocks: Vec<Area> = self
            .climbs
            .iter()
            .map(|climb| self.block(&chart, (climb.from_s, climb.to_s), shown(climb.mean_mps)))
            .collect();
        blocks.iter().for_each(|block| svg.rectangle(*block, style::BAR));
        let words = |climb: &Climb| self.units.climb(climb.mean_mps).unsigned().number();
        labels(svg, &blocks, self.climbs.iter().map(words));
        let zero = chart.at(times.0, 0.0).1;
        svg.line((chart.area.left, zero), (chart.area.right, zero), style::ZERO);
        chart.frame(svg);
        let keys = [
            Key::new(Mark::Band(style::BAR), "climbs"),
            Key::new(Mark::Band(style::PALE_INK), "glides between them"),
        ];
        let unit = self.units.climb.name();
        key::heading(svg, LOWER.0 - 10.0, &format!("Mean vertical speed ({unit})"), &keys);
        axes::times(svg, &chart, &self.clock(times), true);
    }

    fn block(&self, chart: &Chart, (from_s, to_s): (f64, f64), value: f64) -> Area {
        let (left, right) = self.bar(chart, from_s, to_s);
        let (one, other) = (chart.at(0.0, 0.0).1, chart.at(0.0, value).1);
        Area { left, right, top: one.min(other), bottom: one.max(other) }
    }

    fn clock(&self, times: (f64, f64)) -> TimeAxis {
        let first_s = self.first_s();
        axes::clock((times.0 + first_s, times.1 + first_s), self.utc_at_zero_s)
    }
}

/// The value of each bar above it and its neighbours, where there is room beside the label before.
fn labels(svg: &mut Svg, blocks: &[Area], words: impl Iterator<Item = String>) {
    let kind = style::POINT_LABEL;
    let mut free_from = f32::MIN;
    for (block, words) in blocks.iter().zip(words) {
        let half = 0.5 * text_width(&words, kind.size, kind.weight);
        let middle = 0.5 * (block.left + block.right);
        let (from, to) = (middle - half, middle + half);
        if block.width() < LEAST_NAMED || from < free_from || to > RIGHT {
            continue;
        }
        let touched = blocks.iter().filter(|other| other.left < to && other.right > from);
        let top = touched.map(|other| other.top).fold(block.top, f32::min);
        svg.text((middle, top - 4.0), Anchor::Middle, kind, &words);
        free_from = to + 4.0;
    }
}

/// The lowest and the highest height of each of `columns` stretches of time, in order.
fn thinned(track: &Track, (from, to): (f64, f64), columns: f32) -> Vec<(f64, f64)> {
    let (width_s, first) = ((to - from) / f64::from(columns), track.times_s[0]);
    let column_of = |time: f64| ((time - first) / width_s) as usize;
    let mut points: Vec<(f64, f64)> = Vec::new();
    let all: Vec<(f64, f64)> =
        track.times_s.iter().copied().zip(track.altitude_m.iter().copied()).collect();
    for column in all.chunk_by(|one, other| column_of(one.0) == column_of(other.0)) {
        let by_height = |one: &&(f64, f64), other: &&(f64, f64)| one.1.total_cmp(&other.1);
        let ends = [column.iter().min_by(by_height), column.iter().max_by(by_height)];
        let [Some(low), Some(high)] = ends else { continue };
        let (one, other) = if low.0 <= high.0 { (low, high) } else { (high, low) };
        points.extend([*one, *other]);
    }
    points.dedup();
    points
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::plot::testing::assert_readable_within;

    /// Climbs of `each_s` and glides of the same length by turns.
    fn overview(name: &str, hours: f64, each_s: f64, units: Units) {
        let count = (hours * 3600.0 / (2.0 * each_s)) as usize;
        let climbs: Vec<Climb> = (0..count)
            .map(|place| {
                let from_s = 2.0 * each_s * place as f64;
                let mean_mps = 0.3 + (place % 7) as f64;
                let gain_m = mean_mps * each_s;
                let to_s = from_s + each_s;
                Climb { from_s, to_s, from_m: 500.0, gain_m, mean_mps, best_30_s_mps: None }
            })
            .collect();
        let glide = |climb: &Climb| Glide {
            from_s: climb.to_s,
            to_s: climb.to_s + each_s,
            loss_m: each_s,
            mean_sink_mps: 1.0,
            distance_m: None,
        };
        let glides: Vec<Glide> = climbs.iter().map(glide).collect();
        let times_s: Vec<f64> = (0..(hours * 3600.0) as i32).map(f64::from).collect();
        let altitude_m = times_s.iter().map(|time| 1500.0 + 800.0 * (time / 700.0).sin()).collect();
        let track = Track { times_s, altitude_m, ..Track::default() };
        let overview = Overview {
            title: "a flight.igc",
            subtitle: "a winch to 400 m",
            track: &track,
            climbs: &climbs,
            glides: &glides,
            utc_at_zero_s: Some(40_000.0),
            units,
        };
        assert_readable_within(HEIGHT as f32, name, &overview.draw());
    }

    #[test]
    fn seconds_since_1970_do_not_make_stairs_of_the_height() {
        let times_s: Vec<f64> = (0..240).map(|second| 1.72e9 + f64::from(second)).collect();
        let altitude_m: Vec<f64> = (0..240).map(f64::from).collect();
        let track = Track { times_s, altitude_m, ..Track::default() };
        let overview = Overview {
            title: "",
            subtitle: "",
            track: &track,
            climbs: &[],
            glides: &[],
            utc_at_zero_s: None,
            units: Units::default(),
        };
        let svg = overview.draw();
        let line = svg.split("d=\"").map(|rest| rest.split('"').next().unwrap_or_default());
        let longest = line.max_by_key(|data| data.len()).expect("a line");
        let places: Vec<f32> = longest
            .split(['M', 'L'])
            .filter_map(|point| point.split(',').next()?.parse().ok())
            .collect();
        assert!(places.len() > 200, "{longest}");
        assert!(places.windows(2).all(|pair| pair[1] - pair[0] < 6.0), "{places:?}");
    }

    #[test]
    fn it_is_readable_at_every_length() {
        let feet = "units.climb=ft/min,units.height=ft";
        let feet = crate::settings_file::load_layers(&[feet.into()], &Default::default());
        let feet = feet.expect("units").units;
        for (name, hours, each_s) in
            [("minutes", 0.1, 60.0), ("an hour", 1.0, 240.0), ("a day", 9.0, 100.0)]
        {
            overview(name, hours, each_s, Units::default());
            overview(name, hours, each_s, feet);
        }
        overview("no climb", 1.0, 4_000.0, Units::default());
    }
}
