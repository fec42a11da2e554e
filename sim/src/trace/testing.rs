//! What the tests of several readers share.

use chirrup_core::{MetrePerSecond, Pascal, Sample, Speed};
use proptest::test_runner::{Config, RngSeed};

/// Random cases, the same on every run.
pub fn seeded() -> Config {
    Config {
        rng_seed: RngSeed::Fixed(20_260_401),
        failure_persistence: None,
        cases: 1024,
        ..Config::default()
    }
}

/// Whether every value in a sample is a finite number.
pub fn is_finite(sample: &Sample) -> bool {
    let speed = sample.speed.map(|speed| match speed {
        Speed::Dynamic(Pascal(value)) => value,
        Speed::True(MetrePerSecond(value)) | Speed::Calibrated(MetrePerSecond(value)) => value,
    });
    let te_pressure = sample.te_pressure.map(|pressure| pressure.0);
    let outside_air = sample.outside_air.map(|temperature| temperature.0);
    let static_pressure = sample.static_pressure.map(|pressure| pressure.0);
    [static_pressure, speed, te_pressure, outside_air].into_iter().flatten().all(f32::is_finite)
}
