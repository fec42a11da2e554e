//! Samples that lack a sensor, and numbers that no sensor gives.

use super::*;
use crate::air::atmosphere::{GRAVITY_MPS2, pressure_at};
use crate::inertial::settings::SensorAxis;
use crate::sensing::inertial::Spread;
use crate::sensing::sample::Speed;
use crate::units::{Axes as Three, Metre, MetrePerSecond2, RadianPerSecond};
use approx::assert_abs_diff_eq;

const AIRSPEED_MPS: f32 = 25.0;

/// Level to the air, which rises at 2 m/s: `f . v / g` is 2 m/s.
fn rising(time: Micros) -> Sample {
    let height = 1000.0 + 2.0 * time.as_seconds();
    let specific_force = Three { z: MetrePerSecond2(-GRAVITY_MPS2), ..Three::default() };
    let turn_rate = Three { x: RadianPerSecond(1.0e-4 * time.as_seconds()), ..Three::default() };
    Sample {
        speed: Some(Speed::True(MetrePerSecond(AIRSPEED_MPS))),
        inertial: Some(Inertial { specific_force, turn_rate, spread: None }),
        ..Sample::of_static(time, pressure_at(Metre(height)))
    }
}

/// A minute of it at 100 samples a second, as `read`; what comes out of each.
fn fly(read: impl Fn(u32, Sample) -> Sample, look: impl FnMut(f32, &Aided)) {
    fly_from(AidingState::default(), read, look);
}

/// The same, with what is remembered from before.
fn fly_from(
    mut state: AidingState,
    read: impl Fn(u32, Sample) -> Sample,
    mut look: impl FnMut(f32, &Aided),
) {
    let (forward, down) = (SensorAxis::X, SensorAxis::Z);
    let inertial = InertialSettings { forward, down, ..InertialSettings::default() };
    let aiding = Aiding::of(&inertial, &EnergySettings::default()).unwrap();
    for step in 0..6000 {
        let time = Micros(10_000 * i64::from(step));
        let sample = read(step, rising(time));
        let air = AirData::of(&sample);
        let elapsed = Micros(if step > 0 { 10_000 } else { 0 });
        let seen = (&sample, air.as_ref());
        if let Some(aided) = aiding.step(&mut state, elapsed, seen, Some(MetrePerSecond(0.5))) {
            look(time.as_seconds(), &aided);
        }
    }
}

#[test]
fn height_and_airspeed_count_in_samples_without_a_force_too() {
    let alternate = |step: u32, sample: Sample| match step % 2 {
        0 => Sample { static_pressure: None, speed: None, ..sample },
        _ => Sample { inertial: None, ..sample },
    };
    fly(alternate, |time, aided| {
        if time > 40.0 {
            let felt = aided.felt.expect("there is a sensor");
            assert_eq!(aided.trust, Trust::Trusted);
            assert_abs_diff_eq!(felt.vertical_speed.0, 2.0, epsilon = 0.05);
            assert_abs_diff_eq!(felt.climb.0, 2.0, epsilon = 0.05);
        }
    });
}

#[test]
fn a_spread_that_is_no_number_reaches_no_reading_and_leaves_nothing_behind() {
    for broken in [f32::NAN, f32::INFINITY, 1.0e30] {
        let spread = Spread {
            largest_force: MetrePerSecond2(10.0),
            force_deviation: MetrePerSecond2(broken),
            largest_turn: RadianPerSecond(0.1),
            turn_deviation: RadianPerSecond(0.01),
        };
        let read = |step: u32, mut sample: Sample| {
            if step % 1500 == 1000 {
                sample.inertial =
                    sample.inertial.map(|felt| Inertial { spread: Some(spread), ..felt });
            }
            sample
        };
        fly(read, |time, aided| {
            if let Some(felt) = aided.felt {
                assert!(felt.climb.0.is_finite() && felt.deviation.0.is_finite());
            }
            assert!(time < 40.0 || aided.trust == Trust::Trusted, "{:?} at {time} s", aided.trust);
        });
    }
}

#[test]
fn a_gyro_at_the_end_of_its_range_is_spinning_and_its_end_leaves_nothing_behind() {
    let read = |step: u32, mut sample: Sample| {
        if let Some(felt) = sample.inertial.as_mut().filter(|_| (1000..2000).contains(&step)) {
            felt.turn_rate.z = RadianPerSecond(33.0 - 1.0e-3 * (step % 2) as f32);
        }
        sample
    };
    fly(read, |time, aided| {
        if (10.0..20.0).contains(&time) {
            assert_eq!(aided.trust, Trust::Spinning, "at {time} s");
            assert!(aided.felt.is_none_or(|felt| felt.deviation.0 < 1.0));
        } else if time > 50.0 {
            assert_eq!(aided.trust, Trust::Trusted, "at {time} s");
        }
    });
}

#[test]
fn an_absurd_bias_does_not_go_from_one_filter_to_the_next() {
    let learnt = Learnt { gyro: [0.0, 0.3, 0.0], ..Learnt::default() };
    fly_from(
        AidingState { learnt, ..AidingState::default() },
        |_, sample| sample,
        |time, aided| assert!(time < 50.0 || aided.trust == Trust::Trusted, "{:?}", aided.trust),
    );
}
