//! The result of tuning as a picture, 1200 by 800 pixels: what each candidate trades for its lag,
//! on the left in noise and on the right in false beeps. Nothing stands in a legend: every filter,
//! point and limit has its label beside it.

mod labels;
mod panel;
mod points;

use self::panel::Panel;
use super::limits::Limits;
use super::report::{Judged, Report};
use super::verdict::Decision;
use crate::output::plot::chart::{number, sheet};
use crate::output::plot::layout::{LEFT, RIGHT, SUBTITLE_LINE};
use crate::output::plot::style;
use crate::output::plot::svg::{Anchor, Area, Svg, wrapped};

/// From one line below the title to the next, and how many there are at most.
const LINE: f32 = 20.0;
const MOST_LINES: usize = 4;
/// From the last of these lines to the panels.
const ABOVE: f32 = 48.0;
const BOTTOM: f32 = 704.0;
/// Right edge of the left panel and left edge of the right one.
const MIDDLE: (f32, f32) = (606.0, 676.0);
/// The first line below the panels.
const FOOT: f32 = 768.0;

/// The picture of `report`.
pub fn draw(report: &Report) -> String {
    let reason = report.verdict.reason.replace("(-", "(\u{2212}");
    let mut svg = sheet(&title(report), "");
    let (size, weight) = (style::SUBTITLE.size, style::SUBTITLE.weight);
    let mut lines = wrapped(&reason, size, weight, RIGHT - LEFT);
    if lines.len() > MOST_LINES {
        lines.truncate(MOST_LINES);
        lines[MOST_LINES - 1] += "\u{2026}";
    }
    lines.extend(limits(&report.limits));
    for (place, line) in lines.iter().enumerate() {
        let at = (LEFT, SUBTITLE_LINE + LINE * place as f32);
        svg.text(at, Anchor::Start, style::SUBTITLE, line);
    }
    let top = SUBTITLE_LINE + LINE * lines.len().saturating_sub(1) as f32 + ABOVE;
    for (panel, (left, right)) in panels(report).iter().zip([(LEFT, MIDDLE.0), (MIDDLE.1, RIGHT)]) {
        panel::draw(&mut svg, report, panel, Area { left, top, right, bottom: BOTTOM });
    }
    foot(&mut svg, report);
    svg.finish()
}

fn panels(report: &Report) -> [Panel; 2] {
    let beeps = report.limits.false_beeps_per_min;
    [
        Panel {
            name: "Noise with the lag taken out (m/s rms)",
            figure: |score| score.noise_mps,
            from_zero: false,
            limit: None,
        },
        Panel {
            name: "False beeps a minute (square-root scale)",
            figure: |score| score.false_beeps_per_min,
            from_zero: true,
            limit: beeps.map(|most| (most, format!("limit: {} an hour", an_hour(most)))),
        },
    ]
}

fn title(report: &Report) -> String {
    let Judged { filter, response_s, climb_from_mps, .. } = &report.recommended;
    match report.verdict.decision {
        Decision::Change => format!(
            "Recommended: {filter} filter, response {} s, beeps from {} m/s",
            number(*response_s),
            number(*climb_from_mps)
        ),
        Decision::Keep => "Keep the present settings".into(),
        Decision::CannotTell => "Nothing can be recommended".into(),
    }
}

/// The limits that were given, in a line.
fn limits(limits: &Limits) -> Option<String> {
    let Limits { false_beeps_per_min, lag_s, missed_share } = limits;
    let all = [
        lag_s.map(|most| format!("{} s of lag", number(most as f32))),
        false_beeps_per_min.map(|most| format!("{} false beeps an hour", an_hour(most))),
        missed_share.map(|most| format!("{} % of climbs missed", number((100.0 * most) as f32))),
    ];
    let all: Vec<String> = all.into_iter().flatten().collect();
    (!all.is_empty()).then(|| format!("Limits: at most {}", all.join(", ")))
}

fn an_hour(per_min: f64) -> String {
    number((60.0 * per_min) as f32)
}

/// How to read the points.
fn foot(svg: &mut Svg, report: &Report) {
    let samples = report.clouds.first().map_or(0, Vec::len);
    let lines = [
        format!(
            "Lower and further left is better; on the yellow band no other is better in both. Pale \
             dots: the same in {samples} bootstrap samples."
        ),
        "Each response time with the beep threshold that costs least; the present settings with \
         theirs. False beeps: a minute of air that does not climb."
            .into(),
    ];
    for (place, line) in lines.iter().enumerate() {
        let at = (LEFT, FOOT + LINE * place as f32);
        svg.text(at, Anchor::Start, style::POINT_LABEL, line);
    }
}

#[cfg(test)]
mod tests;
