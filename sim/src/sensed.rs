//! Simulated sensors' numbers as a sample of the core.

use chirrup_core::{Kelvin, Micros, Pascal, Sample, Speed};
use chirrup_flight::sensors::Sensed;

/// The sample of `sensed`.
pub fn sample_of(sensed: &Sensed) -> Sample {
    let pascals = |pressure_pa: f64| Pascal(pressure_pa as f32);
    Sample {
        speed: sensed.dynamic_pa.map(|dynamic_pa| Speed::Dynamic(pascals(dynamic_pa))),
        te_pressure: sensed.te_pa.map(pascals),
        outside_air: sensed.oat_c.map(|oat_c| Kelvin((oat_c + 273.15) as f32)),
        ..Sample::of_static(Micros(sensed.stamp_us), pascals(sensed.static_pa))
    }
}
