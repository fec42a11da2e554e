//! The pressures when a tube is blocked, leaks, is swapped, or holds water.

use chirrup_core::stages::{AirData, dynamic_from_true};
use chirrup_core::{Pascal, Sample, Speed};

/// How far the cockpit's pressure is above the static one: a vent that is opened, then closed,
/// every so many seconds (a guess).
const VENT_PA: f32 = 60.0;
const VENT_S: f32 = 8.0;
/// Share of it that a leaking line lets in.
const LEAK: f32 = 0.3;
/// Water in a line moves back and forth: amplitude, period, and the time constant with which
/// changes pass.
const SLOSH_PA: f32 = 80.0;
const SLOSH_S: f32 = 1.3;
const SLUGGISH_S: f32 = 3.0;

/// The impact pressure of a sample, whichever form its speed has.
pub(super) fn dynamic(sample: &Sample) -> Option<f32> {
    match sample.usable_speed()? {
        Speed::Dynamic(dynamic) => Some(dynamic.0),
        _ => {
            let (air, pressure) = (AirData::of(sample)?, sample.usable_static_pressure()?);
            Some(dynamic_from_true(air.true_airspeed?, pressure, air.temperature).0)
        }
    }
}

/// The static pressure, which is not a number where there is none.
pub(super) fn static_pa(sample: &Sample) -> f32 {
    sample.static_pressure.map_or(f32::NAN, |pressure| pressure.0)
}

/// The sample with another impact pressure, where it has one.
pub(super) fn with_dynamic(sample: &Sample, other: impl Fn(f32) -> f32) -> Sample {
    let speed = dynamic(sample).map(|dynamic| Speed::Dynamic(Pascal(other(dynamic))));
    Sample { speed: speed.or(sample.speed), ..*sample }
}

/// The sample with its impact pressure times `by`.
pub(super) fn scaled(sample: &Sample, by: f32) -> Sample {
    with_dynamic(sample, |dynamic| by * dynamic)
}

/// The sample with its static, impact and probe pressures shifted.
pub(super) fn shifted(sample: &Sample, by_pa: [f32; 3]) -> Sample {
    let [of_static, of_dynamic, of_probe] = by_pa;
    let mut shifted = with_dynamic(sample, |dynamic| dynamic + of_dynamic);
    let raised = |by_pa: f32| move |pressure: Pascal| Pascal(pressure.0 + by_pa);
    shifted.static_pressure = sample.static_pressure.map(raised(of_static));
    shifted.te_pressure = sample.te_pressure.map(raised(of_probe));
    shifted
}

/// The static line holds its pressure; the sensors still work, with noise of `noise_pa`.
pub(super) fn static_blocked(held: &Sample, sample: &Sample, noise_pa: f32) -> Sample {
    let trapped = static_pa(held) + noise_pa;
    let total = |dynamic: f32| static_pa(sample) + dynamic;
    let mut blocked = with_dynamic(sample, |dynamic| total(dynamic) - trapped);
    blocked.static_pressure = Some(Pascal(trapped));
    blocked
}

/// The pitot line holds its pressure.
pub(super) fn pitot_blocked(held: &Sample, sample: &Sample, noise_pa: f32) -> Sample {
    let trapped = static_pa(held) + dynamic(held).unwrap_or(0.0) + noise_pa;
    with_dynamic(sample, |_| trapped - static_pa(sample))
}

/// The static line leaks into a cockpit whose vent is opened and closed.
pub(super) fn static_leak(since_s: f32, sample: &Sample) -> Sample {
    let open = ((since_s / VENT_S) as u32).is_multiple_of(2);
    let by_pa = if open { LEAK * VENT_PA } else { 0.0 };
    shifted(sample, [by_pa, -by_pa, 0.0])
}

/// Water in the probe's line, or in the static line where there is no probe.
#[derive(Default)]
pub(super) struct Water {
    before: Option<(f32, f32)>,
}

impl Water {
    /// What the sensor sees through the water.
    pub fn spoil(&mut self, since_s: f32, sample: &Sample) -> Sample {
        let line = sample.te_pressure.map_or_else(|| static_pa(sample), |pressure| pressure.0);
        let through = match self.before {
            Some((before_s, before)) => {
                before + (line - before) * ((since_s - before_s) / SLUGGISH_S).clamp(0.0, 1.0)
            }
            None => line,
        };
        self.before = Some((since_s, through));
        let seen =
            Pascal(through + SLOSH_PA * libm::sinf(core::f32::consts::TAU * since_s / SLOSH_S));
        match sample.te_pressure {
            Some(_) => Sample { te_pressure: Some(seen), ..*sample },
            None => Sample { static_pressure: Some(seen), ..*sample },
        }
    }
}
