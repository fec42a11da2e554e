//! A climb's centring in a few lines that a pilot reads.

use super::centre::CENTRED_M;
use super::circles::{Circles, Way};
use super::climb::{ClimbCentring, KnownFrom};
use super::figure::Said;
use crate::technique::{Correction, Technique};
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
    Some(match seconds.round() {
        0.0 => "climbed at 90 % of its best at once".into(),
        seconds => format!("climbed at 90 % of its best after {seconds:.0} s"),
    })
}

/// `14 turns to the right of 24.8 s, wind from 240° at 15 ± 1 km/h`, or `hardly any wind`.
fn turns(circles: &Circles, units: &Units) -> String {
    let way = match circles.way {
        Way::Left => "to the left",
        Way::Right => "to the right",
        Way::Both => "both ways",
    };
    let period_s = circles.period_s.value().unwrap_or_default();
    let mut text = format!("{} turns {way} of {period_s:.1} s", circles.turns.len());
    let Some(wind) = &circles.wind else { return text };
    if wind.has_direction() {
        let speed = with_error(&wind.speed_mps, |mps| units.speed(mps)).unwrap_or_default();
        text += &format!(
            ", wind from {:03.0}\u{b0} at {speed}",
            wind.from_deg.round().rem_euclid(360.0)
        );
    } else {
        text += ", hardly any wind";
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
    if let Said::Known { value, error, .. } = circles.centred_after_s
        && !was_mostly_far(circles)
    {
        lines.push(match value > error {
            true => format!("centred after {value:.0} \u{b1} {error:.0} s"),
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

/// Whether the median turn was further off than a centred one, beyond its error: that it was
/// centred at some time would then read as a contradiction.
fn was_mostly_far(circles: &Circles) -> bool {
    matches!(circles.off_centre_m, Said::Known { value, error, .. } if value > CENTRED_M + error)
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
    use super::super::circles::WindFigures;
    use super::*;

    /// What is said of circles so far off, centred after so long, in so much wind.
    fn said(off_m: f64, centred_s: f64, wind_mps: f64) -> Vec<String> {
        const NOTHING: Said = Said::absent("not asked");
        let circles = Circles {
            from_s: 0.0,
            to_s: 100.0,
            way: Way::Left,
            period_s: Said::measured(25.0, 0.5),
            wind: Some(WindFigures { from_deg: 240.0, speed_mps: Said::measured(wind_mps, 0.4) }),
            airspeed_mps: NOTHING,
            airspeed_ratio: NOTHING,
            off_centre_m: Said::fitted(off_m, 20.0),
            lost_mps: NOTHING,
            centred_after_s: Said::measured(centred_s, 10.0),
            better_side_deg: NOTHING,
            technique: None,
            turns: Vec::new(),
            pieces: Vec::new(),
        };
        let units = Units::default();
        [vec![turns(&circles, &units)], centre(&circles, &units)].concat()
    }

    #[test]
    fn a_climb_that_was_mostly_off_is_not_called_centred() {
        let off = |metres: f64| {
            format!("{metres:.0} \u{b1} 20 m off the middle of the lift (median of the turns)")
        };
        assert_eq!(said(65.0, 0.0, 4.0)[1..], [off(65.0)]);
        assert_eq!(said(45.0, 28.0, 4.0)[1..], [off(45.0), "centred after 28 \u{b1} 10 s".into()]);
        assert_eq!(said(12.0, 10.0, 4.0)[1..], [off(12.0), "centred from the beginning".into()]);
    }

    #[test]
    fn a_wind_that_hardly_blows_has_no_direction() {
        assert!(said(12.0, 0.0, 0.8)[0].ends_with(", hardly any wind"));
        assert!(said(12.0, 0.0, 0.9)[0].ends_with("wind from 240\u{b0} at 3 \u{b1} 1 km/h"));
    }

    #[test]
    fn directions_have_the_name_of_the_nearest_wind() {
        let names = [0.0, 22.0, 23.0, 90.0, 181.0, 338.0, 359.9].map(wind_name);
        let expected = ["north", "north", "northeast", "east", "south", "north", "north"];
        assert_eq!(names, expected);
    }
}
