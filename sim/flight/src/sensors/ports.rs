//! The pressures at the ports: static port, pitot and total-energy probe.

use crate::physics::atmosphere::StillAir;

/// Pressures at the ports, Pa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ports {
    /// At the static port.
    pub static_pa: f64,
    /// In the pitot.
    pub pitot_pa: f64,
    /// At the probe.
    pub probe_pa: f64,
}

impl Ports {
    /// At true airspeed `speed_mps`; the static port has an error of `position_error`, and the
    /// probe has the pressure coefficient `coefficient`, both in units of the dynamic pressure.
    pub fn at(still: &StillAir, speed_mps: f64, position_error: f64, coefficient: f64) -> Self {
        let bernoulli = still.dynamic_pressure_pa(speed_mps);
        Self {
            static_pa: still.pressure_pa + position_error * bernoulli,
            pitot_pa: still.pressure_pa + still.impact_pressure_pa(speed_mps),
            probe_pa: still.pressure_pa + coefficient * bernoulli,
        }
    }
}
