//! The columns of an inertial sensor and of a satellite receiver, as `--columns` knows them.

use super::unit::Quantity;

/// A column of an inertial sensor or of a satellite receiver.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct MotionColumn {
    /// The channel's name in `--columns`.
    pub name: &'static str,
    /// Our own name for the column.
    pub own: &'static str,
    /// What it holds.
    pub quantity: Quantity,
}

const fn column(name: &'static str, own: &'static str, quantity: Quantity) -> MotionColumn {
    MotionColumn { name, own, quantity }
}

const fn force(name: &'static str, own: &'static str) -> MotionColumn {
    column(name, own, Quantity::Acceleration)
}

const fn turn(name: &'static str, own: &'static str) -> MotionColumn {
    column(name, own, Quantity::TurnRate)
}

/// Specific force: forward, right, down.
pub(super) static FORCE: [MotionColumn; 3] = [
    force("accel_x", "accel_x_mps2"),
    force("accel_y", "accel_y_mps2"),
    force("accel_z", "accel_z_mps2"),
];
/// Turn rate about the same axes.
pub(super) static TURN: [MotionColumn; 3] = [
    turn("gyro_x", "gyro_x_radps"),
    turn("gyro_y", "gyro_y_radps"),
    turn("gyro_z", "gyro_z_radps"),
];
/// Largest and deviation of what was averaged.
pub(super) static SPREAD: [MotionColumn; 4] = [
    force("accel_largest", "accel_largest_mps2"),
    force("accel_deviation", "accel_deviation_mps2"),
    turn("gyro_largest", "gyro_largest_radps"),
    turn("gyro_deviation", "gyro_deviation_radps"),
];
/// Velocity over the ground: north, east, down.
pub(super) static GROUND: [MotionColumn; 3] = [
    column("gnss_vn", "gnss_vn_mps", Quantity::Speed),
    column("gnss_ve", "gnss_ve_mps", Quantity::Speed),
    column("gnss_vd", "gnss_vd_mps", Quantity::Speed),
];
/// How long before the row that was true.
pub(super) static AGE: [MotionColumn; 1] = [column("gnss_age", "gnss_age_s", Quantity::Time)];
/// Where that is: latitude, longitude, altitude from satellites.
pub(super) static POSITION: [MotionColumn; 3] = [
    column("lat", "lat_deg", Quantity::Angle),
    column("lon", "lon_deg", Quantity::Angle),
    column("gnss_alt", "gnss_alt_m", Quantity::Height),
];

/// All of them.
pub(super) fn all() -> impl Iterator<Item = &'static MotionColumn> {
    FORCE.iter().chain(&TURN).chain(&SPREAD).chain(&GROUND).chain(&AGE).chain(&POSITION)
}
