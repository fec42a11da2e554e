//! The inertial sensor in the self-test.

use crate::console::Line;
use crate::inertial::InertialCandidate;
use crate::inertial::average::Averaged;
use crate::slot::Slot;
use chirrup_sensors::inertial::SelfTest;
use core::fmt::{self, Write};

/// Of the two sensors the slower one makes 200 readings a second, by a clock that may be 3 % slow
/// (from memory).
const LEAST_RATE_MILLIHZ: u32 = 190_000;
/// At rest the force is that of gravity, within what a sensor and a place on earth may differ
/// (sensor: 0.15 m/s2 along each axis); a sensor of another range would read half or twice.
const GRAVITY_CM_PER_S2: core::ops::RangeInclusive<i64> = 940..=1_020;
/// More shaking than this is not at rest: 0.3 m/s2 and 3 degrees a second (guesses).
const AT_REST_FORCE: i32 = 3_000;
const AT_REST_TURN: i32 = 5_000;

/// What is wrong with the sensor, if anything; `None` where it has no figures yet.
pub(super) fn complaint(slot: &Slot<InertialCandidate>) -> Option<Option<&'static str>> {
    let (figures, latest) = (slot.quality()?, slot.latest()?);
    let is_at_rest = figures.averaged.spread.is_some_and(|spread| {
        spread.force_deviation < AT_REST_FORCE && spread.turn_deviation < AT_REST_TURN
    });
    let feels_gravity = GRAVITY_CM_PER_S2.contains(&(force_mm_per_s2(&figures.averaged) / 10));
    Some(match () {
        () if figures.rate_millihz < LEAST_RATE_MILLIHZ => {
            Some("fewer than 190 inertial readings a second")
        }
        () if latest.self_test != SelfTest::Passed => {
            Some("the inertial sensor failed its own test, or was moved at the start")
        }
        () if is_at_rest && !feels_gravity => {
            Some("the inertial sensor does not feel gravity: another kind, or broken")
        }
        () => None,
    })
}

/// Rate, force, noise, temperature, and its own test.
pub(super) fn report_figures(slot: &Slot<InertialCandidate>, line: &mut Line) -> fmt::Result {
    let (Some(figures), Some(latest)) = (slot.quality(), slot.latest()) else {
        return write!(line, "not measured yet: it takes five seconds");
    };
    let rate = figures.rate_millihz;
    write!(line, "{}.{} readings/s, ", rate / 1_000, rate % 1_000 / 100)?;
    let force = force_mm_per_s2(&figures.averaged);
    write!(line, "force {}.{:02} m/s2, ", force / 1_000, force % 1_000 / 10)?;
    if let Some(spread) = figures.averaged.spread {
        let force = spread.force_deviation / 10;
        // 0.00001 rad/s are 0.000573 degrees a second.
        let turn = i64::from(spread.turn_deviation) * 573 / 1_000;
        write!(line, "noise {}.{:03} m/s2 and ", force / 1_000, force % 1_000)?;
        write!(line, "{}.{:03} deg/s rms, ", turn / 1_000, turn % 1_000)?;
    }
    let (sign, t) = (
        if latest.temperature_centicelsius < 0 { "-" } else { "" },
        latest.temperature_centicelsius.unsigned_abs(),
    );
    let test = match latest.self_test {
        SelfTest::Passed => "passed",
        SelfTest::Outside => "failed",
    };
    write!(line, "{sign}{}.{} C, own test {test}", t / 100, t % 100 / 10)
}

/// The magnitude of the mean force.
fn force_mm_per_s2(averaged: &Averaged) -> i64 {
    let squares: u64 =
        averaged.force.iter().map(|axis| u64::from(axis.unsigned_abs()).pow(2)).sum();
    (squares.isqrt() / 10) as i64
}
