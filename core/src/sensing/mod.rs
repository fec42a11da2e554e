//! Sensor data: one sample, its place in time, and whether it is a new measurement.

pub(crate) mod clock;
pub(crate) mod held;
pub(crate) mod inertial;
pub(crate) mod repeats;
pub(crate) mod sample;
