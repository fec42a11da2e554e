//! The airs, and the share of the climb that the default must keep with an inertial sensor.

use chirrup_flight::centring::Day;

/// The airs, in the order of the report.
pub(super) const AIRS: [(&str, Day); 3] =
    [("smooth", Day::SMOOTH), ("rough x2", Day::ROUGH), ("gusts x3", Day::GUSTY)];

/// In each of them the share of the climb with a perfect tone that an inertial sensor must keep,
/// without and with a satellite receiver, and the share aimed at. Requirements of our own; no
/// source.
pub(super) const MUST: [[f64; 2]; AIRS.len()] = [[0.96, 0.98], [0.93, 0.96], [0.92, 0.96]];
