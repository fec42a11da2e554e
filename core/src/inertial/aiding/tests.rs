//! Samples that lack a sensor, and numbers that no sensor gives.

use super::*;
use crate::air::atmosphere::{GRAVITY_MPS2, pressure_at};
use crate::inertial::settings::SensorAxis;
use crate::sensing::inertial::{GroundVelocity, Spread};
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
    let aiding = given();
    for step in 0..6000 {
        let time = Micros(10_000 * i64::from(step));
        let sample = read(step, rising(time));
        if let Some(aided) = step_with(&aiding, &mut state, step, &sample) {
            look(time.as_seconds(), &aided);
        }
    }
}

/// With the mounting given.
fn given() -> Aiding {
    let (forward, down) = (SensorAxis::X, SensorAxis::Z);
    let inertial = InertialSettings { forward, down, ..InertialSettings::default() };
    Aiding::of(&inertial, &EnergySettings::default()).unwrap()
}

fn step_with(
    aiding: &Aiding,
    state: &mut AidingState,
    step: u32,
    sample: &Sample,
) -> Option<Aided> {
    let air = AirData::of(sample);
    let elapsed = Micros(if step > 0 { 10_000 } else { 0 });
    aiding.step(state, elapsed, (sample, air.as_ref()), Some(MetrePerSecond(0.5)))
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

/// A receiver in flight toward the north.
fn with_receiver(step: u32, sample: Sample) -> Sample {
    let north = MetrePerSecond(AIRSPEED_MPS);
    let (east, down, age) = (MetrePerSecond(0.0), MetrePerSecond(-2.0), Micros(0));
    let ground_velocity =
        step.is_multiple_of(20).then_some(GroundVelocity { north, east, down, age });
    Sample { ground_velocity, ..sample }
}

#[test]
fn a_receiver_that_is_found_to_be_half_a_second_late_is_left_alone() {
    for (late_s, is_left) in [(0.3, false), (0.6, true)] {
        let (aiding, mut state) = (given(), AidingState::default());
        for step in 0..2000 {
            let sample = with_receiver(step, rising(Micros(10_000 * i64::from(step))));
            step_with(&aiding, &mut state, step, &sample);
            if step == 1900 {
                let filter = state.filter.as_mut().expect("it has begun");
                assert!(filter.knows_heading() && state.receiver.is_used());
                filter.delay = late_s;
            }
        }
        assert_eq!(state.receiver.is_used(), !is_left, "{late_s} s");
        let filter = state.filter.expect("the sensor goes on without it");
        assert_eq!(filter.knows_heading(), !is_left, "{late_s} s");
    }
}

#[test]
fn a_sensor_that_is_lost_is_no_longer_heard_a_second_later() {
    let read = |step, sample: Sample| Sample {
        inertial: sample.inertial.filter(|_| step < 3000),
        ..sample
    };
    fly(read, |time, aided| {
        // Half a second until it is noticed, 0.4 s on the way to the pressures.
        let expected = if (20.0..30.4).contains(&time) {
            1.0
        } else if time > 31.0 {
            0.0
        } else {
            return;
        };
        assert_eq!(aided.weight, expected, "at {time} s");
    });
}
