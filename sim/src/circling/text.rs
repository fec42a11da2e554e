//! A climb's centring in a few lines that a pilot reads.

use super::circles::{Circles, Way};
use super::climb::{ClimbCentring, KnownFrom};
use super::figure::Said;
use super::technique::{Correction, Technique};
use crate::time::Clock;
use crate::units::{Shown, Units};

/// The eight winds, from north over east.
const WINDS: [&str; 8] =
    ["north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest"];

/// The account of a climb, a thought a line; without the climb's own time and gain.
pub fn lines(climb: &ClimbCentring, units: &Units) -> Vec<String> {
    let Some(circles) = climb.circles() else {
        return to_90_percent(climb).into_iter().collect();
    };
    let mut lines = vec![turns(circles, units)];
    match climb.known_from {
        KnownFrom::Positions => lines.extend(centre(circles, units)),
        _ => lines.extend(to_90_percent(climb)),
    }
    lines.extend(circles.technique.and_then(|technique| correction(&technique)));
    lines
}

/// `northeast`, for a direction in degrees from north.
pub fn wind_name(bearing_deg: f64) -> &'static str {
    WINDS[(bearing_deg / 45.0).round().rem_euclid(8.0) as usize]
}

fn to_90_percent(climb: &ClimbCentring) -> Option<String> {
    let seconds = climb.to_90_percent_s.value()?;
    Some(format!("90 % of its best 40 s after {}", Clock(seconds)))
}

/// `14 turns to the right of 24.8 s, wind from 240° at 15 ± 1 km/h`.
fn turns(circles: &Circles, units: &Units) -> String {
    let way = match circles.way {
        Way::Left => "to the left",
        Way::Right => "to the right",
        Way::Both => "both ways",
    };
    let period_s = circles.period_s.value().unwrap_or_default();
    let mut text = format!("{} turns {way} of {period_s:.1} s", circles.turns.len());
    if let Some(wind) = &circles.wind {
        let speed = with_error(&wind.speed_mps, |mps| units.speed(mps)).unwrap_or_default();
        text += &format!(
            ", wind from {:03.0}\u{b0} at {speed}",
            wind.from_deg.round().rem_euclid(360.0)
        );
    }
    text
}

fn centre(circles: &Circles, units: &Units) -> Vec<String> {
    let climb = |mps: f64| units.climb(mps).unsigned();
    let off = with_error(&circles.off_centre_m, |metres| units.height(metres));
    let Some(off) = off else { return Vec::new() };
    let mut text = format!("{off} off the middle of the lift (median of the turns)");
    match circles.lost_mps {
        Said::Known { value, error, .. } if value > error => {
            let lost = with_error(&circles.lost_mps, |mps| climb(mps).finer(1));
            text += &format!(", {} lost by that", lost.unwrap_or_default());
        }
        Said::MoreThan { more_than } => {
            text += &format!(", more than {} lost by that", climb(more_than));
        }
        _ => {}
    }
    let mut lines = vec![text];
    if let Said::Known { value, error, .. } = circles.centred_after_s {
        lines.push(match value > error {
            true => format!("centred after {} \u{b1} {error:.0} s", Clock(value)),
            false => "centred from the beginning".into(),
        });
    }
    if let Said::Known { value, error, .. } = circles.better_side_deg {
        lines.push(format!(
            "the climb was better to the {} ({value:.0}\u{b0} \u{b1} {error:.0}\u{b0})",
            wind_name(value)
        ));
    }
    lines
}

fn correction(technique: &Technique) -> Option<String> {
    let did = match technique.while_improving {
        Correction::Flattened => "flattened",
        Correction::Tightened => "tightened",
        Correction::Neither => return None,
    };
    let Technique { correlation, error, .. } = technique;
    Some(format!("{did} while it improved (correlation {correlation:+.2} \u{b1} {error:.2})"))
}

/// `46 ± 12 m`.
pub(super) fn with_error(said: &Said, show: impl Fn(f64) -> Shown) -> Option<String> {
    let shown = show(said.value()?);
    Some(format!("{} \u{b1} {}", shown.number(), show(said.error()?)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn directions_have_the_name_of_the_nearest_wind() {
        let names = [0.0, 22.0, 23.0, 90.0, 181.0, 338.0, 359.9].map(wind_name);
        let expected = ["north", "north", "northeast", "east", "south", "north", "north"];
        assert_eq!(names, expected);
    }
}
