//! The figures of rough air, in the shape of their JSON.

use super::bounds::Measure;
use serde::Serialize;

/// What was measured in rough air.
#[derive(Clone, Debug, Serialize)]
pub struct RoughReport {
    /// How many flights each case had, each with its own random seed; the worst counts.
    pub seeds: u32,
    /// How much of each flight counts, s.
    pub counted_s: f64,
    /// Every measure of every case.
    pub rows: Vec<Row>,
    /// These settings with an inertial sensor: the figures that it is bought for.
    pub inertial: Vec<InertialRow>,
    /// What quickness costs in gusts: these settings.
    pub present: Trade,
    /// The same of the fixed filters.
    pub front: Vec<Trade>,
}

/// A measure of a case.
#[derive(Clone, Debug, Serialize)]
pub struct Row {
    /// The case.
    pub case: &'static str,
    /// The same for people.
    #[serde(skip)]
    pub title: &'static str,
    /// What was measured, with its unit.
    pub measure: Measure,
    /// Of these settings; `None` where it means nothing.
    pub present: Option<f64>,
    /// Of the fixed filter with the least error in this case.
    pub best_fixed: Option<f64>,
    /// The response time of that filter, s.
    pub best_fixed_response_s: Option<f64>,
    /// What the default must hold; `None` where it must hold nothing.
    pub must: Option<f64>,
    /// Whether these settings hold it.
    pub holds: Option<bool>,
}

/// A measure of a case with an inertial sensor beside the pressures.
#[derive(Clone, Debug, Serialize)]
pub struct InertialRow {
    /// The case.
    pub case: &'static str,
    /// The same for people.
    #[serde(skip)]
    pub title: &'static str,
    /// What was measured, with its unit.
    pub measure: Measure,
    /// Of the pressures alone; `None` where it means nothing.
    pub pressures: Option<f64>,
    /// With the inertial sensor.
    pub inertial: Option<f64>,
    /// With a satellite receiver as well.
    pub with_satellites: Option<f64>,
    /// What the default must hold with the inertial sensor.
    pub must: f64,
    /// What it must hold with both.
    pub must_with_satellites: f64,
    /// Whether these settings hold both.
    pub holds: bool,
}

/// What quickness costs in gusts of 0.5 m/s.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Trade {
    /// Response time of a fixed filter, s.
    pub response_s: Option<f64>,
    /// How late it is half-way up an entry of 2 m/s, s.
    pub half_late_s: Option<f64>,
    /// False spells in ten minutes straight on.
    pub false_spells: f64,
}
