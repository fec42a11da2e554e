//! The picture: what was heard above, what is heard below, on the same axes.

use super::heard::{FROM_S, Heard, LASTS_S, Row};
use crate::output::plot::chart::{Chart, range_of, sheet_of};
use crate::output::plot::key::{self, Key, Mark};
use crate::output::plot::layout::{KEY_TOP, LEFT, RIGHT};
use crate::output::plot::scale::Scale;
use crate::output::plot::style;
use crate::output::plot::svg::{Anchor, Area, Pen, Svg, Type};

/// Height of the page.
const HEIGHT: u32 = 708;
/// Upper edges of the two parts' headings.
const TOPS: [f32; 2] = [KEY_TOP + 6.0, KEY_TOP + 292.0];
/// From a part's heading to its lanes.
const HEADING: f32 = 28.0;
/// A lane of sound.
const LANE: f32 = 26.0;
/// The panel of readings, below the lanes.
const PANEL: f32 = 178.0;
/// What is above a part: to be read in a narrow window too.
const PART: Type = Type { size: 20.0, ..style::HEADING };
const CLIMB: Pen = Pen { width: 18.0, ..style::BEEPS };
const SINK: Pen = Pen { width: 18.0, ..style::STEADY };
const TRUTH: Pen = Pen { width: 2.6, ..style::OTHER };

/// What the upper and the lower part are: a former filter and the present one.
pub const THEN_AND_NOW: [&str; 2] = ["Then (filter of 25 November 2026)", "Now"];
/// The present one without and with the sensor.
pub const WITHOUT_AND_WITH: [&str; 2] = ["Pressures alone", "With an inertial sensor"];

/// Draws it as SVG; `parts` say what the upper and the lower one are.
pub fn draw(parts: [&str; 2], then: &Heard, now: &Heard) -> String {
    let mut svg = sheet_of(
        HEIGHT,
        "Straight on through gusts, in air that never rises",
        "one simulated minute, gusts of 0.5 m/s rms; the glider sinks at about 1.1 m/s, where \
         nothing should sound",
    );
    let keys = [
        Key::new(Mark::Line(style::THESE), "reading"),
        Key::new(Mark::Line(TRUTH), "truth"),
        Key::new(Mark::Band(CLIMB.colour), "climb beeps"),
        Key::new(Mark::Band(SINK.colour), "sink tone"),
    ];
    key::heading(&mut svg, KEY_TOP, "What the pilot is told (m/s)", &keys);
    let all = || then.rows.iter().chain(&now.rows);
    let (low, high) = range_of(all().flat_map(|row| [row.reading_mps, row.truth_mps]));
    let up = Scale::between(low.min(-3.0) as f32 - 0.4, high.max(2.0) as f32 + 0.4);
    part(&mut svg, TOPS[0], &format!("{}: {}", parts[0], told(then)), (up, then, ""));
    part(&mut svg, TOPS[1], &format!("{}: {}", parts[1], told(now)), (up, now, "time (s)"));
    svg.finish()
}

/// What sounds, in words.
fn told(heard: &Heard) -> String {
    let (climb_s, sink_s) = heard.sounds_s();
    if climb_s + sink_s == 0.0 {
        return String::from("silent for the whole minute");
    }
    format!("climb beeps for {} s, sink tone for {} s", seconds(climb_s), seconds(sink_s))
}

/// Whole seconds; what is shorter than one is not called none.
fn seconds(value_s: f64) -> String {
    if value_s > 0.0 && value_s < 1.0 { format!("{value_s:.1}") } else { format!("{value_s:.0}") }
}

/// Heading, lanes and panel of one filter.
fn part(svg: &mut Svg, top: f32, heading: &str, (up, heard, across): (Scale, &Heard, &str)) {
    let lanes = top + HEADING + 8.0;
    svg.text((LEFT, lanes - key::ABOVE), Anchor::Start, PART, heading);
    let panel = lanes + 2.0 * LANE;
    let area = Area { left: LEFT, top: panel, right: RIGHT, bottom: panel + PANEL };
    let chart = Chart { area, across: Scale::between(0.0, LASTS_S as f32), up };
    chart.ground(svg, "", across);
    svg.line(chart.at(0.0, 0.0), chart.at(LASTS_S, 0.0), style::ZERO);
    let line = |value: fn(&Row) -> f64| {
        chart.line(heard.rows.iter().map(|row| (row.time_s - FROM_S, value(row))))
    };
    svg.path(&line(|row| row.reading_mps), style::THESE);
    svg.path(&line(|row| row.truth_mps), TRUTH);
    chart.frame(svg);
    lane(svg, &chart, lanes, ("climb", CLIMB, &heard.stretches_s(|row| row.climb_sounds)));
    lane(svg, &chart, lanes + LANE, ("sink", SINK, &heard.stretches_s(|row| row.sink_sounds)));
}

/// One kind of sound over time.
fn lane(svg: &mut Svg, chart: &Chart, top: f32, lane: (&str, Pen, &[(f64, f64)])) {
    let (name, pen, stretches_s) = lane;
    let bottom = top + LANE - 2.0;
    svg.rectangle(Area { left: LEFT, top, right: RIGHT, bottom }, style::PANEL);
    let middle = 0.5 * (top + bottom);
    svg.text((LEFT - 8.0, middle + 5.0), Anchor::End, style::TICK_LABEL, name);
    for (from_s, to_s) in stretches_s {
        let (left, right) = (chart.at(*from_s, 0.0).0, chart.at(*to_s, 0.0).0);
        svg.strokes(&format!("M{left:.1},{middle:.1}H{right:.1}"), pen);
    }
}

#[cfg(test)]
mod tests {
    use super::super::heard::{present, with_inertial};
    use super::super::tests::THEN;
    use super::*;
    use crate::output::plot::raster::svg_to_png;
    use crate::output::plot::testing::{assert_readable_within, texts};
    use resvg::tiny_skia::Pixmap;

    fn silent(heard: &Heard) -> Heard {
        let quiet = |row: &Row| Row { climb_sounds: 0, sink_sounds: 0, ..*row };
        Heard { rows: heard.rows.iter().map(quiet).collect() }
    }

    #[test]
    fn it_can_be_read_and_says_what_was_heard() {
        let then = Heard::read("then", THEN).unwrap();
        for now in [present().unwrap(), silent(&then), then.clone()] {
            let svg = draw(THEN_AND_NOW, &then, &now);
            assert_readable_within(HEIGHT as f32, "then and now", &svg);
            let words: Vec<String> = texts(&svg).into_iter().map(|(words, _)| words).collect();
            let said = |part: &str| words.iter().any(|found| found.contains(part));
            assert!(said("2026): climb beeps for 11 s, sink tone for 21 s"), "{words:?}");
            assert!(said(&format!("Now: {}", told(&now))), "{words:?}");
        }
        assert_eq!(told(&silent(&then)), "silent for the whole minute");
    }

    /// Another machine may differ in the last bit of a flight, and so in a pixel here and there.
    fn assert_is_of_this_program(name: &str, stored: &[u8], svg: &str) {
        let decoded = |png: &[u8]| Pixmap::decode_png(png).unwrap();
        let (stored, drawn) = (decoded(stored), decoded(&svg_to_png(svg).unwrap()));
        assert_eq!((stored.width(), stored.height()), (drawn.width(), drawn.height()));
        let pairs = stored.pixels().iter().zip(drawn.pixels());
        let differ = pairs.filter(|(a, b)| a.green().abs_diff(b.green()) > 40).count();
        assert!(differ < 200, "{differ} pixels of {name}: run `just rewrite-picture`");
    }

    #[test]
    fn the_picture_in_the_documents_is_of_this_program() {
        let then = Heard::read("then", THEN).unwrap();
        let svg = draw(THEN_AND_NOW, &then, &present().unwrap());
        let stored = include_bytes!("../../../docs/src/gusts.png");
        assert_is_of_this_program("docs/src/gusts.png", stored, &svg);
    }

    #[test]
    fn the_inertial_picture_is_of_this_program_and_the_sensor_is_nearer_the_truth() {
        let (alone, aided) = (present().unwrap(), with_inertial().unwrap());
        let svg = draw(WITHOUT_AND_WITH, &alone, &aided);
        assert_readable_within(HEIGHT as f32, "without and with", &svg);
        let stored = include_bytes!("../../../docs/src/inertial-gusts.png");
        assert_is_of_this_program("docs/src/inertial-gusts.png", stored, &svg);
        let error = |heard: &Heard| -> f64 {
            heard.rows.iter().map(|row| (row.reading_mps - row.truth_mps).powi(2)).sum()
        };
        assert!(error(&aided) < 0.5 * error(&alone));
    }

    #[test]
    fn less_than_a_second_is_not_called_none() {
        assert_eq!([0.0, 0.2, 11.4].map(seconds), ["0", "0.2", "11"]);
    }
}
