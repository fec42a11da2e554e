//! How many bits a row takes, and so how many hours fit.
//!
//! The air is made here: noise as a barometer's data sheet has it, on a climb that changes.

use super::flash::rand_core::Next;
use super::round_trip::{pages, rows_of};
use crate::gnss::pvt::Velocity;
use crate::gnss::receiver::Ground;
use crate::inertial::average::{Averaged, SpreadSteps};
use crate::recorder::page::SIZE;
use crate::recorder::row::Row;
use crate::sampler::Sampled;
use approx::assert_relative_eq;
use chirrup_core::{Micros, Pascal, PipelineState, Settings};
use std::vec::Vec;

/// Which sensors an instrument has.
#[derive(Clone, Copy, Default)]
struct Has {
    /// Of a barometer, rms.
    noise_pa: f64,
    speed: bool,
    dynamic: bool,
    te: bool,
    inertial: bool,
    ground: bool,
}

/// Rows of a flight with the noise of real sensors: differential sensor 0.8 Pa
/// (an MS4525 of 1 psi, whose count is 0.84 Pa), accelerations that gusts shake by 0.3 m/s2, and
/// time stamps that are late by up to `jitter_us`.
fn flight(has: Has, count: usize, jitter_us: u64) -> Vec<Row> {
    let mut chance = Next(4_711);
    let pipeline = Settings::default().build().unwrap();
    let mut state = PipelineState::default();
    let (mut height, mut rows) = (900.0, Vec::new());
    for at in 0..count {
        let seconds = at as f64 / 50.0;
        let climb = 2.0 * (seconds / 9.0).sin() + 1.5 * (seconds / 31.0).sin();
        height += climb / 50.0;
        let pressure = 101_325.0 * (1.0 - height / 44_330.8_f64).powf(5.2559);
        let mut noisy = |value: f64, deviation: f64| value + deviation * chance.normal();
        let static_64ths_pa = (64.0 * noisy(pressure, has.noise_pa)) as i32;
        let dynamic = (64.0 * noisy(450.0 + 40.0 * (seconds / 5.0).sin(), 0.8)) as i32;
        let te = (64.0 * noisy(pressure - 450.0, has.noise_pa)) as i32;
        let mut averaged = || Averaged {
            force: [0.0, 0.3, -9.8].map(|mean| (10_000.0 * noisy(mean, 0.3)) as i32),
            turn: [0.0, 0.02, 0.25].map(|mean| (100_000.0 * noisy(mean, 0.03)) as i32),
            spread: Some(SpreadSteps {
                largest_force: (10_000.0 * noisy(10.2, 0.2)) as i32,
                force_deviation: (10_000.0 * noisy(0.15, 0.03)) as i32,
                largest_turn: (100_000.0 * noisy(0.3, 0.02)) as i32,
                turn_deviation: (100_000.0 * noisy(0.02, 0.004)) as i32,
            }),
        };
        let inertial = has.inertial.then(&mut averaged);
        let velocity = Velocity {
            north_mmps: noisy(20_000.0 * (seconds / 4.0).cos(), 50.0) as i32,
            east_mmps: noisy(20_000.0 * (seconds / 4.0).sin(), 50.0) as i32,
            down_mmps: noisy(-1_000.0 * climb, 50.0) as i32,
        };
        let ground = (has.ground && at % 5 == 2)
            .then_some(Ground { velocity, age_us: noisy(9_000.0, 2_000.0) as i32 });
        let late = if jitter_us == 0 { 0 } else { (chance.next() % (jitter_us + 1)) as i64 };
        let sampled = Sampled {
            time: Micros(at as i64 * 20_000 + 4_200 + late),
            static_64ths_pa,
            dynamic_64ths_pa: has.dynamic.then_some(dynamic),
            te_64ths_pa: has.te.then_some(te),
            inertial,
            ground,
        };
        let sample = chirrup_core::Sample::of_static(
            sampled.time,
            Pascal(sampled.static_64ths_pa as f32 / 64.0),
        );
        let reading = pipeline.step(&mut state, &sample);
        let sounded = reading.values.map(|values| (values.sounded().0 * 1_000.0).round() as i32);
        rows.push(Row { sampled, vertical_speed_mmps: sounded.filter(|_| has.speed) });
    }
    rows
}

fn bits_a_row(rows: &[Row]) -> f64 {
    let pages = pages(rows);
    let read: Vec<Row> = pages.iter().flat_map(rows_of).collect();
    assert_eq!(read, rows);
    // The last page is not full.
    let (last, full) = pages.split_last().expect("there are many");
    (full.len() * SIZE * 8) as f64 / (rows.len() - rows_of(last).len()) as f64
}

/// Flash of a Pico for the recorder: what the program (384 KiB) and the settings (16 KiB) leave.
const ROOM_BYTES: f64 = 1_648.0 * 1_024.0;

/// Hours of 50 rows a second.
fn hours(bits_a_row: f64) -> f64 {
    ROOM_BYTES * 8.0 / bits_a_row / 50.0 / 3_600.0
}

#[test]
fn so_many_hours_fit() {
    let bare = Has { noise_pa: 1.2, ..Has::default() };
    // As a BMP390 and a BMP581 have it: docs/src/instrument.md, "Sensors".
    let [quieter, quietest] = [0.7, 0.2].map(|noise_pa| Has { noise_pa, ..bare });
    let speed = Has { speed: true, ..bare };
    let pitot = Has { dynamic: true, ..speed };
    let probe = Has { te: true, ..speed };
    let inertial = Has { inertial: true, ..pitot };
    let all = Has { ground: true, ..inertial };
    for (has, bits, fit) in [
        (bare, 11.35, 6.6),
        (quieter, 10.5, 7.1),
        (quietest, 8.6, 8.7),
        (speed, 17.9, 4.2),
        (pitot, 27.1, 2.8),
        (probe, 28.0, 2.7),
        (inertial, 205.0, 0.37),
        (all, 228.0, 0.33),
    ] {
        let measured = bits_a_row(&flight(has, 6_000, 1));
        assert_relative_eq!(measured, bits, max_relative = 0.01);
        assert_relative_eq!(hours(measured), fit, max_relative = 0.02);
    }
}
