//! A climb as a picture, 1200 by 800 pixels: the path as the core's air sees it, coloured by climb,
//! the core, the better side; beside it what is said, and each turn's distance off the middle.

mod layout;
mod map;
mod shades;
mod turns;

use super::centre::Core;
use super::circles::Circles;
use super::climb::ClimbCentring;
use super::text;
use crate::output::plot::chart::sheet;
use crate::output::plot::layout::{LEFT, RIGHT};
use crate::output::plot::style;
use crate::output::plot::svg::{Anchor, Area, Svg, Weight, wrapped};
use crate::time::Clock;
use crate::units::Units;
use layout::{BOTTOM, MAP_RIGHT, TOP, WORDS_LEFT};
use map::Map;
use shades::Shades;

const LINE: f32 = 22.0;

/// The picture of a climb, or of the piece of it that shows its core best, as SVG; `None` where no
/// core shows, or without positions.
pub fn draw(climb: &ClimbCentring, units: &Units) -> Option<String> {
    let circles = climb.circles()?;
    let cores = circles.pieces.iter().filter_map(|(_, core)| core.as_ref());
    let core = cores.max_by(|one, other| one.clarity().total_cmp(&other.clarity()))?;
    let mut svg = sheet(&title(climb, units), &subtitle(climb, circles, core));
    let area = Area { left: LEFT, top: TOP, right: MAP_RIGHT, bottom: BOTTOM };
    let climbs_mps = climbs_mps(climb, core);
    let shades = Shades::of(&climbs_mps, units);
    Map::of(core, area).draw(&mut svg, circles, (&climbs_mps, &shades), units);
    let y = shades.legend(&mut svg, (WORDS_LEFT, TOP + 16.0), units);
    let y = Map::legend(&mut svg, (WORDS_LEFT, y + 28.0), circles, units);
    said(&mut svg, climb, y + 34.0, units);
    turns::draw(&mut svg, circles, units);
    Some(svg.finish())
}

fn title(climb: &ClimbCentring, units: &Units) -> String {
    format!(
        "The climb at {}{}: {} in {}",
        climb.clock.at(climb.from_s),
        climb.clock.kind(),
        units.height(climb.gain_m),
        Clock(climb.to_s - climb.from_s)
    )
}

fn subtitle(climb: &ClimbCentring, circles: &Circles, core: &Core) -> String {
    let (from_s, lasts_s) =
        (climb.path.time_s(core.piece.seconds.start), core.piece.seconds.len() as f64);
    let part = if lasts_s + 1.0 < circles.to_s - circles.from_s {
        format!(", {lasts_s:.0} s from {}", climb.clock.at(from_s))
    } else {
        String::new()
    };
    format!("the path through the air as it looks from the middle of the lift{part}; north is up")
}

/// The climb of each second of the core's piece in energy height, m/s, over four seconds.
fn climbs_mps(climb: &ClimbCentring, core: &Core) -> Vec<f64> {
    let energy_m = &climb.path.energy_m;
    let last = energy_m.len() - 1;
    let at = |second: usize| {
        let (from, to) = (second.saturating_sub(2), (second + 2).min(last));
        (energy_m[to] - energy_m[from]) / (to - from).max(1) as f64
    };
    core.piece.seconds.clone().map(at).collect()
}

fn said(svg: &mut Svg, climb: &ClimbCentring, mut y: f32, units: &Units) {
    let kind = style::KEY;
    for line in text::lines(climb, units) {
        for part in wrapped(&line, kind.size, Weight::Regular, RIGHT - WORDS_LEFT) {
            svg.text((WORDS_LEFT, y), Anchor::Start, kind, &part);
            y += LINE;
        }
        y += 6.0;
    }
}
