//! Where to turn: from headings, places and thermals to a bank.

use super::leg::Leg;
use super::view::View;
use crate::air::settings::ThermalSettings;
use crate::handling::wrapped;
use crate::physics::atmosphere::GRAVITY_MPS2;
use crate::physics::vector::Vector;
use std::f64::consts::{FRAC_PI_2, FRAC_PI_3, FRAC_PI_6};

/// Bank for every radian of heading error.
const BANK_PER_HEADING: f64 = 1.2;
/// Default bank for turning to a heading: 30 degrees.
const USUAL_BANK_RAD: f64 = FRAC_PI_6;
/// Gain for closing in on a circle: lower than for a heading, or the circle would wander around its
/// centre.
const INWARDS: f64 = 0.6;
/// Steepest bank for correcting a circle: 60 degrees.
const STEEPEST_RAD: f64 = FRAC_PI_3;

/// The bank for the leg, rad.
///
/// `goal` is the place that the leg steers to now.
pub(super) fn wanted_bank(
    leg: &Leg,
    goal: Option<Vector>,
    thermals: &[ThermalSettings],
    view: &View<'_>,
) -> f64 {
    let bank_rad = leg.bank_deg.to_radians();
    if let Some(thermal) =
        leg.circle.as_ref().and_then(|name| thermals.iter().find(|it| it.name == *name))
    {
        return circling(view, leg, thermal);
    }
    let course = match (goal, leg.heading_deg) {
        (Some(goal), _) => against_drift(view, goal),
        (None, Some(heading_deg)) => heading_deg.to_radians(),
        (None, None) => return bank_rad,
    };
    let most = if bank_rad == 0.0 { USUAL_BANK_RAD } else { bank_rad.abs() };
    (BANK_PER_HEADING * wrapped(course - view.through_air().course_rad())).clamp(-most, most)
}

/// The heading that takes the glider straight to `goal` in the wind, rad.
fn against_drift(view: &View<'_>, goal: Vector) -> f64 {
    let way = (goal - view.moment.place).level().unit_or(Vector::on_course(0.0));
    let right = way.cross(Vector::UP);
    let speed = view.through_air().level().length().max(1.0);
    way.course_rad() - libm::asin((view.air_felt.dot(right) / speed).clamp(-0.9, 0.9))
}

/// Towards the circle's edge from afar, then round it: the heading is the circle's tangent, turned
/// inwards by how far out the glider is.
fn circling(view: &View<'_>, leg: &Leg, thermal: &ThermalSettings) -> f64 {
    let bank_rad = leg.bank_deg.to_radians();
    let side = if bank_rad < 0.0 { -1.0 } else { 1.0 };
    let speed = view.through_air().level().length();
    let radius_m = speed * speed / (GRAVITY_MPS2 * libm::tan(bank_rad.abs()));
    let centre =
        view.air.core(thermal, view.moment.time_s) + Vector::on_course(0.0) * leg.off_centre_m;
    let away = (view.moment.place - centre).level();
    let out = (away.length() - radius_m) / radius_m;
    let course = away.course_rad() + side * (FRAC_PI_2 + libm::atan(INWARDS * out));
    let turn = if out < 0.7 { bank_rad } else { 0.0 };
    let error = wrapped(course - view.through_air().course_rad());
    (turn + BANK_PER_HEADING * error).clamp(-STEEPEST_RAD, STEEPEST_RAD)
}
