//! Two flights side by side: a table of the same figures, and both heights on one time axis.

use super::axes;
use super::flown::Flown;
use crate::circling::{Circles, ClimbCentring, Said};
use crate::output::plot::chart::{Chart, range_of, sheet_of};
use crate::output::plot::key::{self, Key, Mark};
use crate::output::plot::layout::{LEFT, RIGHT};
use crate::output::plot::scale::Scale;
use crate::output::plot::style;
use crate::output::plot::svg::{Area, Pen};
use crate::recording::flight::Glide;
use crate::recording::series;
use crate::time::Clock;
use crate::units::Units;

/// A figure of every flight.
pub struct Compared {
    /// What it is.
    pub name: &'static str,
    /// Its value in each flight.
    pub values: Vec<String>,
}

/// The table of `flights`.
pub fn compared(flights: &[Flown], units: Units) -> Vec<Compared> {
    type Figure = fn(&Flown, Units) -> Option<String>;
    let rows: [(&'static str, Figure); 11] = [
        ("launch", |flown, _| Some(flown.inspection.flight.launch.as_ref()?.kind.into())),
        ("height at release", |flown, units| {
            Some(units.height(flown.inspection.flight.release.as_ref()?.height_m).to_string())
        }),
        ("time after release", |flown, _| {
            Some(Clock(flown.inspection.flight.badges.duration_s?).to_string())
        }),
        ("highest", |flown, units| {
            Some(units.height(flown.inspection.flight.highest_m).to_string())
        }),
        ("climbs", |flown, _| Some(flown.inspection.flight.climbs.len().to_string())),
        ("time in climbs", |flown, _| Some(Clock(in_climbs(flown).1).to_string())),
        ("height gained in them", |flown, units| {
            Some(units.height(in_climbs(flown).0).to_string())
        }),
        ("mean climb", |flown, units| {
            let (gain_m, time_s) = in_climbs(flown);
            (time_s > 0.0).then(|| units.climb(gain_m / time_s).to_string())
        }),
        ("off the core, in the middle one of the climbs", |flown, units| {
            Some(units.height(median(flown, |circles| circles.off_centre_m)?).to_string())
        }),
        ("time of a circle", |flown, _| {
            Some(format!("{:.0} s", median(flown, |circles| circles.period_s)?))
        }),
        ("sink of the glides", |flown, units| {
            let glides = &flown.inspection.flight.glides;
            let lasts_s: f64 = glides.iter().map(|glide| glide.to_s - glide.from_s).sum();
            let loss_m: f64 = glides.iter().map(|Glide { loss_m, .. }| loss_m).sum();
            (lasts_s > 0.0).then(|| units.climb(-loss_m / lasts_s).to_string())
        }),
    ];
    let values = |figure: Figure| {
        let value = |flown| figure(flown, units).unwrap_or_else(|| "not known".into());
        flights.iter().map(value).collect()
    };
    rows.into_iter().map(|(name, figure)| Compared { name, values: values(figure) }).collect()
}

/// The middle one of a figure of the centred climbs.
fn median(flown: &Flown, figure: fn(&Circles) -> Said) -> Option<f64> {
    let climbs = flown.inspection.circling.climbs.iter();
    let circles = climbs.filter_map(ClimbCentring::circles);
    let values: Vec<f64> = circles.filter_map(|circles| figure(circles).value()).collect();
    series::median(&values)
}

/// Height gained and time spent in the climbs of a flight.
fn in_climbs(flown: &Flown) -> (f64, f64) {
    let climbs = &flown.inspection.flight.climbs;
    climbs.iter().fold((0.0, 0.0), |(gain_m, time_s), climb| {
        (gain_m + climb.gain_m, time_s + climb.to_s - climb.from_s)
    })
}

const HEIGHT: u32 = 420;
const PANEL: (f32, f32) = (118.0, 352.0);
const POINTS: usize = 1_200;
const PENS: [Pen; 2] = [style::HEIGHT, style::OTHER];

/// The heights of `flights` on one axis: of the time of day where all know it, else from the start
/// of each.
pub fn draw(flights: &[Flown], units: Units) -> String {
    let know_the_day = flights.iter().all(|flown| flown.recording.utc_at_zero_s.is_some());
    let zero = |flown: &Flown| match flown.recording.utc_at_zero_s {
        Some(utc_s) if know_the_day => utc_s,
        _ => -flown.track.times_s[0],
    };
    let lines: Vec<Vec<(f64, f64)>> = flights
        .iter()
        .map(|flown| {
            let stride = flown.track.times_s.len().div_ceil(POINTS).max(1);
            let zero_s = zero(flown);
            let times = flown.track.times_s.iter().map(|time_s| time_s + zero_s);
            let heights = flown.track.altitude_m.iter().map(|height| units.height(*height).value);
            times.zip(heights).step_by(stride).collect()
        })
        .collect();
    let all = || lines.iter().flatten();
    let (first, last) = range_of(all().map(|point| point.0));
    let (low, high) = range_of(all().map(|point| point.1));
    let margin = (0.06 * (high - low)).max(5.0);
    let chart = Chart {
        area: Area { left: LEFT, top: PANEL.0, right: RIGHT, bottom: PANEL.1 },
        across: Scale::between(first as f32, last.max(first + 1.0) as f32),
        up: Scale::between((low - margin) as f32, (high + margin) as f32),
    };
    let subtitle = if know_the_day { "by the time of day" } else { "from the start of each" };
    let mut svg = sheet_of(HEIGHT, "Together", subtitle);
    axes::values(&mut svg, &chart, 5);
    for (line, pen) in lines.into_iter().zip(PENS) {
        svg.path(&chart.line(line.into_iter()), pen);
    }
    chart.frame(&mut svg);
    let axis = axes::clock((first, last), know_the_day.then_some(0.0));
    axes::times(&mut svg, &chart, &axis, true);
    let keys: Vec<Key> = flights
        .iter()
        .zip(PENS)
        .map(|(flown, pen)| Key::new(Mark::Line(pen), flown.recording.title.clone()))
        .collect();
    let unit = units.height.name();
    key::heading(&mut svg, PANEL.0 - 10.0, &format!("Pressure altitude ({unit})"), &keys);
    svg.finish()
}
