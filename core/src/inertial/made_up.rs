//! A glider of a few equations, for tests: what its sensors feel in circles and pull-ups.
//!
//! At airspeed V with bank b and load factor n, the path turns by `n g sin(b) / V` about the
//! vertical and bends upward by `(n cos(b) - 1) g / V`. The lift is at right angles to the flow,
//! which meets the body at an angle that grows with the load.

use super::vector::Vector;
use crate::air::atmosphere::GRAVITY_MPS2;

pub(super) const AIRSPEED_MPS: f32 = 25.0;
const SHORT_S: f32 = 1.0e-2;

/// What is felt at one time, along body axes, and the angle at which the air meets the body, rad.
#[derive(Clone, Copy, Debug)]
pub(super) struct Feeling {
    pub(super) force: Vector,
    pub(super) turn: Vector,
    pub(super) flow: f32,
}

/// At `time` of a flight with this bank (rad) and this load factor.
pub(super) fn feel(time: f32, bank: impl Fn(f32) -> f32, load: impl Fn(f32) -> f32) -> Feeling {
    let flow = |time| 0.08 * load(time) - 0.05;
    let rate = |of: &dyn Fn(f32) -> f32| (of(time + SHORT_S) - of(time - SHORT_S)) / 2.0 / SHORT_S;
    let (across, up) = bank(time).sin_cos();
    let about = load(time) * across * GRAVITY_MPS2 / AIRSPEED_MPS;
    let bent = (load(time) * up - 1.0) * GRAVITY_MPS2 / AIRSPEED_MPS;
    let (lift, drag) = (load(time) * GRAVITY_MPS2, 0.03 * GRAVITY_MPS2);
    let (sine, cosine) = flow(time).sin_cos();
    Feeling {
        force: [lift * sine - drag * cosine, 0.0, -lift * cosine - drag * sine],
        turn: [rate(&bank), about * across + bent * up + rate(&flow), about * up - bent * across],
        flow: flow(time),
    }
}

/// A minute of circles to one side, a minute to the other, at 35 degrees, with 3 s from one to the
/// other; and every 5 s a pull-up of a tenth of g.
pub(super) fn circles(time: f32) -> Feeling {
    let side = |time: f32| (12.0 * (core::f32::consts::TAU * time / 120.0).sin()).clamp(-1.0, 1.0);
    let bank = |time: f32| 0.61 * side(time);
    feel(time, bank, |time| 1.0 / bank(time).cos() + pulls(time, 0.1))
}

/// Straight on with pull-ups and push-overs every 5 s.
pub(super) fn straight(time: f32) -> Feeling {
    feel(time, |_| 0.0, |time| 1.0 + pulls(time, 0.3))
}

fn pulls(time: f32, load: f32) -> f32 {
    load * (core::f32::consts::TAU * time / 5.0).sin()
}
