//! Each turn's distance off the middle of the lift, as bars.

use super::layout::{BOTTOM, WORDS_LEFT};
use crate::circling::centre::CENTRED_M;
use crate::circling::circles::Circles;
use crate::output::plot::chart::{Chart, range_of};
use crate::output::plot::layout::RIGHT;
use crate::output::plot::scale::Scale;
use crate::output::plot::style;
use crate::output::plot::svg::{Area, Svg};
use crate::units::Units;

const HEIGHT: f32 = 170.0;
/// Room for the labels of the axes.
const LABELS: (f32, f32) = (40.0, 44.0);
/// The axis goes at least so far, m.
const LEAST_M: f64 = 60.0;

/// The bars of all turns of which the distance is known.
pub(super) fn draw(svg: &mut Svg, circles: &Circles, units: &Units) {
    let known = circles.turns.iter().enumerate();
    let known: Vec<(usize, f64)> =
        known.filter_map(|(place, turn)| Some((place, turn.off_centre_m?))).collect();
    let shown = |metres: f64| units.height(metres).value;
    let most = range_of(known.iter().map(|(_, metres)| *metres)).1.max(LEAST_M);
    let bottom = BOTTOM - LABELS.1;
    let chart = Chart {
        area: Area { left: WORDS_LEFT + LABELS.0, top: bottom - HEIGHT, right: RIGHT, bottom },
        across: Scale::between(0.5, circles.turns.len() as f32 + 0.5),
        up: Scale::between(0.0, shown(1.08 * most) as f32),
    };
    let name = format!("Off the middle of the lift ({})", units.height(0.0).unit);
    chart.ground(svg, &name, "turn");
    for (place, metres) in known {
        let middle = (place + 1) as f64;
        let (left, top) = chart.at(middle - 0.32, shown(metres));
        let right = chart.at(middle + 0.32, 0.0).0;
        let bar = Area { left, top: top.min(bottom - 1.0), right, bottom };
        svg.rectangle(bar, if metres <= CENTRED_M { style::BAR } else { style::OTHER_BAR });
    }
    let y = chart.at(0.0, shown(CENTRED_M)).1;
    svg.line((chart.area.left, y), (chart.area.right, y), style::WANTED);
    chart.frame(svg);
}
