//! The table of errors.

use super::judged::Judged;
use chirrup::circling::Said;
use chirrup_flight::centring::thermal::Shape;

/// Errors of some climbs.
#[derive(Clone, Debug, Default)]
pub struct Figures {
    /// Median error of the distance off centre, m.
    pub off_error_m: f64,
    /// Share of climbs whose distance is within the stated error.
    pub off_within: f64,
    /// Climbs with a loss said, its mean error, m/s, and the share within the stated error.
    pub losses: usize,
    pub lost_error_mps: f64,
    pub lost_within: f64,
    /// Climbs of which "more than" is said, and the share in which that is so.
    pub bounds: usize,
    pub bounds_hold: f64,
    /// Climbs that were centred and said to be, and the median error of the time, s.
    pub centred: usize,
    pub centred_error_s: f64,
    /// Climbs said to be centred at some time that never were, and the other way round.
    pub wrong_centred: usize,
    pub wrong_never: usize,
    /// Turns with a better side said; its error in degrees: median, and of nine in ten.
    pub sides: usize,
    pub side_error_deg: (f64, f64),
    /// Median error of the wind, m/s.
    pub wind_error_mps: f64,
    /// Airspeed over the recorded one: mean and standard deviation.
    pub airspeed: (f64, f64),
    /// Climbs in which no core shows.
    pub without_core: usize,
}

/// A row of the table.
pub struct Row {
    /// What the climbs have in common.
    pub name: &'static str,
    /// How many there are.
    pub count: usize,
    /// Their errors.
    pub figures: Figures,
}

/// The rows: all, and each shape, logger by logger.
pub fn rows(all: &[Judged]) -> Vec<Row> {
    let of = |name, keep: &dyn Fn(&&Judged) -> bool| Row::of(name, all.iter().filter(keep));
    vec![
        of("all", &|_| true),
        of("round", &|judged| judged.shape == Shape::Round),
        of("elliptical", &|judged| judged.shape == Shape::Elliptical),
        of("two cores", &|judged| judged.shape == Shape::TwoCores),
        of("with airspeed", &|judged| judged.logger.airspeed),
        of("without airspeed", &|judged| !judged.logger.airspeed),
    ]
}

impl Row {
    /// The errors of some climbs.
    pub fn of<'a>(name: &'static str, climbs: impl Iterator<Item = &'a Judged>) -> Self {
        let climbs: Vec<&Judged> = climbs.collect();
        let mut figures = Figures::default();
        off_and_lost(&climbs, &mut figures);
        centred(&climbs, &mut figures);
        sides(&climbs, &mut figures);
        wind_and_airspeed(&climbs, &mut figures);
        Self { name, count: climbs.len(), figures }
    }
}

fn off_and_lost(climbs: &[&Judged], figures: &mut Figures) {
    let (mut off, mut lost, mut bounds) = (Vec::new(), Vec::new(), Vec::new());
    for judged in climbs {
        let circles = judged.circles();
        if let Said::Known { value, error, .. } = circles.off_centre_m {
            off.push(((value - judged.truth.off_m).abs(), error));
        } else {
            figures.without_core += 1;
        }
        match circles.lost_mps {
            Said::Known { value, error, .. } => {
                lost.push(((value - judged.truth.lost_mps).abs(), error));
            }
            Said::MoreThan { more_than } => bounds.push(judged.truth.lost_mps > more_than),
            Said::Absent { .. } => {}
        }
    }
    let within = |pairs: &[(f64, f64)]| share(pairs.iter().map(|(off, error)| off <= error));
    (figures.off_within, figures.lost_within) = (within(&off), within(&lost));
    figures.off_error_m = quantile(off.iter().map(|(off, _)| *off), 0.5);
    figures.losses = lost.len();
    figures.lost_error_mps = mean(lost.iter().map(|(off, _)| *off));
    figures.bounds = bounds.len();
    figures.bounds_hold = share(bounds.into_iter());
}

fn centred(climbs: &[&Judged], figures: &mut Figures) {
    let mut errors = Vec::new();
    for judged in climbs {
        match (judged.circles().centred_after_s.value(), judged.truth.centred_after_s) {
            (Some(said), Some(truth)) => errors.push((said - truth).abs()),
            (Some(_), None) => figures.wrong_centred += 1,
            (None, Some(_)) => figures.wrong_never += 1,
            (None, None) => {}
        }
    }
    figures.centred = errors.len();
    figures.centred_error_s = quantile(errors.into_iter(), 0.5);
}

fn sides(climbs: &[&Judged], figures: &mut Figures) {
    let mut errors = Vec::new();
    for judged in climbs {
        for turn in &judged.circles().turns {
            let Some(said) = turn.better_side_deg else { continue };
            let middle = 0.5 * (turn.from_s + turn.to_s);
            let is_near = |one: &&super::truth::TrueTurn| one.from_s <= middle && middle < one.to_s;
            let Some(truth) = judged.truth.turns.iter().find(is_near) else { continue };
            let error = (said - truth.bearing_deg() + 180.0).rem_euclid(360.0) - 180.0;
            errors.push(error.abs());
        }
    }
    figures.sides = errors.len();
    figures.side_error_deg =
        (quantile(errors.iter().copied(), 0.5), quantile(errors.iter().copied(), 0.9));
}

fn wind_and_airspeed(climbs: &[&Judged], figures: &mut Figures) {
    let wind = climbs.iter().map(|judged| {
        let wind = judged.circles().wind.expect("there are positions");
        let speed = wind.speed_mps.value().expect("it is said");
        let (sine, cosine) = wind.from_deg.to_radians().sin_cos();
        (-speed * sine - judged.wind_mps[0]).hypot(-speed * cosine - judged.wind_mps[1])
    });
    figures.wind_error_mps = quantile(wind, 0.5);
    let ratios: Vec<f64> = climbs
        .iter()
        .filter_map(|judged| Some(judged.circles().airspeed_mps.value()? / judged.airspeed_mps))
        .collect();
    let middle = mean(ratios.iter().copied());
    let variance = mean(ratios.iter().map(|ratio| (ratio - middle).powi(2)));
    figures.airspeed = (middle, variance.sqrt());
}

/// The table as Markdown.
pub fn text(rows: &[Row]) -> String {
    let mut text = String::from(
        "| thermals | | off centre, m | lost, m/s | more than | centred after, s | wrong | \
         better side | wind, m/s | airspeed |\n|---|---|---|---|---|---|---|---|---|---|\n",
    );
    for Row { name, count, figures } in rows {
        let percent = |share: f64| format!("{:.0} %", 100.0 * share);
        text += &format!(
            "| {name} | {count} | {:.1} ({}) | {:.2} ({} of {}) | {} of {} | {:.0} (of {}) | \
             {} + {} | {:.0}\u{b0}, {:.0}\u{b0} (of {}) | {:.2} | {:.3} \u{b1} {:.3} |\n",
            figures.off_error_m,
            percent(figures.off_within),
            figures.lost_error_mps,
            percent(figures.lost_within),
            figures.losses,
            (figures.bounds_hold * figures.bounds as f64).round(),
            figures.bounds,
            figures.centred_error_s,
            figures.centred,
            figures.wrong_centred,
            figures.wrong_never,
            figures.side_error_deg.0,
            figures.side_error_deg.1,
            figures.sides,
            figures.wind_error_mps,
            figures.airspeed.0,
            figures.airspeed.1,
        );
    }
    text
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let values: Vec<f64> = values.collect();
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

fn share(values: impl Iterator<Item = bool>) -> f64 {
    mean(values.map(|is_so| if is_so { 1.0 } else { 0.0 }))
}

/// The value below which a share of them lies; 0 of none.
pub fn quantile(values: impl Iterator<Item = f64>, share: f64) -> f64 {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    let last = values.len().saturating_sub(1);
    values.get((share * last as f64).round() as usize).copied().unwrap_or(0.0)
}
