//! Simulated sensors' numbers as a sample of the core.

use chirrup_core::{
    Axes, GroundVelocity, Inertial, Kelvin, MetrePerSecond, MetrePerSecond2, Micros, Pascal,
    RadianPerSecond, Sample, Speed, Spread,
};
use chirrup_flight::sensors::{Felt, OverGround, Sensed};

/// The sample of `sensed`.
pub fn sample_of(sensed: &Sensed) -> Sample {
    let pascals = |pressure_pa: f64| Pascal(pressure_pa as f32);
    Sample {
        speed: sensed.dynamic_pa.map(|dynamic_pa| Speed::Dynamic(pascals(dynamic_pa))),
        te_pressure: sensed.te_pa.map(pascals),
        outside_air: sensed.oat_c.map(|oat_c| Kelvin((oat_c + 273.15) as f32)),
        inertial: sensed.felt.as_ref().map(inertial),
        ground_velocity: sensed.over_ground.as_ref().map(ground_velocity),
        ..Sample::of_static(Micros(sensed.stamp_us), pascals(sensed.static_pa))
    }
}

/// What an inertial sensor felt.
pub fn inertial(felt: &Felt) -> Inertial {
    let force = |force: f64| MetrePerSecond2(force as f32);
    let turn = |turn: f64| RadianPerSecond(turn as f32);
    let [largest_force, force_deviation] = felt.force_spread_mps2.map(force);
    let [largest_turn, turn_deviation] = felt.turn_spread_rps.map(turn);
    Inertial {
        specific_force: axes(felt.force_mps2.map(force)),
        turn_rate: axes(felt.turn_rps.map(turn)),
        spread: Some(Spread { largest_force, force_deviation, largest_turn, turn_deviation }),
    }
}

/// A velocity over the ground.
pub fn ground_velocity(over_ground: &OverGround) -> GroundVelocity {
    let [north, east, down] =
        over_ground.north_east_down_mps.map(|speed| MetrePerSecond(speed as f32));
    let age_us = over_ground.age_s.map_or(0.0, |age_s| libm::round(1e6 * age_s));
    GroundVelocity { north, east, down, age: Micros(age_us as i64) }
}

fn axes<T>([x, y, z]: [T; 3]) -> Axes<T> {
    Axes { x, y, z }
}
