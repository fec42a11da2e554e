//! The result of tuning as a picture, 1200 by 800 pixels: noise against lag, and the cost of each
//! response time.

use super::report::{Judged, Report};
use crate::output::plot::chart::{Chart, dot, number, range_of, sheet};
use crate::output::plot::key::{self, Key, Mark};
use crate::output::plot::layout::{KEY_TOP, LEFT, RIGHT};
use crate::output::plot::scale::Scale;
use crate::output::plot::style;
use crate::output::plot::svg::{Anchor, Area, Pen, Svg};

const ADAPTIVE: Pen = Pen { width: 2.4, ..style::THESE };
const FIXED: Pen = style::OTHER;
const TOP: f32 = 136.0;
const BOTTOM: f32 = 730.0;
const MIDDLE: (f32, f32) = (610.0, 700.0);

/// The picture of `report`.
pub fn draw(report: &Report) -> String {
    let best = &report.recommended;
    let subtitle = format!(
        "recommended: {} filter, response {} s, beeps from {} m/s; cost {:.3} m/s, held out {:.3} \
         m/s against {:.3} m/s now",
        best.filter,
        best.response_s,
        best.climb_from_mps,
        best.score.cost_mps,
        report.held_out.tuned.cost_mps,
        report.held_out.present.cost_mps
    );
    let mut svg = sheet("The best settings for these recordings", &subtitle);
    let keys = [
        Key::new(Mark::Line(ADAPTIVE), "adaptive filter"),
        Key::new(Mark::Line(FIXED), "fixed filter"),
        Key::new(Mark::Line(Pen::solid(style::PRESENT, 8.0)), "present"),
        Key::new(Mark::Line(Pen::solid(style::BEST, 8.0)), "recommended"),
    ];
    key::heading(&mut svg, KEY_TOP, "Filters, by response time", &keys);
    let tried = || report.readings.iter().chain([&report.recommended]);
    let range = |of: Value| {
        let (low, high) = range_of(tried().map(of));
        (low.max(1e-3) as f32, high.max(2e-3) as f32)
    };
    let logarithmic = |(low, high): (f32, f32)| Scale::logarithmic(low, 1.2 * high);
    let (lag, noise, cost): (Value, Value, Value) = (
        |judged| judged.score.lag_s,
        |judged| judged.score.noise_mps,
        |judged| judged.score.cost_mps,
    );
    let response: Value = |judged| f64::from(judged.response_s);
    let left = Chart {
        area: Area { left: LEFT, top: TOP, right: MIDDLE.0, bottom: BOTTOM },
        across: logarithmic(range(lag)),
        up: logarithmic(range(noise)),
    };
    panel(
        &mut svg,
        report,
        &left,
        ("Noise with the lag taken out (m/s rms)", "lag (s)"),
        (lag, noise),
        true,
    );
    let right = Chart {
        area: Area { left: MIDDLE.1, top: TOP, right: RIGHT, bottom: BOTTOM },
        across: logarithmic(range(response)),
        up: logarithmic(range(cost)),
    };
    panel(&mut svg, report, &right, ("Cost (m/s)", "response time (s)"), (response, cost), false);
    svg.finish()
}

/// One figure of what was tried.
type Value = fn(&Judged) -> f64;

fn panel(
    svg: &mut Svg,
    report: &Report,
    chart: &Chart,
    (name, across): (&str, &str),
    (x, y): (Value, Value),
    labelled: bool,
) {
    chart.ground(svg, name, across);
    let at = |judged: &Judged| (x(judged), y(judged));
    for (filter, pen) in [("adaptive", ADAPTIVE), ("fixed", FIXED)] {
        let of_filter = || report.readings.iter().skip(1).filter(|judged| judged.filter == filter);
        svg.path(&chart.line(of_filter().map(at)), pen);
        for (place, judged) in of_filter().enumerate() {
            let (x, y) = at(judged);
            let point = chart.at(x, y);
            dot(svg, point, 4.0, pen.colour);
            // Label one in three, so that the labels do not overlap; the adaptive filter's points
            // lie close together.
            if labelled && filter == "fixed" && place % 3 == 0 {
                svg.text(
                    (point.0 + 8.0, point.1 + 18.0),
                    Anchor::Start,
                    style::POINT_LABEL,
                    &format!("{} s", number(judged.response_s)),
                );
            }
        }
    }
    for (judged, colour) in report
        .readings
        .first()
        .map(|judged| (judged, style::PRESENT))
        .into_iter()
        .chain([(&report.recommended, style::BEST)])
    {
        let (x, y) = at(judged);
        dot(svg, chart.at(x, y), 8.0, colour);
    }
    chart.frame(svg);
}
