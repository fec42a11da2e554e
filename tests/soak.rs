//! A thousand hours of the same instrument without a restart.

use crate::support::pressure_pa;
use chirrup_core::{Micros, Pascal, Pipeline, PipelineState, Sample, Settings, Speed};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::f64::consts::TAU;

const HOURS: i64 = 1_000;
/// Five samples a second: 18 million in all, which takes CI some twenty seconds; the timer of 32
/// bits wraps 838 times.
const STEP_US: i64 = 200_000;
const SAMPLES_PER_HOUR: i64 = 3_600_000_000 / STEP_US;
/// The sound runs in the first hour and in one of so many after it: 500 ticks a second would be 1.8
/// thousand million.
const SOUND_EVERY: i64 = 100;

/// The result of an hour.
struct Hour {
    error_mps: f64,
    beeps: u64,
}

fn hour(
    pipeline: &Pipeline,
    state: &mut PipelineState,
    number: i64,
    noise: &mut ChaCha8Rng,
) -> Hour {
    let (mut sum, mut beeps, mut was_open) = (0.0, 0, false);
    // One swing of height in 40 s, by the rotation of an angle: a sine a sample would take longer
    // than the instrument.
    let (sine, cosine) = (TAU * 0.2 / 40.0).sin_cos();
    let (mut x, mut y) = (1.0_f64, 0.0_f64);
    for step in 0..SAMPLES_PER_HOUR {
        let time = (number * SAMPLES_PER_HOUR + step) * STEP_US % (1 << 32);
        (x, y) = (x * cosine - y * sine, x * sine + y * cosine);
        // About 1500 m the pressure falls by 10.38 Pa a metre; the bends of the formula are far
        // below the noise.
        let pressure = pressure_of(4.0 * y) + 1.5 * (noise.random::<f64>() - 0.5);
        let speed = Some(Speed::Dynamic(Pascal(400.0)));
        let sample = Sample { speed, ..Sample::of_static(Micros(time), Pascal(pressure as f32)) };
        let reading = pipeline.step(state, &sample);
        let climb = 4.0 * TAU / 40.0 * x;
        sum += reading
            .values
            .map_or(0.0, |values| (f64::from(values.vertical_speed.0) - climb).powi(2));
        if number % SOUND_EVERY == 0 {
            for _ in 0..STEP_US / 2_000 {
                let open = pipeline.tick(state).gate;
                beeps += u64::from(open && !was_open);
                was_open = open;
            }
        }
    }
    Hour { error_mps: (sum / SAMPLES_PER_HOUR as f64).sqrt(), beeps }
}

/// The pressure `above` 1500 m, by the tangent at 1500 m of the ICAO's formula.
fn pressure_of(above: f64) -> f64 {
    const AT: f64 = 84_555.99;
    const PER_METRE: f64 = -10.377;
    AT + PER_METRE * above
}

#[cfg(target_os = "linux")]
fn memory_kib() -> u64 {
    let status = std::fs::read_to_string("/proc/self/statm").expect("the kernel tells");
    4 * status.split(' ').nth(1).and_then(|pages| pages.parse::<u64>().ok()).expect("a number")
}

#[test]
fn the_tangent_is_that_of_the_formula() {
    assert!((pressure_of(0.0) - pressure_pa(1500.0)).abs() < 0.01, "{}", pressure_pa(1500.0));
    assert!((pressure_of(4.0) - pressure_pa(1504.0)).abs() < 0.1, "{}", pressure_pa(1504.0));
}

#[test]
fn after_a_thousand_hours_the_instrument_is_as_good_as_after_one() {
    let pipeline = Settings::default().build().expect("the defaults are good");
    let (mut state, mut noise) = (PipelineState::default(), ChaCha8Rng::seed_from_u64(11));
    let mut hours = Vec::new();
    for number in 0..HOURS {
        hours.push(hour(&pipeline, &mut state, number, &mut noise));
    }
    let mean =
        |hours: &[Hour]| hours.iter().map(|hour| hour.error_mps).sum::<f64>() / hours.len() as f64;
    let (early, late) = (mean(&hours[1..11]), mean(&hours[HOURS as usize - 10..]));
    assert!(
        (late - early).abs() < 0.02 * early,
        "error {early} m/s in the first ten hours, {late} m/s in the last"
    );
    let beeps: Vec<u64> =
        hours.iter().step_by(SOUND_EVERY as usize).map(|hour| hour.beeps).collect();
    let (least, most) = (beeps[1..].iter().min(), beeps[1..].iter().max());
    assert!(
        least.zip(most).is_some_and(|(least, most)| *least > 1000 && *most < *least + least / 50),
        "{beeps:?}"
    );
}

#[test]
#[cfg(target_os = "linux")]
fn the_state_is_small_and_the_memory_flat() {
    // All that an instrument remembers, delays and averages included; a Cortex-M0+ has 264 KiB.
    assert!(size_of::<PipelineState>() < 8 * 1024, "{} bytes", size_of::<PipelineState>());
    let pipeline = Settings::default().build().expect("the defaults are good");
    let (mut state, mut noise) = (PipelineState::default(), ChaCha8Rng::seed_from_u64(11));
    hour(&pipeline, &mut state, 0, &mut noise);
    let early = memory_kib();
    for number in 1..20 {
        hour(&pipeline, &mut state, number, &mut noise);
    }
    // Other tests share the process; 64 MiB of theirs may come and go.
    assert!(memory_kib() < early + 64 * 1024, "{early} KiB, then {} KiB", memory_kib());
}
